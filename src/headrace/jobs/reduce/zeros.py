"""Zeros of a run's channels: from rest before and after the flow, and under line pressure. Start at `taken`.

A cell that reads a drop shows another zero under pressure than open to air. Where the valve was shut under line
pressure for a while, that zero counts; with the pressure before the meter logged, it goes back towards the one at
open air as the pressure falls.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from headrace.bench.instruments import Zero
from headrace.records.given import Campaign, RunGiven
from headrace.stats.series import series_mean

Array = NDArray[np.float64]
Span = tuple[float, float] | None

LEAST_ZERO = 8
"""Samples that a zero needs."""

APART = 0.2
"""Share of the line pressure by which two rests must differ in pressure for a zero to be drawn between them."""


def rest_in(time: Array, channel: Array, span: Span) -> tuple[float, float] | None:
    """Mean of a channel at rest within a span, and its standard uncertainty; None of too few samples."""
    if span is None:
        return None
    inside = (time >= span[0]) & (time <= span[1]) & np.isfinite(channel)
    if np.count_nonzero(inside) < LEAST_ZERO:
        return None
    found = series_mean(channel[inside])
    return found.mean, found.u


def take_zero(
    time: Array, channel: Array, *, before: tuple[float, float], after: tuple[float, float], shift: float
) -> Zero | None:
    """The zero of a channel from rest before and after; None when there is no rest before.

    u: scatter of both, and what the zero may have done in between: rectangular between the two, or within the
    allowed shift when there is none after.
    """
    first = rest_in(time, channel, before)
    if first is None:
        return None
    last = rest_in(time, channel, after)
    if last is None:
        return Zero(before=first[0], after=None, u=float(np.hypot(first[1], shift / np.sqrt(3))))
    scatter = 0.5 * float(np.hypot(first[1], last[1]))
    return Zero(
        before=first[0], after=last[0], u=float(np.hypot(scatter, abs(last[0] - first[0]) / np.sqrt(12)))
    )


def taken(
    time: Array, channel: Array, *, spans: Mapping[str, Span], shift: float, p_line: Array | None
) -> Zero | None:
    """The zero of a channel by its rests "before", "after" and "at_pressure"; None when there is neither of the first
    and the last.

    shift: allowed, where there is no rest after. p_line: pressure before the meter [Pa], None when it is not logged:
    how much of the difference between the two zeros acted is then not known, so it is in u.
    """
    before, after = spans["before"], spans["after"]
    if before is None or after is None:
        raise ValueError("rests before and after are always looked for")
    zero = take_zero(time, channel, before=before, after=after, shift=shift)
    line = rest_in(time, channel, spans.get("at_pressure"))
    if line is None:
        return zero
    if zero is None:
        last = rest_in(time, channel, after)
        u = float(np.hypot(line[1], shift / np.sqrt(3)))
        return Zero(before=line[0], after=None if last is None else last[0], u=u, at_pressure=line[0])
    moved = 0.0 if _reach(time, p_line, spans) else abs(line[0] - zero.before) / np.sqrt(12)
    u = float(np.sqrt(zero.u**2 + line[1] ** 2 + moved**2))
    return Zero(before=zero.before, after=zero.after, u=u, at_pressure=line[0])


def zero_course(
    time: Array,
    zero: Zero,
    on: tuple[float, float],
    *,
    spans: Mapping[str, Span] | None = None,
    p_line: Array | None = None,
) -> Array | float:
    """The zero through the run: straight from before to after over the time of flow, moved by line pressure."""
    course: Array | float = zero.before
    if zero.after is not None and (zero.at_pressure is None or zero.before != zero.at_pressure):
        course = np.interp(time, on, (zero.before, zero.after))
    if zero.at_pressure is None or spans is None:
        return course
    part: Array | float = 1.0
    reach = _reach(time, p_line, spans)
    if reach is not None and p_line is not None:
        low, high = reach
        with np.errstate(invalid="ignore"):
            part = np.where(np.isfinite(p_line), (p_line - low) / (high - low), 1.0)
    moved: Array | float = course + (zero.at_pressure - zero.before) * part
    return moved


def _reach(time: Array, p_line: Array | None, spans: Mapping[str, Span]) -> tuple[float, float] | None:
    """Line pressure at the rest before and at the rest under pressure, when both are known and far apart."""
    if p_line is None:
        return None
    low, high = rest_in(time, p_line, spans["before"]), rest_in(time, p_line, spans.get("at_pressure"))
    if low is None or high is None or high[0] - low[0] <= APART * abs(high[0]):
        return None
    return low[0], high[0]


def upstream_of(campaign: Campaign, run: RunGiven, values: Mapping[str, Array], tag: str) -> Array | None:
    """Pressure over ambient before the meter that a channel reads [Pa]; None when that is not logged."""
    for meter in campaign.bench.meters.values():
        up = meter.instruments.get("p_up")
        if tag in meter.instruments.values() and tag != up and up is not None and up in values:
            floor = run.ambient.value if campaign.bench.instruments[up].measures == "abs" else 0.0
            return values[up] - floor
    return None
