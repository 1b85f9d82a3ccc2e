"""Effective area from a run with no logger: pressure at start and end, a displaced volume, a stopwatch.

Between its two readings the pressure is taken to follow the gas that pushes: p V**n = constant through both.
The exponent is a source of error like any other; it moves the answer little, because both ends are pinned.
The plain mean of the two drops is there to compare with, not to use: it is off by some 0.6 % when the
pressure falls by a fifth, 1.5 % by a third, 5 % by a half.
Start at `area_eff_two_point`.
"""

import numpy as np

from headrace.physics.domain import Values, kept, not_negative, positive
from headrace.physics.gas.quadrature import NODES_12


def area_eff_two_point(
    *,
    p_abs_start: Values,
    p_abs_end: Values,
    p_abs_out: Values,
    volume_out: Values,
    time: Values,
    n: Values,
    rho: Values,
) -> Values:
    """Effective area from two readings of a blowdown, with the gas law between them.

    E = volume_out / time * mean over the displaced volume of sqrt(rho / (2 (p - p_out))), where
    p = p_start (V0 / (V0 + V))**n and V0, the gas volume at the start, follows from the two pressures.
    Written without V0, so that equal pressures at both ends are no special case; a pressure that rises is
    followed as well.

    The law belongs to the gas; at a tap behind a feed loss it is borrowed as the shape between two measured
    ends. With a feed loss as large as the injector's drop and a fall by a third this costs under 0.2 %.

    Args:
        p_abs_start: Absolute pressure at the tap when the stopwatch starts; above p_abs_out. [Pa]
        p_abs_end: The same when it stops; above p_abs_out. [Pa]
        p_abs_out: Absolute pressure at the outlet, corrected for heights between tap and outlet. [Pa]
        volume_out: Liquid displaced between the two; above 0. [m3]
        time: Between the two; above 0. [s]
        n: Polytropic exponent of the gas; above 0, usually 1 to 1.4. [-]
        rho: Density of the liquid; above 0. [kg/m3]
    Returns:
        Effective area on the basis of the tap. [m2]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Mass balance of the displaced liquid; 12-point Gauss rule.

    >>> e = area_eff_two_point(p_abs_start=4e6, p_abs_end=4e6 * 2**-1.2, p_abs_out=101325.0,
    ...     volume_out=0.050, time=7.247099, n=1.2, rho=998.2072)
    >>> round(1e4 * float(e), 6)
    1.0
    """
    start, end = _ends(p_abs_start, p_abs_end, p_abs_out)
    n = positive("n", n)
    growth = np.expm1(np.log(start / end) / n)  # of the gas volume, over its volume at the start
    mean: Values = sum(
        weight / np.sqrt(start * (1 + place * growth) ** -n - p_abs_out) for place, weight in NODES_12
    )
    return _root_half(rho) * mean * _volume_rate(volume_out, time)


def area_eff_plain_mean(
    *,
    p_abs_start: Values,
    p_abs_end: Values,
    p_abs_out: Values,
    volume_out: Values,
    time: Values,
    rho: Values,
) -> Values:
    """Effective area from the plain mean of the two drops, as it is often done by hand. For comparison only.

    The true course sags below the straight line between the readings, and the liquid takes longest where the
    drop is smallest; both are missed, so this comes out too small: by about 0.1, 0.6, 1.5, 5 % for a fall of
    the pressure by 10, 20, 30, 50 %.

    Args:
        p_abs_start, p_abs_end, p_abs_out, volume_out, time, rho: As in `area_eff_two_point`.
    Returns:
        Effective area on the basis of the tap. [m2]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Common practice.

    >>> e = area_eff_plain_mean(p_abs_start=4e6, p_abs_end=4e6 * 2**-1.2, p_abs_out=101325.0,
    ...     volume_out=0.050, time=7.247099, rho=998.2072)
    >>> round(1e4 * float(e), 4)
    0.9262
    """
    start, end = _ends(p_abs_start, p_abs_end, p_abs_out)
    drop = (start + end) / 2 - p_abs_out
    area: Values = _root_half(rho) / np.sqrt(drop) * _volume_rate(volume_out, time)
    return area


def _ends(p_abs_start: Values, p_abs_end: Values, p_abs_out: Values) -> tuple[Values, Values]:
    """Both pressures, NaN in entries where either leaves no drop; between the ends the drop cannot be less."""
    p_abs_out = not_negative("p_abs_out", p_abs_out, "a gauge pressure taken for absolute?")
    words = "above p_abs_out", "gauge and absolute mixed?"
    start = kept(
        "p_abs_start", p_abs_start, np.greater(p_abs_start, p_abs_out) & np.isfinite(p_abs_start), *words
    )
    end = kept("p_abs_end", p_abs_end, np.greater(p_abs_end, p_abs_out) & np.isfinite(p_abs_end), *words)
    return start, end


def _root_half(rho: Values) -> Values:
    root: Values = np.sqrt(positive("rho", rho) / 2)
    return root


def _volume_rate(volume_out: Values, time: Values) -> Values:
    return positive("volume_out", volume_out) / positive("time", time)
