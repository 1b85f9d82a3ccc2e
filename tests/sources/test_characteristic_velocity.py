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
