"""Liquid oxygen against the reference equation of Schmidt and Wagner (1985), computed with CoolProp 8.0.0.

The table in headrace was made with CoolProp too: these rows hold the polynomial to its source.
"""

import numpy as np
import pytest

from headrace.errors import OutOfDomain
from headrace.physics.fluids import fluid

LOX = fluid("lox")


@pytest.mark.check("L-1")
def test_saturated_liquid() -> None:
    temps = np.array([80.0, 85.0, 88.0, 90.0, 95.0, 100.0, 110.0, 120.0])
    rho = [1190.46, 1166.57, 1151.97, 1142.10, 1116.93, 1090.89, 1035.47, 973.855]  # kg/m3
    p_vap = [30123.5, 56830.8, 80113.9, 99350.3, 163083, 254005, 543400, 1022279]  # Pa
    mu = [261.22, 224.62, 206.48, 195.64, 172.12, 152.56, 121.52, 97.426]  # uPa s
    np.testing.assert_allclose(LOX.p_vap(temps), p_vap, rtol=1e-5)
    np.testing.assert_allclose(LOX.rho(temps, LOX.p_vap(temps)), rho, rtol=1e-5)
    # The row allows 2 % for the correlation itself; the polynomial is held to it more tightly.
    np.testing.assert_allclose(LOX.mu(temps, LOX.p_vap(temps)) * 1e6, mu, rtol=2e-3)


@pytest.mark.check("L-3")
def test_one_hundredth_of_a_kelvin_decides_whether_it_boils() -> None:
    assert LOX.outside(temp=90.18, p_abs=101_325.0) == ()
    assert LOX.rho(90.18, 101_325.0) == pytest.approx(1141.211, rel=1e-5)
    (fact,) = LOX.outside(temp=90.19, p_abs=101_325.0)
    assert fact.code == "boils"
    with pytest.raises(OutOfDomain, match="liquid oxygen boils"):
        LOX.check(temp=90.19, p_abs=101_325.0)


@pytest.mark.check("L-4")
def test_compressed_liquid() -> None:
    temps = np.array([85.0, 90.0, 90.19, 95.0, 100.0])
    expected = [1172.297, 1148.420, 1147.501, 1123.888, 1098.544]  # kg/m3
    np.testing.assert_allclose(LOX.rho(temps, 3e6), expected, rtol=1e-5)
    assert LOX.rho(90.0, 2e6) == pytest.approx(1146.274, rel=1e-5)
