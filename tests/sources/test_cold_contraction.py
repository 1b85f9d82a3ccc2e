"""Contraction of metals against the on-line fits of NIST's cryogenic material properties (public copies).

Each fit is printed with the value it reaches at its lowest temperature, and it is zero at 293 K by
definition: the two together hold every coefficient.
"""

import pytest

from headrace.physics.contraction import ALLOYS, area_factor, expansion


@pytest.mark.parametrize(
    ("alloy", "temp", "printed"),
    [
        ("austenitic-steel", 23.0, -300.04),
        ("aluminium", 18.0, -415.45),
        ("nickel-718", 20.0, -238.87),
        ("copper", 24.0, -316.68),
    ],
)
def test_fit_meets_its_printed_floor_and_zero(alloy: str, temp: float, printed: float) -> None:
    assert 1e5 * expansion(alloy=ALLOYS[alloy], temp=temp) == pytest.approx(printed, abs=0.2)
    assert 1e5 * expansion(alloy=ALLOYS[alloy], temp=293.0) == pytest.approx(0.0, abs=0.25)


def test_stainless_from_room_to_nitrogen_temperature() -> None:
    """0.281 % was measured on 304 from 293 K to 77 K (a laboratory paper, as quoted in public code)."""
    assert expansion(alloy=ALLOYS["austenitic-steel"], temp=77.0) == pytest.approx(-0.281e-2, rel=0.01)


def test_common_practice_for_a_cold_and_a_warm_injector() -> None:
    """Steel 0.3 % and aluminium 0.4 % of length at 90 K; 16e-6 per K in the warm (common practice)."""
    steel, aluminium = ALLOYS["austenitic-steel"], ALLOYS["aluminium"]
    assert area_factor(alloy=steel, temp=90.0, temp_ref=293.15) - 1 == pytest.approx(-0.6e-2, abs=0.1e-2)
    assert area_factor(alloy=aluminium, temp=90.0, temp_ref=293.15) - 1 == pytest.approx(-0.8e-2, abs=0.1e-2)
    assert area_factor(alloy=steel, temp=313.15, temp_ref=293.15) - 1 == pytest.approx(0.064e-2, rel=0.05)
