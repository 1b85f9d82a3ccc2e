"""A fixed charge of gas that pushes liquid out of its vessel: pressure, temperature, work and run time.

The gas follows p V**n = constant. The exponent is not a constant of nature: about 1.0 for slow runs,
1.2 to 1.4 for runs of seconds; the caller gives it, with its doubt. Ideal gas for the temperature.
Start at `blowdown_p_abs`.
"""

import numpy as np

from headrace.physics.domain import Values, between, kept, not_negative, positive
from headrace.physics.gas.quadrature import NODES_24

ISOTHERMAL_BAND = 1e-8
"""Below this distance of the exponent from 1 the work is taken as isothermal (the error is of that order)."""


def expansion(*, volume_start: Values, volume_out: Values) -> Values:
    """Volume of the gas after pushing out a volume of liquid, over its volume at the start.

    Args:
        volume_start: Gas volume at the start; above 0. [m3]
        volume_out: Liquid pushed out since; 0 or more. [m3]
    Returns:
        Expansion ratio, 1 or more. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definition.

    >>> expansion(volume_start=0.050, volume_out=0.020)
    1.4
    """
    return 1 + not_negative("volume_out", volume_out) / positive("volume_start", volume_start)


def blowdown_p_abs(*, p_abs_start: Values, volume_start: Values, volume_out: Values, n: Values) -> Values:
    """Gas pressure after pushing out a volume of liquid.

    Args:
        p_abs_start: Absolute gas pressure at the start; above 0. [Pa]
        volume_start: Gas volume at the start; above 0. [m3]
        volume_out: Liquid pushed out since; 0 or more. [m3]
        n: Polytropic exponent; above 0, usually 1 to 1.4. [-]
    Returns:
        Absolute gas pressure. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Polytropic change of state.

    >>> p = blowdown_p_abs(p_abs_start=4e6, volume_start=0.050, volume_out=0.020, n=1.2)
    >>> round(float(p))
    2671200
    """
    ratio = expansion(volume_start=volume_start, volume_out=volume_out)
    p_abs: Values = positive("p_abs_start", p_abs_start) * ratio ** -positive("n", n)
    return p_abs


def blowdown_temp(*, temp_start: Values, volume_start: Values, volume_out: Values, n: Values) -> Values:
    """Gas temperature after pushing out a volume of liquid.

    Args:
        temp_start: Gas temperature at the start; above 0. [K]
        volume_start: Gas volume at the start; above 0. [m3]
        volume_out: Liquid pushed out since; 0 or more. [m3]
        n: Polytropic exponent; above 0. [-]
    Returns:
        Gas temperature. [K]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Polytropic change of state, ideal gas.

    >>> round(float(blowdown_temp(temp_start=293.15, volume_start=0.050, volume_out=0.020, n=1.4)), 2)
    256.24
    """
    ratio = expansion(volume_start=volume_start, volume_out=volume_out)
    temp: Values = positive("temp_start", temp_start) * ratio ** (1 - positive("n", n))
    return temp


def blowdown_work(*, p_abs_start: Values, volume_start: Values, volume_out: Values, n: Values) -> Values:
    """Work that the gas does on the liquid, smooth through n = 1.

    Args:
        p_abs_start: Absolute gas pressure at the start; above 0. [Pa]
        volume_start: Gas volume at the start; above 0. [m3]
        volume_out: Liquid pushed out since; 0 or more. [m3]
        n: Polytropic exponent; above 0. [-]
    Returns:
        Boundary work. [J]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Polytropic change of state.

    >>> w = blowdown_work(p_abs_start=4e6, volume_start=0.050, volume_out=0.020, n=1.0)
    >>> round(float(w), 2)
    67294.45
    """
    log_ratio = np.log(expansion(volume_start=volume_start, volume_out=volume_out))
    rest = 1 - positive("n", n)
    # (ratio**rest - 1) / rest; where rest vanishes its limit is log_ratio
    small = np.abs(rest) < ISOTHERMAL_BAND
    divisor = np.where(small, 1.0, rest)
    shape = np.where(small, log_ratio, np.expm1(divisor * log_ratio) / divisor)
    work: Values = positive("p_abs_start", p_abs_start) * volume_start * shape
    return work


def blowdown_time_vacuum(
    *, p_abs_start: Values, volume_start: Values, volume_out: Values, n: Values, area_eff: Values, rho: Values
) -> Values:
    """Time to push out a volume of liquid into a vacuum, in closed form.

    Args:
        p_abs_start: Absolute gas pressure at the start; above 0. [Pa]
        volume_start: Gas volume at the start; above 0. [m3]
        volume_out: Liquid pushed out; 0 or more. [m3]
        n: Polytropic exponent; above 0. [-]
        area_eff: Effective area of all between vessel and outlet; above 0. [m2]
        rho: Density of the liquid; above 0. [kg/m3]
    Returns:
        Time. [s]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Integral of m_dot = E sqrt(2 rho p) along a polytropic expansion.

    >>> t = blowdown_time_vacuum(
    ...     p_abs_start=4e6, volume_start=0.050, volume_out=0.050, n=1.2, area_eff=1e-4, rho=998.2072)
    >>> round(float(t), 6)
    7.09117
    """
    power = 1 + positive("n", n) / 2
    ratio = expansion(volume_start=volume_start, volume_out=volume_out)
    pace = np.sqrt(positive("rho", rho) / (2 * positive("p_abs_start", p_abs_start)))
    time: Values = pace * volume_start * (ratio**power - 1) / (power * positive("area_eff", area_eff))
    return time


def blowdown_time(
    *,
    p_abs_start: Values,
    p_abs_out: Values,
    volume_start: Values,
    volume_out: Values,
    n: Values,
    area_eff: Values,
    rho: Values,
) -> Values:
    """Time to push out a volume of liquid against a back-pressure, by a fixed 24-point Gauss rule.

    Heights and inertia are left out. Good to 1e-6 as long as the end pressure keeps some 20 % above the
    back-pressure; towards equality the time grows without the rule following all the way.

    Args:
        p_abs_start: Absolute gas pressure at the start; above 0. [Pa]
        p_abs_out: Absolute pressure at the outlet; 0 or more, below the gas pressure at the END. [Pa]
        volume_start: Gas volume at the start; above 0. [m3]
        volume_out: Liquid pushed out; 0 or more. [m3]
        n: Polytropic exponent; above 0. [-]
        area_eff: Effective area of all between vessel and outlet; above 0. [m2]
        rho: Density of the liquid; above 0. [kg/m3]
    Returns:
        Time. [s]
    Raises:
        OutOfDomain: a lone number outside its range, the gas running out of pressure among them.
    Source:
        Integral of m_dot = E sqrt(2 rho (p - p_out)) along a polytropic expansion.

    >>> t = blowdown_time(p_abs_start=4e6, p_abs_out=101325.0, volume_start=0.050, volume_out=0.050,
    ...     n=1.2, area_eff=1e-4, rho=998.2072)
    >>> round(float(t), 5)
    7.2471
    """
    ratio = expansion(volume_start=volume_start, volume_out=volume_out)
    p_abs_start = positive("p_abs_start", p_abs_start)
    p_abs_out = not_negative("p_abs_out", p_abs_out)
    n = positive("n", n)
    p_abs_end = p_abs_start * ratio**-n
    ok = np.less(p_abs_out, p_abs_end)
    p_abs_out = kept("p_abs_out", p_abs_out, ok, "below the gas pressure at the end", "too much displaced?")
    mean: Values = sum(
        weight / np.sqrt(p_abs_start * (1 + share * (ratio - 1)) ** -n - p_abs_out)
        for share, weight in NODES_24
    )
    time: Values = volume_out * mean * np.sqrt(positive("rho", rho) / 2) / positive("area_eff", area_eff)
    return time


def exponent(*, pressure_ratio: Values, volume_ratio: Values) -> Values:
    """Polytropic exponent that two states of the gas show: ln(p0 / p1) / ln(V1 / V0).

    Args:
        pressure_ratio: Absolute pressure at the end over that at the start; between 0 and 1. [-]
        volume_ratio: Gas volume at the end over that at the start; above 1. [-]
    Returns:
        Exponent. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Polytropic change of state.

    >>> round(float(exponent(pressure_ratio=0.66779991, volume_ratio=1.4)), 6)
    1.2
    """
    pressure_ratio = between("pressure_ratio", pressure_ratio, 0, 1)
    n: Values = -np.log(pressure_ratio) / np.log(between("volume_ratio", volume_ratio, 1, np.inf))
    return n
