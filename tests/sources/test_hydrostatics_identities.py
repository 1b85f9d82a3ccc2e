"""Standing columns with standard gravity (closed forms); air density against the OIML R 111 approximation."""

import math

import pytest

from headrace.physics.gas.air import air_rho
from headrace.physics.hydraulics.hydrostatics import air_leg_error, head_dp, tap_correction

RHO_20 = 998.2072


@pytest.mark.check("D-12")
def test_ten_metres_of_water() -> None:
    assert head_dp(rho=RHO_20, height=10.0) == pytest.approx(97_890.69, rel=1e-7)


@pytest.mark.check("D-13")
def test_a_sensor_below_its_tap_reads_high() -> None:
    assert tap_correction(rho=RHO_20, z_sensor=0.5, z_tap=2.0) == pytest.approx(-14_683.60, rel=5e-7)


@pytest.mark.check("D-14")
@pytest.mark.parametrize(("rho", "rho_gas", "error"), [(RHO_20, 1.204, 2933.18), (998.2, 47.6, 2796.66)])
def test_air_in_an_impulse_leg(rho: float, rho_gas: float, error: float) -> None:
    found = air_leg_error(rho=rho, rho_gas=rho_gas, height=0.3)
    assert found == pytest.approx(error, rel=2e-6)
    assert found / 50e3 == pytest.approx(0.059 if rho_gas < 2 else 0.056, abs=5e-4)


@pytest.mark.parametrize(("p_hpa", "celsius", "humidity"), [(1013.25, 20.0, 50.0), (990.0, 27.0, 70.0)])
def test_moist_air(p_hpa: float, celsius: float, humidity: float) -> None:
    """OIML R 111-1, equation E.3-1 (from memory), good to 2e-4 of the density.

    The vapour pressures (2339.3 and 3568 Pa) are those of water at 20 and 27 degC.
    """
    expected = (0.34848 * p_hpa - 0.009 * humidity * math.exp(0.061 * celsius)) / (273.15 + celsius)
    p_vapour = {20.0: 2339.3, 27.0: 3568.0}[celsius]
    found = air_rho(p_abs=100 * p_hpa, temp=273.15 + celsius, p_water=humidity / 100 * p_vapour)
    assert found == pytest.approx(expected, rel=6e-4)  # ideal gas: 1 - Z = 4e-4 is left out
