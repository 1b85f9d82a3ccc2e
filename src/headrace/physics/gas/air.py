"""Density of air as an ideal gas, dry or moist: for buoyancy in weighing and air in impulse lines.

Good to about 0.1 % near one atmosphere; no table for high pressure. Start at `air_rho`.
"""

from headrace.physics.domain import Values, not_negative, positive
from headrace.physics.gas.orifice_flow import R_AIR, R_MOLAR

R_WATER_VAPOUR = R_MOLAR / 18.015268e-3
"""Specific gas constant of water vapour. [J/(kg K)]"""


def air_rho(*, p_abs: Values, temp: Values, p_water: Values = 0.0) -> Values:
    """Density of air from its pressure, temperature and share of water vapour.

    Args:
        p_abs: Absolute pressure; above p_water. [Pa]
        temp: Temperature; above 0. [K]
        p_water: Partial pressure of water vapour, which is relative humidity times vapour pressure;
            0 (dry) or more. [Pa]
    Returns:
        Density. [kg/m3]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Ideal gas mixture.

    >>> round(air_rho(p_abs=101325.0, temp=293.15), 3)
    1.204
    """
    vapour = not_negative("p_water", p_water)
    dry = positive("p_abs - p_water", p_abs - vapour)
    return (dry / R_AIR + vapour / R_WATER_VAPOUR) / positive("temp", temp)
