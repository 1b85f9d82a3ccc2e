"""The definition of the characteristic velocity: p_chamber * area_throat = c_star * m_dot."""

import pytest

from headrace.physics.combustion import (
    c_star_from_chamber,
    eta_c_star_from_chamber,
    m_dot_from_chamber,
    p_chamber_from_m_dot,
)


@pytest.mark.check("E-15")
def test_one_relation_solved_four_ways() -> None:
    assert c_star_from_chamber(p_chamber=2e6, area_throat=1e-3, m_dot=1.25) == 1600.0
    assert m_dot_from_chamber(p_chamber=2e6, area_throat=1e-3, c_star=1600.0) == 1.25
    assert p_chamber_from_m_dot(m_dot=1.25, area_throat=1e-3, c_star=1600.0) == 2e6
    eta = eta_c_star_from_chamber(p_chamber=2e6, area_throat=1e-3, m_dot=1.25, c_star=1600.0)
    assert eta == 1.0


@pytest.mark.check("E-15")
def test_efficiency_and_throat_coefficient_act_on_their_own_side() -> None:
    """1600 m/s delivered is 1/0.95 of it in theory; a throat of 0.98 passes 0.98 of the flow."""
    theory, terms = 1600.0 / 0.95, {"area_throat": 1e-3, "c_throat": 0.98}
    assert c_star_from_chamber(p_chamber=2e6, m_dot=1.225, **terms) == pytest.approx(1600.0, rel=1e-12)
    assert eta_c_star_from_chamber(p_chamber=2e6, m_dot=1.225, c_star=theory, **terms) == pytest.approx(
        0.95, rel=1e-12
    )
    chamber = {**terms, "c_star": theory, "eta_c_star": 0.95}
    assert m_dot_from_chamber(p_chamber=2e6, **chamber) == pytest.approx(1.225, rel=1e-12)
    assert p_chamber_from_m_dot(m_dot=1.225, **chamber) == pytest.approx(2e6, rel=1e-12)
