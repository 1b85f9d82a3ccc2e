"""What the chamber does with the propellants: characteristic velocity, throat, flow and chamber pressure.

Start at `CStarTable` for c* by mixture ratio and pressure, at `c_star_from_chamber` for one measured point.
"""

from headrace.physics.combustion.chamber import (
    area_throat_from_diameter,
    c_star_from_chamber,
    eta_c_star_from_chamber,
    m_dot_from_chamber,
    p_chamber_from_m_dot,
)
from headrace.physics.combustion.table import CStarTable, OutsideTable

__all__ = [
    "CStarTable",
    "OutsideTable",
    "area_throat_from_diameter",
    "c_star_from_chamber",
    "eta_c_star_from_chamber",
    "m_dot_from_chamber",
    "p_chamber_from_m_dot",
]
