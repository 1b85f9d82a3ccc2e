"""The injector as one effective area, and the drop that belongs to it between a named tap and the outlet.

An effective area is only worth its basis: on the static pressure at a tap of a given bore, or on the total
pressure there. Discharge coefficients are not needed and not guessed. Start at `injector_dp` and `area_eff`.
"""

from collections.abc import Sequence

import numpy as np

from headrace.physics.domain import Values, finite, not_negative, positive
from headrace.physics.hydraulics.hydrostatics import G_STANDARD, head_dp


def area_eff(*, m_dot: Values, dp: Values, rho: Values) -> Values:
    """Effective area E = m_dot / sqrt(2 rho dp).

    Args:
        m_dot: Mass flow; 0 or more. [kg/s]
        dp: Drop across the injector, on a basis of the caller's; above 0. [Pa]
        rho: Density of the liquid; above 0. [kg/m3]
    Returns:
        Effective area, on the same basis as dp. [m2]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definition.

    >>> round(1e5 * float(area_eff(m_dot=0.4468125, dp=1e6, rho=998.2072)), 6)
    1.0
    """
    dp = positive("dp", dp, "drop crossed, or gauge and absolute mixed?")
    area: Values = not_negative("m_dot", m_dot) / np.sqrt(2 * positive("rho", rho) * dp)
    return area


def injector_m_dot(*, area_eff: Values, dp: Values, rho: Values) -> Values:
    """Mass flow through an effective area: m_dot = E sqrt(2 rho dp).

    Args:
        area_eff: Effective area; 0 or more. [m2]
        dp: Drop on the basis of the area; 0 or more. [Pa]
        rho: Density of the liquid; above 0. [kg/m3]
    Returns:
        Mass flow. [kg/s]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definition of the effective area.

    >>> round(float(injector_m_dot(area_eff=1e-5, dp=1e6, rho=998.2072)), 7)
    0.4468125
    """
    dp = not_negative("dp", dp, "drop crossed, or gauge and absolute mixed?")
    flow: Values = not_negative("area_eff", area_eff) * np.sqrt(2 * positive("rho", rho) * dp)
    return flow


def area_eff_from_mass(*, mass: Values, dp: Values, time: Values, rho: Values) -> Values:
    """Effective area from one weighed mass and a trace of the drop: E = mass / integral sqrt(2 rho dp) dt.

    Takes E as constant over the catch. The root is taken sample by sample: the root of a mean drop is not
    the mean of the roots. A sample below zero counts as flow backwards, so that noise about zero before
    opening and after closing averages out instead of being cut to one side.

    Args:
        mass: All that was caught; 0 or more. [kg]
        dp: Drop at each sample (first axis; draws last). [Pa]
        time: Time of each sample (first axis), rising. [s]
        rho: Density of the liquid; above 0. [kg/m3]
    Returns:
        Effective area. [m2]
    Raises:
        OutOfDomain: a lone number outside its range, or fewer than two samples.
    Source:
        Trapezium rule on the definition of the effective area.

    >>> trace = np.full(11, 1e6)
    >>> e = area_eff_from_mass(mass=4.468125, dp=trace, time=np.linspace(0, 10, 11), rho=998.2072)
    >>> round(1e5 * float(e), 6)
    1.0
    """
    positive("samples after the first", float(np.shape(dp)[0] - 1) if np.ndim(dp) else 0.0)
    dp = finite("dp", dp)
    root = np.sign(dp) * np.sqrt(2 * positive("rho", rho) * np.abs(dp))
    integral: Values = np.trapezoid(root, time, axis=0)
    return not_negative("mass", mass) / positive("integral of the root of the drop", integral)


def velocity_head(*, m_dot: Values, area: Values, rho: Values) -> Values:
    """Velocity head of the flow in a bore: m_dot**2 / (2 rho area**2).

    Args:
        m_dot: Mass flow; 0 or more. [kg/s]
        area: Area of the bore; above 0. [m2]
        rho: Density of the liquid; above 0. [kg/m3]
    Returns:
        Total minus static pressure. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Bernoulli.

    >>> round(velocity_head(m_dot=1.0, area=1e-3, rho=1000.0), 1)
    500.0
    """
    return (not_negative("m_dot", m_dot) / positive("area", area)) ** 2 / (2 * positive("rho", rho))


def inertance(*, lengths: Sequence[float], areas: Sequence[float]) -> float:
    """Inertance of a line, the sum of length over area: its pressure is inertance times dm_dot/dt.

    Args:
        lengths: Lengths of the pieces; each 0 or more. [m]
        areas: Their areas, as many; each above 0. [m2]
    Returns:
        Inertance. [1/m]
    Raises:
        OutOfDomain: a number outside its range.
    Source:
        Momentum of a filled pipe.

    >>> round(inertance(lengths=[2.0], areas=[1.9634954e-3]), 1)
    1018.6
    """
    return float(
        sum(
            not_negative("length", length) / positive("area", area)
            for length, area in zip(lengths, areas, strict=True)
        )
    )


def injector_dp(
    *,
    p_abs_tap: Values,
    p_abs_out: Values,
    rho: Values,
    height: Values = 0.0,
    dp_velocity: Values = 0.0,
    dp_line: Values = 0.0,
    inertance: Values = 0.0,
    m_dot_rate: Values = 0.0,
    g: Values = G_STANDARD,
) -> Values:
    """Drop across the injector itself, from the pressure at a tap some way before it.

    p_tap - p_out + rho g height + dp_velocity - dp_line - inertance * m_dot_rate. Absolute or gauge pressures
    do equally, as long as both are the same kind. While the flow dies down the rate is negative and the
    measured drop too small. Leave dp_velocity at 0 for an area on the static basis.

    Args:
        p_abs_tap: Static pressure at the tap (at the sensor's height, if the leg to it is full). [Pa]
        p_abs_out: Pressure at the outlet of the elements, of the same kind. [Pa]
        rho: Density of the liquid; above 0. [kg/m3]
        height: Where that pressure holds, minus the outlet; negative below it. [m]
        dp_velocity: Velocity head at the tap, for an area on the total basis; 0 or more. [Pa]
        dp_line: Loss between tap and injector; 0 or more. [Pa]
        inertance: Sum of length over area between tap and outlet; 0 or more. [1/m]
        m_dot_rate: Rate of change of the mass flow. [kg/s2]
        g: Acceleration of free fall; above 0. [m/s2]
    Returns:
        Drop across the injector; negative drops are returned as they are, for the caller to judge. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Unsteady Bernoulli equation of a line running full.

    >>> round(injector_dp(p_abs_tap=6e5, p_abs_out=1e5, rho=998.2072, height=1.0, dp_line=2e3), 1)
    507789.1
    """
    column = head_dp(rho=rho, height=height, g=g) - finite("p_abs_out", p_abs_out)
    steady = column + not_negative("dp_velocity", dp_velocity) - not_negative("dp_line", dp_line)
    speeding_up = not_negative("inertance", inertance) * finite("m_dot_rate", m_dot_rate)
    return finite("p_abs_tap", p_abs_tap) + steady - speeding_up


def total_from_static(*, area_eff_static: Values, area_tap: Values) -> Values:
    """Effective area on total pressure from the one on static pressure: 1/E**2 = 1/E'**2 + 1/A_tap**2.

    Args:
        area_eff_static: Effective area E' on the static pressure at the tap; above 0. [m2]
        area_tap: Area of the bore at the tap; above 0. [m2]
    Returns:
        Effective area E on the total pressure there, always the smaller. [m2]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Bernoulli at the tap.

    >>> round(1e6 * float(total_from_static(area_eff_static=3e-4, area_tap=1e-3)), 3)
    287.348
    """
    area: Values = (
        positive("area_eff_static", area_eff_static) ** -2 + positive("area_tap", area_tap) ** -2
    ) ** -0.5
    return area


def static_from_total(*, area_eff_total: Values, area_tap: Values) -> Values:
    """Effective area on static pressure from the one on total pressure: 1/E'**2 = 1/E**2 - 1/A_tap**2.

    Args:
        area_eff_total: Effective area E on total pressure; above 0, less than area_tap. [m2]
        area_tap: Area of the bore at the tap; above 0. [m2]
    Returns:
        Effective area E' on the static pressure at the tap, always the larger. [m2]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Bernoulli at the tap.

    >>> round(float(static_from_total(area_eff_total=0.3, area_tap=1.0)) / 0.3 - 1, 4)
    0.0483
    """
    rest = positive("area_eff_total", area_eff_total) ** -2 - positive("area_tap", area_tap) ** -2
    area: Values = positive("1/E**2 - 1/A_tap**2", rest, "tap bore smaller than the effective area?") ** -0.5
    return area


def element_re_ideal(*, dp: Values, rho: Values, mu: Values, d_element: Values) -> Values:
    """Reynolds number of an element on the ideal velocity sqrt(2 dp / rho); needs no area.

    Args:
        dp: Drop across the element; 0 or more. [Pa]
        rho: Density of the liquid; above 0. [kg/m3]
        mu: Dynamic viscosity; above 0. [Pa s]
        d_element: Bore of the element; above 0. [m]
    Returns:
        Reynolds number on bore and ideal velocity. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Lichtarowicz et al., J. Mech. Eng. Sci. 7 (1965), 210 (definition).

    >>> round(float(element_re_ideal(dp=5e5, rho=998.2072, mu=1.001596e-3, d_element=1e-3)))
    31544
    """
    root = np.sqrt(2 * positive("rho", rho) * not_negative("dp", dp, "drop crossed?"))
    re: Values = positive("d_element", d_element) * root / positive("mu", mu)
    return re


def element_re(*, m_dot: Values, mu: Values, d_element: Values, count: Values = 1.0) -> Values:
    """Reynolds number of one of `count` equal elements on its mean velocity.

    Args:
        m_dot: Mass flow of all elements together; 0 or more. [kg/s]
        mu: Dynamic viscosity; above 0. [Pa s]
        d_element: Bore of an element; above 0. [m]
        count: Number of elements; above 0. [-]
    Returns:
        Reynolds number on bore and mean velocity. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definition.

    >>> round(float(element_re(m_dot=1.0, mu=1e-3, d_element=1e-3, count=60)))
    21221
    """
    perimeter = np.pi * positive("d_element", d_element) * positive("count", count)
    return 4 * not_negative("m_dot", m_dot) / (perimeter * positive("mu", mu))
