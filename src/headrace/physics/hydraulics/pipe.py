"""Straight round pipes running full: Reynolds number, Darcy friction factor, drop.

Darcy factors throughout (four times Fanning's). Which regime holds is decided once by the caller, at
nominal: no function here switches between laminar and turbulent, so draws never meet a jump.
Start at `pipe_dp`.
"""

import numpy as np

from headrace.physics.domain import Values, not_negative, positive
from headrace.physics.hydraulics.limits import Limits, Range

LAMINAR_LIMITS = Limits(
    source="Hagen-Poiseuille flow; upper end common practice",
    ranges=(Range(quantity="re", low=0.0, high=2000.0),),
)
BLASIUS_LIMITS = Limits(
    source="Blasius (1913), smooth pipes (from memory)",
    ranges=(Range(quantity="re", low=4e3, high=1e5),),
)
COLEBROOK_LIMITS = Limits(
    source="Colebrook (1939); range of the usual chart, common practice",
    ranges=(
        Range(quantity="re", low=4e3, high=1e8),
        Range(quantity="roughness_ratio", low=0.0, high=0.05),
    ),
)

NEWTON_STEPS = 4
"""Steps of the Colebrook solution, the same for every draw; 3 reach rounding error inside its limits."""


def velocity(*, m_dot: Values, d_pipe: Values, rho: Values) -> Values:
    """Mean velocity in a round bore.

    Args:
        m_dot: Mass flow; 0 or more. [kg/s]
        d_pipe: Bore; above 0. [m]
        rho: Density; above 0. [kg/m3]
    Returns:
        Velocity. [m/s]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Continuity.

    >>> round(float(velocity(m_dot=5.556436, d_pipe=0.0525, rho=998.2072)), 6)
    2.571385
    """
    d_pipe = positive("d_pipe", d_pipe)
    return not_negative("m_dot", m_dot) / (np.pi / 4 * d_pipe**2 * positive("rho", rho))


def reynolds(*, m_dot: Values, d_pipe: Values, mu: Values) -> Values:
    """Reynolds number of the mean flow in a round bore; density cancels.

    Args:
        m_dot: Mass flow; 0 or more. [kg/s]
        d_pipe: Bore; above 0. [m]
        mu: Dynamic viscosity; above 0. [Pa s]
    Returns:
        Reynolds number on the bore. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definition.

    >>> round(float(reynolds(m_dot=5.556436, d_pipe=0.0525, mu=1.001596e-3)))
    134541
    """
    return 4 * not_negative("m_dot", m_dot) / (np.pi * positive("d_pipe", d_pipe) * positive("mu", mu))


def friction_laminar(*, re: Values) -> Values:
    """Friction factor of laminar flow, 64 / re.

    Args:
        re: Reynolds number; above 0, see `LAMINAR_LIMITS`. [-]
    Returns:
        Darcy friction factor. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Hagen-Poiseuille.

    >>> round(friction_laminar(re=1500.0), 6)
    0.042667
    """
    return 64 / positive("re", re)


def friction_blasius(*, re: Values) -> Values:
    """Friction factor of smooth turbulent flow, 0.3164 / re**0.25.

    Args:
        re: Reynolds number; above 0, see `BLASIUS_LIMITS`. [-]
    Returns:
        Darcy friction factor. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Blasius (1913).

    >>> friction_blasius(re=1e4)
    0.03164
    """
    factor: Values = 0.3164 / positive("re", re) ** 0.25
    return factor


def friction_colebrook(*, re: Values, roughness_ratio: Values) -> Values:
    """Friction factor of turbulent flow in a rough or smooth pipe.

    1 / sqrt(f) = -2 log10(roughness_ratio / 3.7 + 2.51 / (re sqrt(f))), by Newton steps in 1 / sqrt(f).

    Args:
        re: Reynolds number; above 0, see `COLEBROOK_LIMITS`. [-]
        roughness_ratio: Sand roughness over bore; 0 or more. [-]
    Returns:
        Darcy friction factor. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Colebrook, J. Inst. Civ. Eng. 11 (1939), 133-156 (from memory).

    >>> round(float(friction_colebrook(re=1e5, roughness_ratio=1e-4)), 9)
    0.018513866
    """
    re = positive("re", re)
    rough = not_negative("roughness_ratio", roughness_ratio) / 3.7
    smooth = 2.51 / re
    # explicit start after Haaland (1983): within 2 % of the answer
    x: Values = -1.8 * np.log10(rough**1.11 + 6.9 / re)
    for _ in range(NEWTON_STEPS):
        inside = rough + smooth * x
        x = x - (x + 2 * np.log10(inside)) / (1 + 2 / np.log(10) * smooth / inside)
    return x**-2


def pipe_k(*, friction: Values, length: Values, d_pipe: Values) -> Values:
    """Loss coefficient of a straight pipe on its own velocity head: friction * length / d_pipe.

    Args:
        friction: Darcy friction factor; 0 or more. [-]
        length: Length; 0 or more. [m]
        d_pipe: Bore; above 0. [m]
    Returns:
        Loss coefficient K. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Darcy-Weisbach.

    >>> round(pipe_k(friction=0.02, length=6.0, d_pipe=0.05), 3)
    2.4
    """
    return not_negative("friction", friction) * not_negative("length", length) / positive("d_pipe", d_pipe)


def pipe_dp(*, m_dot: Values, rho: Values, d_pipe: Values, length: Values, friction: Values) -> Values:
    """Pressure lost to friction along a straight pipe.

    Args:
        m_dot: Mass flow; 0 or more. [kg/s]
        rho: Density; above 0. [kg/m3]
        d_pipe: Bore; above 0. [m]
        length: Length; 0 or more. [m]
        friction: Darcy friction factor; 0 or more. [-]
    Returns:
        Drop along the pipe. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Darcy-Weisbach.

    >>> dp = pipe_dp(m_dot=5.556436, rho=998.2072, d_pipe=0.0525, length=6.0, friction=0.02108309)
    >>> round(float(dp), 1)
    7951.5
    """
    speed = velocity(m_dot=m_dot, d_pipe=d_pipe, rho=rho)
    return pipe_k(friction=friction, length=length, d_pipe=d_pipe) * rho * speed**2 / 2
