"""What of a stored channel is no measurement and is kept out of everything: wild values, and tops cut flat.

Judged on the channel as it was stored, at nominal, before anything is corrected. The raw file is never changed.
Start at `aside_of`.
"""

import numpy as np
from numpy.typing import NDArray

from headrace.findings.evidence import Aside
from headrace.records.given import Instrument, Trace
from headrace.stats.alone import FEW, LEAST, MOST, standing_alone

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

PAUSE = 20.0
"""Usual steps of time after which the next value is judged by what follows only."""

FLAT = 2e-4
"""Share of span within which values at the end of the range count as one and the same. Common practice."""

AT_LEAST = 3
"""Values in a row at the end of the range that make a flat top."""

HALF = 0.5
"""A channel that is cut for more than this share of the time it is up is not mended by leaving that out."""


def aside_of(instrument: Instrument, trace: Trace, tag: str) -> Aside:
    """What to leave out of one channel."""
    values = trace.channels[tag]
    alone = standing_alone(values, starts=_starts(trace), least=LEAST * instrument.span)
    count, known = int(np.count_nonzero(alone)), int(np.count_nonzero(np.isfinite(values)))
    too_many = count if count > max(FEW, MOST * known) else 0
    clipped = _clipped(instrument, values)
    return Aside(
        alone=np.zeros_like(alone) if too_many else alone, clipped=clipped, too_many=too_many, share=MOST
    )


def _starts(trace: Trace) -> NDArray[np.intp]:
    """Rows at which the logger began again, or went on after a pause."""
    steps = np.diff(trace.time)
    usual = float(np.median(steps[steps > 0])) if np.any(steps > 0) else 0.0
    pauses = np.flatnonzero((steps > PAUSE * usual) | (steps < 0)) + 1
    return np.unique(np.concatenate((np.asarray(trace.segments, dtype=np.intp), pauses)))


def _clipped(instrument: Instrument, values: Array) -> Mask:
    """Flat tops at the upper end of the range; none where they are most of what there is."""
    slack = FLAT * instrument.span
    with np.errstate(invalid="ignore"):
        level = float(np.nanmax(values, initial=-np.inf))
        at_end = (values >= instrument.high - slack) & (values >= level - slack)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], at_end, [False])).astype(np.int8)))
    out = np.zeros(values.size, dtype=bool)
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        out[begin:end] = end - begin >= AT_LEAST
    if not out.any():
        return out
    floor = float(np.nanmin(values))
    with np.errstate(invalid="ignore"):
        up = values > floor + 0.5 * (level - floor)
    return out if up.any() and np.mean(out[up]) <= HALF else np.zeros_like(out)


def bridged(time: Array, values: Array, out: Mask) -> Array:
    """Values with the straight line between neighbours in place of what is left out: for rates that reach over it."""
    known = np.isfinite(values) & ~out
    if not out.any() or not known.any():
        return values
    return np.where(out, np.interp(time, time[known], values[known]), values)
