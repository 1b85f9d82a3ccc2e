"""Flow of an ideal gas through a hole, choked and not. Isentropic up to the throat.

Which of the two holds is the caller's decision, taken once at nominal: `critical_ratio` tells.
Start at `choked_flux`.
"""

import numpy as np

from headrace.physics.domain import Values, between, kept, positive

R_MOLAR = 8.314462618
"""Molar gas constant (CODATA, exact to the digits shown). [J/(mol K)]"""
R_AIR = R_MOLAR / 28.96546e-3
"""Specific gas constant of dry air. [J/(kg K)]"""
GAMMA_AIR = 1.4
"""Ratio of heat capacities of air near room temperature. [-]"""


def choked_function(*, gamma: Values) -> Values:
    """sqrt(gamma) * (2 / (gamma + 1)) ** ((gamma + 1) / (2 (gamma - 1))).

    Args:
        gamma: Ratio of heat capacities; above 1. [-]
    Returns:
        Dimensionless mass flux at a sonic throat. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Isentropic flow of an ideal gas.

    >>> round(float(choked_function(gamma=1.4)), 10)
    0.6847314564
    """
    gamma = between("gamma", gamma, 1, np.inf)
    value: Values = np.sqrt(gamma) * (2 / (gamma + 1)) ** ((gamma + 1) / (2 * (gamma - 1)))
    return value


def critical_ratio(*, gamma: Values) -> Values:
    """Pressure behind a hole over total pressure before it, at or below which the hole is choked.

    Args:
        gamma: Ratio of heat capacities; above 1. [-]
    Returns:
        Critical pressure ratio. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Isentropic flow of an ideal gas.

    >>> round(float(critical_ratio(gamma=1.4)), 10)
    0.5282817877
    """
    gamma = between("gamma", gamma, 1, np.inf)
    ratio: Values = (2 / (gamma + 1)) ** (gamma / (gamma - 1))
    return ratio


def choked_flux(
    *, p_abs_up: Values, temp_up: Values, gamma: Values = GAMMA_AIR, r_gas: Values = R_AIR
) -> Values:
    """Mass flux through a choked hole, on its effective area.

    Args:
        p_abs_up: Absolute total pressure before the hole; above 0. [Pa]
        temp_up: Total temperature there; above 0. [K]
        gamma: Ratio of heat capacities; above 1. [-]
        r_gas: Specific gas constant; above 0. [J/(kg K)]
    Returns:
        Mass flow over effective area. [kg/(m2 s)]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Isentropic flow of an ideal gas.

    >>> round(float(choked_flux(p_abs_up=1e6, temp_up=293.15)), 2)
    2360.47
    """
    root = np.sqrt(positive("r_gas", r_gas) * positive("temp_up", temp_up))
    flux: Values = positive("p_abs_up", p_abs_up) * choked_function(gamma=gamma) / root
    return flux


def subcritical_flux(
    *, p_abs_up: Values, p_abs_down: Values, temp_up: Values, gamma: Values = GAMMA_AIR, r_gas: Values = R_AIR
) -> Values:
    """Mass flux through a hole that is not choked, on its effective area.

    Args:
        p_abs_up: Absolute total pressure before the hole; above 0. [Pa]
        p_abs_down: Absolute pressure behind it; from `critical_ratio` * p_abs_up to p_abs_up. [Pa]
        temp_up: Total temperature before the hole; above 0. [K]
        gamma: Ratio of heat capacities; above 1. [-]
        r_gas: Specific gas constant; above 0. [J/(kg K)]
    Returns:
        Mass flow over effective area. [kg/(m2 s)]
    Raises:
        OutOfDomain: a lone number outside its range, a choked hole among them: below the critical
            ratio this formula would give less flow for more drop.
    Source:
        Isentropic flow of an ideal gas (Saint-Venant and Wantzel).

    >>> round(float(subcritical_flux(p_abs_up=1e6, p_abs_down=8e5, temp_up=293.15)), 2)
    1932.76
    """
    p_abs_up = positive("p_abs_up", p_abs_up)
    ratio = p_abs_down / p_abs_up
    ok = np.greater_equal(ratio, critical_ratio(gamma=gamma)) & np.less_equal(ratio, 1)
    ratio = kept("p_abs_down / p_abs_up", ratio, ok, "from the critical ratio to 1", "choked, or crossed?")
    speed = 2 * gamma / (gamma - 1) * ratio ** (2 / gamma) * (1 - ratio ** ((gamma - 1) / gamma))
    root = np.sqrt(positive("r_gas", r_gas) * positive("temp_up", temp_up))
    flux: Values = p_abs_up * np.sqrt(speed) / root
    return flux
