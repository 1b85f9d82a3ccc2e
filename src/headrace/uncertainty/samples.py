"""What a set of draws says: mean, standard uncertainty, intervals, and when a number is settled.

Draws come in as finite numbers in one array; NaN are taken out, and counted, before. Start at
`symmetric_interval`.
"""

from math import ceil, floor, log10

import numpy as np
from numpy.typing import NDArray

Interval = tuple[float, float]


def _span(count: int, coverage: float) -> int:
    """How many steps of the ordered draws hold the coverage: JCGM 101:2008, 7.7.1."""
    if not 0 < coverage < 1:
        raise ValueError(f"coverage = {coverage} is not between 0 and 1")
    return floor(coverage * count + 0.5)


def symmetric_interval(ordered: NDArray[np.float64], coverage: float) -> Interval:
    """Interval that leaves the same probability out on both sides, from draws in ascending order.

    NaN for less than two draws. Source: JCGM 101:2008, 7.7.2.
    """
    count = ordered.size
    span = min(_span(count, coverage), count - 1)
    if span < 1:
        return float("nan"), float("nan")
    low = min(max(floor((count - span) / 2 + 0.5), 1), count - span)
    return float(ordered[low - 1]), float(ordered[low - 1 + span])


def shortest_interval(ordered: NDArray[np.float64], coverage: float) -> Interval:
    """Shortest interval of that coverage, from draws in ascending order. NaN for less than two draws.

    Source: JCGM 101:2008, 7.7.3 and 7.7.4.
    """
    count = ordered.size
    span = min(_span(count, coverage), count - 1)
    if span < 1:
        return float("nan"), float("nan")
    low = int(np.argmin(ordered[span:] - ordered[: count - span]))
    return float(ordered[low]), float(ordered[low + span])


def tolerance(u: float, digits: int) -> float:
    """Half a unit of the last of `digits` significant digits of u (any unit, above 0); 0 for u = 0.

    Source: JCGM 101:2008, 7.9.2.

    >>> tolerance(0.0754, 2)
    0.0005
    """
    if digits < 1:
        raise ValueError(f"digits = {digits} is below 1")
    if not u > 0:
        return 0.0 if u == 0 else float("nan")
    place = floor(log10(u)) - digits + 1
    if ceil(u / 10.0**place - 0.5) >= 10**digits:  # 0.0996 is 0.10 to two digits
        place += 1
    return 0.5 * 10.0**place
