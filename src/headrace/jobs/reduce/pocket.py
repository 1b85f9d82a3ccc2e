"""Gas between meter and article: as the pressure falls it swells and pushes water out that the meter never sees.

A stated pocket is corrected for. One that nobody stated is looked for in the record: gas that was squeezed while the
line filled, or that swells after the meter has stopped, is water that the two sides of the line do not agree on. What
cannot be told from a gauge that answers late, or from an empty manifold that fills, counts as gas: the volume is a
bound. Start at `push` and `bound`.
"""

import numpy as np
from numpy.typing import NDArray

from headrace.findings.evidence import GasSeen

Array = NDArray[np.float64]

EXPONENT = 1.2
"""Of the gas, between isothermal and adiabatic; either end changes what a pocket pushes by less than a tenth."""

CLEAR = 2.0
"""A volume counts when it is clear of so many of its own standard uncertainties..."""

LEAST = 1e-3
"""... and would move E by this much in the window."""

DOWN = 0.1
"""Share of its last level in the window to which the tap's pressure falls before the closing is over."""

RATIO = 1.3
"""Least ratio of absolute pressures over which a volume of gas can be told."""


def push(*, p_abs: Array, p_abs_rate: Array, p_ambient: float, rho: float) -> Array:
    """Water that one cubic metre of gas (at ambient pressure) pushes out [kg/s per m3]; negative while it is squeezed.

    p V^n is constant, so dV/dt = -(V / (n p)) dp/dt.

    Args:
        p_abs: pressure of the gas [Pa]. p_abs_rate: how it changes [Pa/s]. p_ambient [Pa]. rho: water [kg/m3].
    """
    volume = (p_ambient / p_abs) ** (1 / EXPONENT)
    return np.asarray(-rho * volume / (EXPONENT * p_abs) * p_abs_rate)


def bound(
    *,
    time: Array,
    p_abs: Array,
    m_dot: Array,
    through: Array,
    pushed: Array,
    on: tuple[float, float],
    window: tuple[float, float],
    p_ambient: float,
    rho: float,
    u_time: float,
    u_rel: float,
) -> GasSeen | None:
    """The most gas that the opening and the closing leave room for; None when neither tells it from none.

    Args:
        time, p_abs (at the tap), m_dot (by the meter), through (the article at its E in the window), pushed
            (by `push`): per sample.
        on: first and last time of flow; window: start and end [s].
        u_time: how well the two sides agree in time [s]. u_rel: how well E is known, relative, over the integral.
    """
    found = [
        one
        for one in (
            _at_opening(time, p_abs, m_dot, through, on, window, p_ambient, rho, u_time, u_rel),
            _at_closing(time, p_abs, m_dot, through, on, window, p_ambient, rho, u_time, u_rel),
        )
        if one is not None
    ]
    if not found:
        return None
    volume, u, seen = min(found)
    inside = (time >= window[0]) & (time <= window[1]) & np.isfinite(pushed) & (m_dot > 0)
    if volume <= CLEAR * u or not np.any(inside):
        return None
    shift = volume * pushed[inside] / m_dot[inside]
    mean = float(np.mean(shift))
    if abs(mean) <= LEAST:
        return None
    most = float(shift[np.argmax(np.abs(_smooth(shift)))])
    return GasSeen(volume=volume, u=u, bias=mean, bias_most=most, seen=seen)


def _smooth(values: Array, width: int = 9) -> Array:
    return np.convolve(values, np.ones(width) / width, mode="same")


Found = tuple[float, float, str] | None


def _at_opening(
    time: Array, p_abs: Array, m_dot: Array, through: Array, on: tuple[float, float],
    window: tuple[float, float], p_ambient: float, rho: float, u_time: float, u_rel: float,
) -> Found:  # fmt: skip
    """Water that went in and did not come out while the pressure rose from rest."""
    span = (time >= on[0] - 0.5) & (time <= window[0])
    return _volume(
        time, p_abs, m_dot - through, m_dot, span, p_ambient, rho, u_time, u_rel, seen="opening", rises=True
    )


def _at_closing(
    time: Array, p_abs: Array, m_dot: Array, through: Array, on: tuple[float, float],
    window: tuple[float, float], p_ambient: float, rho: float, u_time: float, u_rel: float,
) -> Found:  # fmt: skip
    """Water that came out and did not go in while the pressure fell after the valve shut."""
    known = np.isfinite(p_abs)
    last = known & (time <= window[1])
    if not np.any(last):
        return None
    level = float(p_abs[last][-1]) - p_ambient
    fallen = time[known & (time > window[1]) & (p_abs - p_ambient < DOWN * level)]
    if fallen.size == 0:
        return None
    span = (time >= window[1]) & (time <= fallen[0])
    return _volume(
        time, p_abs, through - m_dot, m_dot, span, p_ambient, rho, u_time, u_rel, seen="closing", rises=False
    )


def _volume(
    time: Array, p_abs: Array, missing: Array, m_dot: Array, span: NDArray[np.bool_], p_ambient: float,
    rho: float, u_time: float, u_rel: float, *, seen: str, rises: bool,
) -> Found:  # fmt: skip
    """Gas at ambient pressure that swells or shrinks by the missing mass between the two ends of a span."""
    good = span & np.isfinite(missing) & np.isfinite(p_abs)
    if np.count_nonzero(good) < 4:
        return None
    first, last = float(p_abs[good][0]), float(p_abs[good][-1])
    high, low = (last, first) if rises else (first, last)
    if not (low > 0 and high / low > RATIO):
        return None
    swells = (p_ambient / low) ** (1 / EXPONENT) - (p_ambient / high) ** (1 / EXPONENT)
    lost = float(np.trapezoid(missing[good], time[good])) / rho
    flow = np.where(np.isfinite(m_dot), m_dot, 0.0)[good]
    mass = float(np.trapezoid(np.abs(flow), time[good]))
    step = float(np.median(np.diff(time)))
    u = float(np.hypot(u_rel * mass, float(np.max(np.abs(flow))) * np.hypot(step / 2, u_time))) / rho
    return max(lost, 0.0) / swells, u / swells, seen
