"""A vessel of ideal gas: emptying through a choked hole, and pressure after opening to another vessel.

Real air departs from this by 1 % and more above 100 bar: planning figures. Start at `equalised_p_abs`.
"""

import numpy as np

from headrace.physics.domain import Values, between, positive
from headrace.physics.gas.orifice_flow import GAMMA_AIR, R_AIR, choked_function


def equalised_p_abs(
    *, p_abs_first: Values, volume_first: Values, p_abs_second: Values, volume_second: Values
) -> Values:
    """Common pressure of two vessels after the valve between them was opened.

    The same at once and after settling: the energy of an ideal gas is in p V whatever its temperature.

    Args:
        p_abs_first, p_abs_second: Absolute pressures before; above 0. [Pa]
        volume_first, volume_second: Volumes; above 0. [m3]
    Returns:
        Absolute pressure after. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Energy balance, ideal gas of constant heat capacity, no heat lost.

    >>> equalised_p_abs(p_abs_first=20e6, volume_first=0.05, p_abs_second=101325.0, volume_second=0.05)
    10050662.5
    """
    first = positive("volume_first", volume_first)
    second = positive("volume_second", volume_second)
    content = positive("p_abs_first", p_abs_first) * first + positive("p_abs_second", p_abs_second) * second
    return content / (first + second)


def emptying_tau(
    *, volume: Values, area_eff: Values, temp: Values, gamma: Values = GAMMA_AIR, r_gas: Values = R_AIR
) -> Values:
    """Time constant of a vessel that empties through a choked hole: content over first outflow.

    Args:
        volume: Volume of the vessel; above 0. [m3]
        area_eff: Effective area of the hole; above 0. [m2]
        temp: Temperature of the gas at the start; above 0. [K]
        gamma: Ratio of heat capacities; above 1. [-]
        r_gas: Specific gas constant; above 0. [J/(kg K)]
    Returns:
        Time constant. [s]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Mass balance with isentropic choked outflow.

    >>> tau = emptying_tau(volume=0.05, area_eff=0.8 * np.pi / 4 * 1e-6, temp=293.15)
    >>> round(float(tau), 4)
    400.6342
    """
    sonic = np.sqrt(positive("r_gas", r_gas) * positive("temp", temp)) * choked_function(gamma=gamma)
    tau: Values = positive("volume", volume) / (positive("area_eff", area_eff) * sonic)
    return tau


def emptying_time_isothermal(*, tau: Values, pressure_ratio: Values) -> Values:
    """Time to fall to a share of the start pressure when the gas stays at its temperature.

    Args:
        tau: Time constant from `emptying_tau`; above 0. [s]
        pressure_ratio: Absolute pressure at the end over that at the start; between 0 and 1. [-]
    Returns:
        Time. [s]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Mass balance, choked throughout.

    >>> round(float(emptying_time_isothermal(tau=400.6342, pressure_ratio=0.5)), 3)
    277.698
    """
    time: Values = -positive("tau", tau) * np.log(between("pressure_ratio", pressure_ratio, 0, 1))
    return time


def emptying_time_isentropic(*, tau: Values, pressure_ratio: Values, gamma: Values = GAMMA_AIR) -> Values:
    """Time to fall to a share of the start pressure when no heat reaches the gas.

    Args:
        tau: Time constant from `emptying_tau`; above 0. [s]
        pressure_ratio: Absolute pressure at the end over that at the start; between 0 and 1. [-]
        gamma: Ratio of heat capacities; above 1. [-]
    Returns:
        Time. [s]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Mass and energy balance, choked throughout.

    >>> round(float(emptying_time_isentropic(tau=400.6342, pressure_ratio=0.5)), 3)
    208.509
    """
    gamma = between("gamma", gamma, 1, np.inf)
    ratio = between("pressure_ratio", pressure_ratio, 0, 1)
    power = (gamma - 1) / (2 * gamma)
    time: Values = 2 * positive("tau", tau) / (gamma - 1) * (ratio**-power - 1)
    return time


def isentropic_temp(*, temp_start: Values, pressure_ratio: Values, gamma: Values = GAMMA_AIR) -> Values:
    """Temperature of gas left in a vessel after an isentropic fall of pressure.

    Args:
        temp_start: Temperature at the start; above 0. [K]
        pressure_ratio: Absolute pressure at the end over that at the start; above 0. [-]
        gamma: Ratio of heat capacities; above 1. [-]
    Returns:
        Temperature. [K]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Isentropic change of state, ideal gas.

    >>> round(float(isentropic_temp(temp_start=293.15, pressure_ratio=0.5)), 4)
    240.4813
    """
    gamma = between("gamma", gamma, 1, np.inf)
    ratio = positive("pressure_ratio", pressure_ratio)
    temp: Values = positive("temp_start", temp_start) * ratio ** ((gamma - 1) / gamma)
    return temp
