"""The working equation of differential-pressure meters against ISO 5167-1:2003.

Values are arithmetic or closed forms of the standard's equations, worked out apart from this code
(kinds: computed, identity; the uncertainty formula of clause 8 from memory). Water of 20 degC:
998.2072 kg/m3 and 1.001596 mPa s (IAPWS).
"""

import numpy as np
import pytest

from headrace.physics.hydraulics.differential import (
    meter_d_throat,
    meter_dp,
    meter_m_dot,
    relative_uncertainty,
    sensitivity_d_pipe,
    sensitivity_d_throat,
    velocity_of_approach,
)
from headrace.physics.hydraulics.limits import outside
from headrace.physics.hydraulics.pipe import reynolds, velocity
from headrace.physics.hydraulics.venturi import FORMS, venturi_dp, venturi_m_dot

RHO_20, MU_20 = 998.2072, 1.001596e-3
BETAS = np.array([0.3, 0.4, 0.5, 0.6, 0.7, 0.75])


@pytest.mark.check("V-1")
def test_flow_of_a_small_venturi() -> None:
    m_dot = venturi_m_dot(dp=50e3, d_pipe=52.5e-3, d_throat=26.25e-3, rho=RHO_20, c=0.995)
    assert m_dot == pytest.approx(5.556436, rel=1e-6)
    assert reynolds(m_dot=m_dot, d_pipe=52.5e-3, mu=MU_20) == pytest.approx(134_541, rel=4e-6)


@pytest.mark.check("V-2")
def test_density_is_not_built_in() -> None:
    m_dot = venturi_m_dot(dp=50e3, d_pipe=52.5e-3, d_throat=26.25e-3, rho=998.2, c=0.995)
    assert m_dot == pytest.approx(5.556416, rel=1e-6)


@pytest.mark.check("V-3")
@pytest.mark.parametrize("beta", BETAS)
def test_a_liquid_is_not_made_to_expand(beta: float) -> None:
    """Unless told otherwise the flow is that of an incompressible fluid: expansibility exactly 1."""
    given = {"dp": 80e3, "d_pipe": 0.1, "d_throat": 0.1 * beta, "rho": RHO_20, "c": 0.99}
    by_hand = 0.99 * np.pi / 4 * (0.1 * beta) ** 2 * np.sqrt(2 * RHO_20 * 80e3) / np.sqrt(1 - beta**4)
    assert venturi_m_dot(**given) == venturi_m_dot(**given, epsilon=1.0)
    assert venturi_m_dot(**given) == pytest.approx(by_hand, rel=1e-14)


@pytest.mark.check("V-5")
def test_velocity_of_approach() -> None:
    expected = [1.00407477, 1.01305112, 1.03279556, 1.07186616, 1.14715414, 1.20948631]
    assert velocity_of_approach(beta=BETAS) == pytest.approx(expected, rel=1e-8)


@pytest.mark.check("V-6")
def test_sensitivities_to_both_bores() -> None:
    to_throat = [2.016332, 2.052545, 2.133333, 2.297794, 2.631925, 2.925714]
    to_pipe = [0.016332, 0.052545, 0.133333, 0.297794, 0.631925, 0.925714]
    assert sensitivity_d_throat(beta=BETAS) == pytest.approx(to_throat, abs=1e-6)
    assert -sensitivity_d_pipe(beta=BETAS) == pytest.approx(to_pipe, abs=1e-6)

    def log_flow(d_pipe: float, d_throat: np.ndarray) -> np.ndarray:
        return np.log(meter_m_dot(dp=50e3, d_pipe=d_pipe, d_throat=d_throat, rho=RHO_20, c=0.995))

    up, down, d_pipe = np.exp(1e-4), np.exp(-1e-4), 0.1
    by_throat = (log_flow(d_pipe, up * BETAS * d_pipe) - log_flow(d_pipe, down * BETAS * d_pipe)) / 2e-4
    by_pipe = (log_flow(up * d_pipe, BETAS * d_pipe) - log_flow(down * d_pipe, BETAS * d_pipe)) / 2e-4
    assert by_throat == pytest.approx(to_throat, rel=1e-5)
    assert -by_pipe == pytest.approx(to_pipe, rel=4e-5)


@pytest.mark.parametrize(
    ("u_rho", "per_cent"),
    [
        pytest.param(1e-3, 1.055157, marks=pytest.mark.check("V-7")),
        pytest.param(0.5e-3, 1.054268, marks=pytest.mark.check("V-8")),
    ],
)
def test_combined_relative_uncertainty(u_rho: float, per_cent: float) -> None:
    u = relative_uncertainty(beta=0.5, u_c=1e-2, u_d_pipe=4e-3, u_d_throat=1e-3, u_dp=5e-3, u_rho=u_rho)
    assert 100 * u == pytest.approx(per_cent, rel=1e-6)


@pytest.mark.check("V-12")
def test_sizing_below_the_least_diameter_ratio() -> None:
    d_throat = meter_d_throat(m_dot=2.0, dp=50e3, d_pipe=52.5e-3, rho=RHO_20, c=0.995)
    assert 1e3 * d_throat == pytest.approx(15.970540, rel=1e-6)
    beta = d_throat / 52.5e-3
    assert beta == pytest.approx(0.304201, rel=2e-6)
    (breach,) = outside(FORMS["machined"].limits, d_pipe=52.5e-3, beta=beta)
    assert (breach.quantity, breach.low) == ("beta", 0.4)


@pytest.mark.check("V-13")
def test_sizing_in_a_pipe_that_is_too_small() -> None:
    d_throat = meter_d_throat(m_dot=3.0, dp=100e3, d_pipe=40.9e-3, rho=RHO_20, c=0.995)
    assert 1e3 * d_throat == pytest.approx(16.376249, rel=1e-6)
    beta = d_throat / 40.9e-3
    assert beta == pytest.approx(0.400397, rel=2e-6)
    (breach,) = outside(FORMS["machined"].limits, d_pipe=40.9e-3, beta=beta)
    assert (breach.quantity, breach.low) == ("d_pipe", 0.050)


@pytest.mark.check("V-14")
def test_drop_at_a_flow_and_a_reynolds_number_that_is_too_low() -> None:
    dp = venturi_dp(m_dot=2.0, d_pipe=52.5e-3, d_throat=20e-3, rho=RHO_20, c=0.995)
    assert dp == pytest.approx(20_073.31, rel=1e-6)
    assert velocity(m_dot=2.0, d_pipe=20e-3, rho=RHO_20) == pytest.approx(6.377632, rel=1e-6)
    re = reynolds(m_dot=2.0, d_pipe=52.5e-3, mu=MU_20)
    assert re == pytest.approx(48_427.1, rel=2e-6)
    (breach,) = outside(FORMS["machined"].limits, re=re)
    assert (breach.quantity, breach.low) == ("re", 2e5)


@pytest.mark.check("V-20")
def test_the_least_flow_of_a_small_uncalibrated_venturi() -> None:
    assert reynolds(m_dot=8.2598, d_pipe=52.5e-3, mu=MU_20) == pytest.approx(2e5, rel=1e-4)
    slower = reynolds(m_dot=8.25, d_pipe=52.5e-3, mu=MU_20)
    faster = reynolds(m_dot=8.27, d_pipe=52.5e-3, mu=MU_20)
    assert outside(FORMS["machined"].limits, re=slower)
    assert not outside(FORMS["machined"].limits, re=faster)


@pytest.mark.check("V-25")
def test_a_zero_offset_costs_most_at_the_low_end() -> None:
    dp = np.array([50e3, 5e3, 0.5e3])
    first_order = [
        relative_uncertainty(beta=0.5, u_c=0.0, u_d_pipe=0.0, u_d_throat=0.0, u_dp=100 / drop, u_rho=0.0)
        for drop in dp
    ]
    assert first_order == pytest.approx([0.001, 0.01, 0.10], rel=1e-12)
    bores = {"d_pipe": 52.5e-3, "d_throat": 26.25e-3, "rho": RHO_20, "c": 0.995}
    exact = meter_m_dot(dp=600.0, **bores) / meter_m_dot(dp=500.0, **bores) - 1
    assert 100 * exact == pytest.approx(9.5445, abs=5e-5)
    assert meter_dp(m_dot=meter_m_dot(dp=500.0, **bores), **bores) == pytest.approx(500.0, rel=1e-12)
