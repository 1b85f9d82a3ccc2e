"""Values that stand alone in a sampled signal: line noise that still parses as a number. Start at `standing_alone`.

A value stands alone when it lies far outside what its neighbours in time show on both sides, while they agree with
each other: a lost leading digit, a wild sample, a zero from a drop-out. Steps, ramps, ringing, hum, steps of a
converter and noise, also noise that comes in bursts, have neighbours of their own kind and stay. Only a value by
itself is marked, up to `REPEATED` repeats of one wild value, or up to `GROUP` values that are their neighbours without
the leading digit; a fault that lasts is for others to find.
"""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Places = NDArray[np.intp]

BLOCK = 128
"""Samples whose largest step is held against their mean one: a cheap first look."""

LOOK = 6.0
"""A block is looked at closely when its largest step is above this many of its mean one."""

NEIGHBOURS = 6
"""Samples on each side that say what a value should be."""

AROUND = 40
"""Samples on each side from whose steps the local scatter is taken."""

SCATTERS = 15.0
"""A value that stands alone is off its neighbours by more than this many of the local scatter..."""

STEPS = 2.0
"""... by more than this many of the largest steps near it, `OTHERS` left out that may belong to other wild values..."""

OTHERS = 4

RANGES = 4.0
"""... by more than this many of the range of its neighbours, the farthest at either end left out..."""

QUANTA = 6.0
"""... and by more than this many of the smallest steps seen near it."""

FIRST_RANGES = 6.0
"""The first or last value of a stretch has neighbours on one side only: so many ranges of all of them."""

REPEATED = 3
"""Repeats of one wild value, at most."""

GROUP = 5
"""Values in a row that lost their leading digit, at most: in the stored unit, or a power of ten of it."""

POINTS = 4
"""Places by which the decimal point may be lost with the digit, at most: 690 for 1.690 are three."""

CLOSE = 0.016
"""Steps among the neighbours of such a group, as a share of the digit's unit: above it noise is as good."""

LEAST = 1e-3
"""Share of an instrument's span below which no value is called wild."""

MOST = 0.02
"""Share of samples above which wild values are no line noise: then none is to be left out, and that is told..."""

FEW = 3
"""... but so many may always be: of a short record they are a large share."""

PASSES = 6
"""Wild values hide others beside them: what was marked is taken out, and the rest looked at again, so often at most."""


def standing_alone(values: ArrayLike, *, starts: ArrayLike = (), least: float = 0.0) -> Mask:
    """Which values of a signal stand alone.

    Args:
        values: (n,) samples in the order of time, any unit; NaN are passed over.
        starts: places at which a stretch begins that has nothing to do with what is before (a restart, a pause).
        least: smallest deviation that is marked, in the unit of the values; 0: where all neighbours are one and the
            same value nothing is marked, since a state that switches looks like that.
    Returns:
        (n,) true where a value stands alone.
    Source: own rule; its limits are above. Robust scatter from first differences: common practice.

    >>> import numpy as np
    >>> x = np.sin(np.arange(100) / 20); x[50] = 690.0
    >>> np.flatnonzero(standing_alone(x))
    array([50])
    """
    x = np.asarray(values, dtype=np.float64)
    out = np.zeros(x.size, dtype=bool)
    edges = np.unique(np.concatenate(([0], np.asarray(starts, dtype=np.intp), [x.size])))
    for begin, end in pairwise(edges.tolist()):
        stretch, known = x[begin:end], None
        if not np.isfinite(stretch).all():
            known = np.flatnonzero(np.isfinite(stretch))
            stretch = stretch[known]
        for _ in range(PASSES):
            places = _alone(stretch, least)
            if places.size == 0:
                break
            out[begin + (places if known is None else known[places])] = True
            known = np.delete(np.arange(stretch.size) if known is None else known, places)
            stretch = np.delete(stretch, places)
    return out


def _alone(x: Array, least: float) -> Places:
    """Places of what stands alone in a stretch without holes."""
    if x.size < 2 * NEIGHBOURS:
        return np.empty(0, dtype=np.intp)
    steps = np.diff(x)
    large = _large(steps, least)
    found = [
        np.arange(first, last + 1, dtype=np.intp)
        for first, last in _candidates(x, steps, large)
        if _is_alone(x, steps, first, last, least)
    ]
    found += [
        np.arange(first, last + 1, dtype=np.intp)
        for first, last in _between(steps, large)
        if _lost_a_digit(x, first, last, least)
    ]
    if _alone_at_end(x, steps, least):
        found.append(np.array([0]))
    if _alone_at_end(x[::-1], steps[::-1], least):
        found.append(np.array([x.size - 1]))
    return np.unique(np.concatenate(found)) if found else np.empty(0, dtype=np.intp)


def _large(steps: Array, least: float) -> Places:
    """Places of steps that are large among those of their block."""
    size = np.abs(steps)
    blocks = -(-size.size // BLOCK)
    padded = np.concatenate((size, np.zeros(blocks * BLOCK - size.size))).reshape(blocks, BLOCK)
    mean = padded.sum(axis=1) / np.minimum(BLOCK, size.size - BLOCK * np.arange(blocks))
    busy = np.flatnonzero(padded.max(axis=1) > LOOK * mean)
    row, column = np.nonzero(padded[busy] > LOOK * mean[busy, None])
    large = busy[row] * BLOCK + column
    quantum = float(np.min(size, where=size > 0, initial=np.inf))
    kept: Places = large[size[large] > min(QUANTA * quantum, least or np.inf)]  # spares counts and states
    return kept


def _between(steps: Array, large: Places) -> Iterator[tuple[int, int]]:
    """First and last places of two and more values between two large steps of opposite sign."""
    for length in range(2, GROUP + 1):
        into = np.intersect1d(large, large - length, assume_unique=True)
        into = into[steps[into] * steps[into + length] < 0]
        yield from zip((into + 1).tolist(), (into + length).tolist(), strict=True)


def _lost_a_digit(x: Array, first: int, last: int, least: float) -> bool:
    """Whether these values are what their neighbours show without the leading digit, and perhaps the point."""
    left, right = x[max(first - NEIGHBOURS, 0) : first], x[last + 1 : last + 1 + NEIGHBOURS]
    if min(left.size, right.size) < NEIGHBOURS:
        return False
    level = float(np.median(np.concatenate((left, right))))
    if level == 0:
        return False
    decade = 10.0 ** np.floor(np.log10(abs(level)))
    rest = float(np.copysign(abs(level) % decade, level))
    apart = max(
        np.abs(np.diff(left)).max(), np.abs(np.diff(right)).max(), abs(np.median(left) - np.median(right)) / 2
    )
    slack = 3.0 * float(apart) + 0.002 * decade
    if apart > CLOSE * decade or abs(rest) <= slack:  # all zeros are a drop-out, or a state that switches
        return False
    group = x[first : last + 1]
    points = 10.0 ** np.arange(POINTS + 1)
    fits = np.all(np.abs(group / points[:, None] - rest) <= slack, axis=1)
    return bool(fits.any() and np.all(np.abs(group - level) > least))


def _candidates(x: Array, steps: Array, large: Places) -> Iterator[tuple[int, int]]:
    """First and last places between two large steps of opposite sign, far outside their neighbours."""
    if large.size == 0:
        return
    wide = np.pad(x, NEIGHBOURS, mode="edge")
    reach = np.arange(NEIGHBOURS)
    for length in range(1, REPEATED + 1):
        # a large step may lead into what stands alone or out of it: the other one may lie in a quiet block
        into = np.unique(np.concatenate((large, large - length)))
        into = into[(into >= 0) & (into + length < steps.size)]
        for between in range(1, length):
            into = into[steps[into + between] == 0]
        into = into[steps[into] * steps[into + length] < 0]
        first, last = into + 1, into + length
        near = np.concatenate(
            (wide[first[:, None] + reach], wide[last[:, None] + 1 + NEIGHBOURS + reach]), axis=1
        )
        near = np.sort(near, axis=1)[:, 1:-1]
        off = np.maximum(x[first] - near[:, -1], near[:, 0] - x[first])
        far = off > RANGES * (near[:, -1] - near[:, 0])
        yield from zip(first[far].tolist(), last[far].tolist(), strict=True)


def _is_alone(x: Array, steps: Array, first: int, last: int, least: float) -> bool:
    """Whether a candidate is far off against the scatter around it."""
    left, right = x[max(first - NEIGHBOURS, 0) : first], x[last + 1 : last + 1 + NEIGHBOURS]
    near = np.sort(np.concatenate((left, right)))[1:-1]
    begin = max(min(first - 1 - AROUND, steps.size - 2 * AROUND), 0)  # near an end as many as elsewhere
    before, after = steps[begin : first - 1], steps[last + 1 : begin + 2 * AROUND + last - first + 2]
    return _far(_outside(x[first], near), np.abs(np.concatenate((before, after))), least)


def _alone_at_end(x: Array, steps: Array, least: float) -> bool:
    """Whether the first of these values stands alone."""
    near = np.sort(x[1 : 2 * NEIGHBOURS - 1])
    off = _outside(x[0], near)
    return bool(off > FIRST_RANGES * (near[-1] - near[0])) and _far(
        off, np.abs(steps[1 : 1 + 2 * AROUND]), least
    )


def _outside(value: float, near: Array) -> float:
    """How far a value lies outside its neighbours; 0 inside."""
    return float(max(value - near[-1], near[0] - value, 0.0))


def _far(off: float, sizes: Array, least: float) -> bool:
    """Whether that is far against the steps nearby: their middle, their tail, and all but the largest few."""
    if sizes.size < NEIGHBOURS:
        return False
    moving = sizes[sizes > 0]
    if moving.size < 3:  # too few other steps to tell a wild value from a state that switches
        return 0 < least < off and off > QUANTA * float(np.min(moving, initial=0.0))
    middle, tail = np.percentile(sizes, [50, 90])
    scatter = max(middle / 0.6745, tail / 1.6449) / np.sqrt(2)
    largest = float(np.sort(sizes)[-1 - min(OTHERS, sizes.size - 1)])
    return bool(off > max(SCATTERS * scatter, STEPS * largest, QUANTA * float(np.min(moving)), least))
