"""Identities of the effective area, m_dot = E sqrt(2 rho dp): liquids, heads, gauge and absolute.

All closed forms; O-15 by the GUM's law of propagation.
"""

import pytest

from headrace.physics.hydraulics.elements import head_area_eff, head_relative_u
from headrace.physics.hydraulics.injector import area_eff, injector_dp, injector_m_dot

RHO_20, RHO_LOX = 998.2072, 1141.0


@pytest.mark.check("O-1")
def test_flow_goes_with_the_root_of_the_drop() -> None:
    full = injector_m_dot(area_eff=1e-5, dp=1e6, rho=RHO_20)
    half = injector_m_dot(area_eff=1e-5, dp=0.5e6, rho=RHO_20)
    assert full == pytest.approx(0.4468125, rel=1e-7)
    assert half == pytest.approx(0.3159442, rel=2e-7)
    assert area_eff(m_dot=0.4468125, dp=1e6, rho=RHO_20) == pytest.approx(1e-5, rel=1e-7)


@pytest.mark.check("O-2")
def test_a_second_liquid() -> None:
    area = area_eff(m_dot=0.5, dp=1e6, rho=RHO_20)
    m_dot = injector_m_dot(area_eff=area, dp=1e6, rho=RHO_LOX)
    assert m_dot == pytest.approx(0.5345674, rel=1e-7)
    assert (m_dot / RHO_LOX) / (0.5 / RHO_20) == pytest.approx(1 / 1.069135, rel=1e-6)


@pytest.mark.check("E-25")
def test_water_ratio_to_mixture_ratio() -> None:
    ox = area_eff(m_dot=1.20, dp=0.7e6, rho=RHO_20)
    fuel = area_eff(m_dot=1.00, dp=0.7e6, rho=RHO_20)
    of_ratio = injector_m_dot(area_eff=ox, dp=0.9e6, rho=1141.0) / injector_m_dot(
        area_eff=fuel, dp=0.9e6, rho=855.6
    )
    assert of_ratio == pytest.approx(1.38576210, rel=1e-8)


@pytest.mark.check("O-15")
def test_a_shared_part_does_not_average_out() -> None:
    u = head_relative_u(count=60, u_element=0.02, u_shared=0.01)
    assert 100 * u == pytest.approx(1.032796, rel=1e-6)


@pytest.mark.check("O-16")
def test_a_head_behind_its_manifold() -> None:
    head = head_area_eff(count=60, area_eff_element=1e-6, area_eff_manifold=2e-4)
    assert head == pytest.approx(5.746957e-5, rel=1e-6)


@pytest.mark.check("D-15")
def test_gauge_and_absolute_must_not_be_mixed() -> None:
    def drop(p_tap: float, p_out: float) -> float:
        return injector_dp(p_abs_tap=p_tap, p_abs_out=p_out, rho=RHO_20)

    right = drop(0.5e6, 0.0)
    assert right == pytest.approx(0.5e6, rel=1e-12)
    assert drop(601_325.0, 101_325.0) == pytest.approx(right, rel=1e-12)
    flows = [
        injector_m_dot(area_eff=1e-5, dp=dp, rho=RHO_20)
        for dp in (right, drop(601_325.0, 0.0), drop(0.5e6, 101_325.0))
    ]
    assert flows[1] / flows[0] - 1 == pytest.approx(0.096, abs=1e-3)
    assert flows[2] / flows[0] - 1 == pytest.approx(-0.107, abs=1e-3)
