"""Conversion factors against NIST Special Publication 811 (2008), appendix B.8 and its exact definitions.

Expected values are the publication's, or follow from its exact definitions (identity) by the arithmetic that
is written out; none comes from headrace.
"""

import math

import pytest

from headrace.units import UNITS, Dimension, find_unit, from_si, parse_quantity, to_si


def factor(name: str, dimension: str) -> float:
    found = find_unit(name, dimension)
    assert found is not None
    return to_si(1.0, found[0])


@pytest.mark.check("D-3")
def test_psi() -> None:
    """Identity: pound x standard gravity / square inch."""
    assert factor("psi", "pressure") == pytest.approx(6894.757293168, rel=1e-12, abs=0)


@pytest.mark.check("D-4")
@pytest.mark.parametrize(("name", "pascal"), [("bar", 1e5), ("kgf/cm2", 98066.5), ("atm", 101325.0)])
def test_bar_technical_and_standard_atmosphere(name: str, pascal: float) -> None:
    """Identity: exact by definition."""
    assert factor(name, "pressure") == pascal


@pytest.mark.check("D-5")
@pytest.mark.parametrize(
    ("name", "pascal", "half"), [("mmH2O", 9.80665, 0.0), ("mH2O", 9806.65, 0.0), ("inH2O", 249.08891, 5e-6)]
)
def test_conventional_water_columns(name: str, pascal: float, half: float) -> None:
    """Identity: conventional water of 1000 kg/m3 under standard gravity; the inch to its printed digit."""
    assert factor(name, "pressure") == pytest.approx(pascal, rel=1e-15, abs=half)


@pytest.mark.check("D-6")
@pytest.mark.parametrize(
    ("name", "pascal", "half"),
    [("inH2O@4degC", 249.082, 0.0005), ("inH2O@60degF", 248.84, 0.005), ("inH2O", 249.0889, 0.00005)],
)
def test_three_inches_of_water(name: str, pascal: float, half: float) -> None:
    """The first two from memory of the publication's table; the third is the conventional one."""
    assert factor(name, "pressure") == pytest.approx(pascal, rel=0, abs=half)


@pytest.mark.check("D-7")
@pytest.mark.parametrize(("name", "pascal"), [("mmHg", 133.322387415), ("Torr", 133.3223684)])
def test_mercury_millimetre_and_torr(name: str, pascal: float) -> None:
    """mmHg: printed value seen, 13.5951 x 9.80665. Torr: 101 325/760, to its printed digit."""
    half = 0.5e-7 if name == "Torr" else 0.0
    assert factor(name, "pressure") == pytest.approx(pascal, rel=1e-10, abs=half)


@pytest.mark.check("D-8")
@pytest.mark.parametrize(
    ("name", "pascal", "half"), [("inHg", 3386.389, 0.0005), ("inHg@32degF", 3386.38, 0.005)]
)
def test_inches_of_mercury(name: str, pascal: float, half: float) -> None:
    """Conventional: printed value seen. At 32 °F: from memory of the publication's table."""
    assert factor(name, "pressure") == pytest.approx(pascal, rel=0, abs=half)


@pytest.mark.check("D-9")
@pytest.mark.parametrize(
    ("name", "dimension", "si"),
    [
        ("US gal/min", "volume_flow", 6.30901964e-5),
        ("lb/s", "mass_flow", 0.45359237),
        ("ft3/min", "volume_flow", 4.719474432e-4),
    ],
)
def test_flows_in_customary_units(name: str, dimension: str, si: float) -> None:
    """Identity: 231 cubic inches, the international pound, the international foot."""
    assert factor(name, dimension) == pytest.approx(si, rel=1e-9, abs=0)


ROUND_TRIP = [
    unit for d in (Dimension.PRESSURE, Dimension.MASS_FLOW, Dimension.VOLUME_FLOW) for unit in UNITS[d]
]


@pytest.mark.check("D-22")
@pytest.mark.parametrize("unit", ROUND_TRIP, ids=lambda unit: unit.name)
def test_there_and_back(unit: object) -> None:
    """Identity: a number in a unit, in SI, and in the unit again."""
    for number in (1.0, 12.4, 1 / 3, 9.87654321e7, 3.3e-9, math.pi):
        assert abs(from_si(to_si(number, unit), unit) - number) <= 4e-15 * number


def test_text_takes_the_same_factor() -> None:
    q = parse_quantity("1 psi(g)", dimension="pressure", kind="gauge")
    assert q.value == pytest.approx(6894.757293168, rel=1e-12, abs=0)
