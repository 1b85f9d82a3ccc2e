"""Three venturi questions found in public teaching pages (seen), recomputed without their rounding."""

import pytest

from headrace.physics.hydraulics.differential import meter_c, meter_d_throat
from headrace.physics.hydraulics.hydrostatics import head_dp
from headrace.physics.hydraulics.venturi import venturi_dp, venturi_m_dot

RHO, G = 1000.0, 9.81  # the pages' own


@pytest.mark.check("V-15")
def test_flow_from_twenty_centimetres_of_mercury() -> None:
    """Printed: 125.76 L/s."""
    dp = head_dp(rho=12.6 * RHO, height=0.20, g=G)
    litres = 1e3 * venturi_m_dot(dp=dp, d_pipe=0.300, d_throat=0.150, rho=RHO, c=0.98) / RHO
    assert litres == pytest.approx(125.7658, rel=1e-6)
    assert litres == pytest.approx(125.76, rel=1e-4)


@pytest.mark.check("V-16")
def test_coefficient_from_a_known_flow() -> None:
    """The page prints 0.943 because it rounded the areas."""
    dp = head_dp(rho=12.6 * RHO, height=0.073, g=G)
    c = meter_c(m_dot=73e-3 * RHO, dp=dp, d_pipe=0.300, d_throat=0.150, rho=RHO)
    assert c == pytest.approx(0.941542, rel=1e-6)


@pytest.mark.check("V-17")
def test_a_plate_in_place_of_a_venturi() -> None:
    """Printed: 93.5 mm."""
    dp = venturi_dp(m_dot=100.0, d_pipe=0.150, d_throat=0.075, rho=RHO, c=0.98)
    assert dp / (RHO * G) == pytest.approx(25.49149, rel=1e-6)
    bore = 1e3 * meter_d_throat(m_dot=100.0, dp=dp, d_pipe=0.150, rho=RHO, c=0.6)
    assert bore == pytest.approx(93.50465, rel=1e-6)
    assert bore == pytest.approx(93.5, rel=1e-3)
