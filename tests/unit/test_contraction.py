"""Contraction of bores: ratios between two temperatures, its doubt, and what it refuses."""

import numpy as np
import pytest

from headrace.errors import OutOfDomain
from headrace.physics.contraction import ALLOYS, area_factor, expansion, u_area_factor


@pytest.mark.parametrize("name", sorted(set(ALLOYS) - {"none"}))
def test_cold_shrinks_and_the_doubt_is_a_third(name: str) -> None:
    alloy = ALLOYS[name]
    temps = np.linspace(60.0, 340.0, 57)
    assert np.all(np.diff(expansion(alloy=alloy, temp=temps)) > 0)
    factor = area_factor(alloy=alloy, temp=90.0, temp_ref=293.0)
    assert 0.990 < factor < 0.997
    assert u_area_factor(alloy=alloy, temp=90.0, temp_ref=293.0) == pytest.approx((1 - factor) / 3, rel=1e-12)
    back = area_factor(alloy=alloy, temp=293.0, temp_ref=90.0)
    assert factor * back == pytest.approx(1.0, rel=1e-14)
    assert area_factor(alloy=alloy, temp=288.0, temp_ref=288.0) == 1.0


def test_brass_at_nitrogen_temperature() -> None:
    """0.353 % from memory, as the alloy's source says."""
    assert expansion(alloy=ALLOYS["brass"], temp=77.0) == pytest.approx(-0.353e-2, rel=0.01)


def test_none_does_nothing() -> None:
    temps = np.array([20.0, 90.0, 400.0])
    assert np.all(area_factor(alloy=ALLOYS["none"], temp=temps, temp_ref=293.0) == 1.0)
    assert np.all(u_area_factor(alloy=ALLOYS["none"], temp=temps, temp_ref=293.0) == 0.0)


@pytest.mark.parametrize("bad", [0.0, -183.0, np.nan])
def test_nonsense_is_refused(bad: float) -> None:
    with pytest.raises(OutOfDomain, match="Celsius"):
        expansion(alloy=ALLOYS["austenitic-steel"], temp=bad)


def test_every_alloy_names_its_source() -> None:
    assert all(len(alloy.source) > 10 and alloy.temp_min < 60 for alloy in ALLOYS.values())
