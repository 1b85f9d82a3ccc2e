"""Gas between meter and article: as the pressure falls it swells and pushes water out that the meter never sees.

A stated pocket is corrected for. One that nobody stated is looked for in the record: gas that was squeezed while the
line filled, or that swells after the meter has stopped, is water that the two sides of the line do not agree on. What
cannot be told from a gauge that answers late, or from an empty manifold that fills, counts as gas: the volume is a
bound. Start at `push` and `bound`.
"""

from dataclasses import dataclass

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

AROUND = 0.5
"""Seconds before the first flow from which the filling is counted."""

PIECES = 8
"""Pieces of the window in which the largest effect is looked for."""

Found = tuple[float, float, str] | None


def push(*, p_abs: Array, p_abs_rate: Array, p_ambient: float, rho: float) -> Array:
    """Water that one cubic metre of gas (at ambient pressure) pushes out [kg/s per m3]; negative while it is squeezed.

    p V^n is constant, so dV/dt = -(V / (n p)) dp/dt.

    Args:
        p_abs: pressure of the gas [Pa]. p_abs_rate: how it changes [Pa/s]. p_ambient [Pa]. rho: water [kg/m3].
    """
    volume = (p_ambient / p_abs) ** (1 / EXPONENT)
    return np.asarray(-rho * volume / (EXPONENT * p_abs) * p_abs_rate)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sides:
    """Both sides of the line, per sample: what the meter let in and what the article let out at its E in the window.

    p_abs: at the tap [Pa]; m_dot, through [kg/s]; p_ambient [Pa]; rho [kg/m3]. u_time: how well the two sides agree in
    time [s]; u_rel: how well E in the window holds while the valve moves, relative.
    """

    time: Array
    p_abs: Array
    m_dot: Array
    through: Array
    p_ambient: float
    rho: float
    u_time: float
    u_rel: float


def bound(
    sides: Sides, *, pushed: Array, on: tuple[float, float], window: tuple[float, float]
) -> GasSeen | None:
    """The most gas that the opening and the closing leave room for; None when neither tells it from none.

    Args:
        pushed: by `push`, per sample. on: first and last time of flow; window: start and end [s].
    """
    found = [
        one
        for one in (_at_opening(sides, on[0], window[0]), _at_closing(sides, window[1]))
        if one is not None
    ]
    if not found:
        return None
    volume, u, seen = min(found)
    inside = (sides.time >= window[0]) & (sides.time <= window[1]) & np.isfinite(pushed) & (sides.m_dot > 0)
    if volume <= CLEAR * u or not np.any(inside):
        return None
    shift = volume * pushed[inside] / sides.m_dot[inside]
    bias = float(np.mean(shift))
    if abs(bias) <= LEAST:
        return None
    parts = [float(np.mean(part)) for part in np.array_split(shift, PIECES) if part.size]
    return GasSeen(volume=volume, u=u, bias=bias, bias_most=max(parts, key=abs), seen=seen)


def _at_opening(sides: Sides, opens: float, settled: float) -> Found:
    """Water that went in and did not come out while the pressure rose from rest."""
    span = (sides.time >= opens - AROUND) & (sides.time <= settled)
    return _volume(sides, sides.m_dot - sides.through, span, "opening")


def _at_closing(sides: Sides, ends: float) -> Found:
    """Water that came out and did not go in while the pressure fell after the valve shut."""
    known = np.isfinite(sides.p_abs)
    last = known & (sides.time <= ends)
    if not np.any(last):
        return None
    level = float(sides.p_abs[last][-1]) - sides.p_ambient
    fallen = sides.time[known & (sides.time > ends) & (sides.p_abs - sides.p_ambient < DOWN * level)]
    if fallen.size == 0:
        return None
    return _volume(
        sides, sides.through - sides.m_dot, (sides.time >= ends) & (sides.time <= fallen[0]), "closing"
    )


def _volume(sides: Sides, missing: Array, span: NDArray[np.bool_], seen: str) -> Found:
    """Gas at ambient pressure that swells or shrinks by the missing mass between the two ends of a span."""
    good = span & np.isfinite(missing) & np.isfinite(sides.p_abs)
    if np.count_nonzero(good) < 4:
        return None
    ends = sides.p_abs[good][[0, -1]]
    low, high = float(np.min(ends)), float(np.max(ends))
    if not (low > 0 and high / low > RATIO):
        return None
    time, flow = sides.time[good], np.abs(np.nan_to_num(sides.m_dot[good]))
    swells = (sides.p_ambient / low) ** (1 / EXPONENT) - (sides.p_ambient / high) ** (1 / EXPONENT)
    lost = float(np.trapezoid(missing[good], time)) / sides.rho
    late = float(np.max(flow)) * float(np.hypot(np.median(np.diff(sides.time)) / 2, sides.u_time))
    u = float(np.hypot(sides.u_rel * float(np.trapezoid(flow, time)), late)) / sides.rho
    return max(lost, 0.0) / swells, u / swells, seen
