"""Gas shut in after a change: how far its pressure still moves by itself as its temperature returns.

Ideal gas of constant heat capacity. Start at `settled_p_abs`.
"""

import numpy as np

from headrace.physics.domain import Values, between, positive
from headrace.physics.gas.orifice_flow import GAMMA_AIR


def settled_p_abs(*, p_abs_end: Values, volume_ratio: Values, n: Values) -> Values:
    """Pressure of expanded gas once it has warmed to the temperature it had before it expanded.

    Args:
        p_abs_end: Absolute pressure as the expansion ends; above 0. [Pa]
        volume_ratio: Gas volume at the end over that at the start; above 0. [-]
        n: Polytropic exponent of the expansion; above 0, usually 1 to 1.4. [-]
    Returns:
        Absolute pressure, settled. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Polytropic change of state, then constant volume.

    >>> round(float(settled_p_abs(p_abs_end=1.0, volume_ratio=1.3, n=1.4)), 3)
    1.111
    """
    ratio = positive("volume_ratio", volume_ratio)
    p_abs: Values = positive("p_abs_end", p_abs_end) * ratio ** (positive("n", n) - 1)
    return p_abs


def warmest_fill(*, pressure_ratio: Values, gamma: Values = GAMMA_AIR) -> Values:
    """Highest temperature of a vessel after filling, over that of vessel and supply before: no heat lost meanwhile.

    Args:
        pressure_ratio: Absolute pressure before over after; between 0 and 1. [-]
        gamma: Ratio of heat capacities; above 1. [-]
    Returns:
        Temperature ratio, 1 to gamma: by so much the pressure falls at most as the gas cools. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Energy balance of a vessel filled from a supply of the same temperature.

    >>> round(float(warmest_fill(pressure_ratio=0.5)), 4)
    1.1667
    """
    gamma = between("gamma", gamma, 1, np.inf)
    ratio: Values = gamma / (1 + (gamma - 1) * between("pressure_ratio", pressure_ratio, 0, 1))
    return ratio


def coldest_expansion(*, pressure_ratio: Values, gamma: Values = GAMMA_AIR) -> Values:
    """Temperature before an expansion over the lowest after it, without heat: the most its pressure recovers.

    Args:
        pressure_ratio: Absolute pressure after over before; between 0 and 1. [-]
        gamma: Ratio of heat capacities; above 1. [-]
    Returns:
        Ratio of 1 or more. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Isentropic change of state, ideal gas.

    >>> round(float(coldest_expansion(pressure_ratio=1.3**-1.4)), 3)
    1.111
    """
    gamma = between("gamma", gamma, 1, np.inf)
    ratio: Values = between("pressure_ratio", pressure_ratio, 0, 1) ** (1 / gamma - 1)
    return ratio
