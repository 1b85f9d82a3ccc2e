"""Water against the reference equations of IAPWS.

The expected values at 101 325 Pa and above were computed with CoolProp 8.0.0 (IAPWS R6-95, R12-08); another
implementation, iapws 1.5.5, agrees to six digits. The table in headrace was made with CoolProp too, so these
rows hold the polynomial to its source; the saturation rows of IAPWS R7-97, Table 35, stand on their own.
"""

import numpy as np
import pytest

from headrace.physics.fluids import fluid

WATER = fluid("water")
ATM = 101_325.0
TEMPS = np.array([278.15, 283.15, 288.15, 293.15, 298.15, 303.15, 313.15, 323.15])
PRESSURES = np.array([1e6, 2e6, 4e6, 6e6, 10e6])


def compressibility(temp: object, p_abs: object) -> np.ndarray:
    """Isothermal, by a central difference of half a bar either way."""
    step = 5e4
    rise = WATER.rho(temp, p_abs + step) - WATER.rho(temp, p_abs - step)
    return rise / (2 * step * WATER.rho(temp, p_abs))


def expansivity(temp: object, p_abs: object) -> np.ndarray:
    """Isobaric, by a central difference of a tenth of a kelvin either way."""
    return -(WATER.rho(temp + 0.1, p_abs) - WATER.rho(temp - 0.1, p_abs)) / (0.2 * WATER.rho(temp, p_abs))


@pytest.mark.check("W-4")
def test_density_at_atmospheric_pressure() -> None:
    expected = [999.967, 999.702, 999.103, 998.207, 997.048, 995.649, 992.216, 988.035]  # kg/m3
    np.testing.assert_allclose(WATER.rho(TEMPS, ATM), expected, rtol=1e-5)


@pytest.mark.check("W-5")
def test_viscosity_at_atmospheric_pressure() -> None:
    expected = [1518.17, 1305.90, 1137.57, 1001.60, 890.022, 797.222, 652.729, 546.516]  # uPa s
    np.testing.assert_allclose(WATER.mu(TEMPS, ATM) * 1e6, expected, rtol=1e-4)


@pytest.mark.check("W-6")
def test_vapour_pressure_against_the_reference_equation() -> None:
    expected = [872.575, 1228.20, 1705.79, 2339.32, 3169.93, 4246.97, 7384.94, 12351.9]  # Pa
    np.testing.assert_allclose(WATER.p_vap(TEMPS), expected, rtol=1e-4)


@pytest.mark.check("W-8")
def test_slope_of_density_with_pressure() -> None:
    expected = [0.491685, 0.478083, 0.467328, 0.458913, 0.452462, 0.447692, 0.442376, 0.441729]  # 1/GPa
    np.testing.assert_allclose(compressibility(TEMPS, ATM) * 1e9, expected, rtol=1e-4)


@pytest.mark.check("W-9")
def test_slope_of_density_with_temperature() -> None:
    expected = np.array([16.0418, 87.9337, 150.843, 206.806, 257.289, 303.377, 385.479, 457.775])  # 1e-6/K
    got = expansivity(TEMPS, ATM) * 1e6
    np.testing.assert_allclose(got[1:], expected[1:], rtol=1e-4)
    assert got[0] == pytest.approx(expected[0], rel=1e-3)  # the expansion goes through zero near 4 degC


@pytest.mark.check("W-10")
def test_density_and_viscosity_under_pressure() -> None:
    rho = [998.618, 999.075, 999.986, 1000.89, 1002.69]  # kg/m3
    mu = [1001.32, 1001.02, 1000.43, 999.861, 998.777]  # uPa s
    np.testing.assert_allclose(WATER.rho(293.15, PRESSURES), rho, rtol=1e-5)
    kappa = [0.457851, 0.456674, 0.454336, 0.452018, 0.447441]  # 1/GPa
    np.testing.assert_allclose(WATER.mu(293.15, PRESSURES) * 1e6, mu, rtol=1e-4)
    np.testing.assert_allclose(compressibility(293.15, PRESSURES) * 1e9, kappa, rtol=1e-4)


@pytest.mark.check("W-11")
def test_density_and_expansion_cold_and_warm_at_4_mpa() -> None:
    temps = np.array([283.15, 303.15])
    np.testing.assert_allclose(WATER.rho(temps, 4e6), [1001.56, 997.380], rtol=1e-5)
    np.testing.assert_allclose(expansivity(temps, 4e6), [97.2595e-6, 306.491e-6], rtol=1e-4)


@pytest.mark.check("W-14")
@pytest.mark.parametrize(
    ("temp", "expected"), [(300.0, 3536.58941), (500.0, 2638897.76), (600.0, 12344314.6)]
)
def test_vapour_pressure_of_if97_table_35(temp: float, expected: float) -> None:
    """Published: IAPWS R7-97(2012), Table 35, seen in a public test of another code."""
    assert WATER.p_vap(temp) == pytest.approx(expected, rel=1e-8)
