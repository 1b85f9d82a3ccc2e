"""From a run's stored channels to corrected signals, their zeros, and when the water flowed. All at nominal.

Refuses only a channel without values: what looks wrong is for the findings to say. Start at `prepare`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from headrace.bench.certificates import both_ways
from headrace.bench.instruments import Zero, corrected, travel
from headrace.bench.timing import in_turn, late_by
from headrace.errors import NoAnswer
from headrace.findings.evidence import Aside
from headrace.jobs.reduce.aside import aside_of, bridged
from headrace.jobs.reduce.zeros import LEAST_ZERO, rest_in, taken, upstream_of, zero_course
from headrace.physics.fluids import fluid
from headrace.physics.hydraulics.hydrostatics import G_STANDARD
from headrace.records.given import Campaign, Instrument, RunGiven, Trace

Array = NDArray[np.float64]

ON_LEVEL = 0.15
"""Flow counts as on above this share of the way from the record's floor to its top."""

GUARD = 0.3
"""Seconds left out between a zero and the first sign of flow."""

SETTLED_SHARE = 0.5
"""After the run only the last part of the rest counts as zero: lines drain first."""

SURE = 3.0
"""Standard uncertainties of a clock that a zero keeps clear of."""

SMOOTH = 0.2
"""Seconds over which a rate of change is taken, at least; a longer lag takes its rate over twice itself, so that the
noise it adds stays below that of the channel."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signals:
    """One run's signals. values: corrected, zero not taken off; clean: zero taken off; on: first and last flow [s].

    rest: what each part of a drop by two gauges showed when the common zero was taken. aside: what was left out of
    each channel, NaN in `values` and `clean`. rests: when each zero was taken [s].
    """

    time: Array
    values: Mapping[str, Array]
    clean: Mapping[str, Array]
    zeros: Mapping[str, Zero]
    on: tuple[float, float]
    inherited: frozenset[str]  # tags whose zero is only known before the run
    rest: Mapping[str, float]
    aside: Mapping[str, Aside] = field(default_factory=dict)
    rests: Mapping[str, tuple[float, float]] = field(default_factory=dict)


def prepare(
    campaign: Campaign, run: RunGiven, trace: Trace, *, lead: str, needs: tuple[str, ...] = ()
) -> Signals:
    """Correct every channel, find when water flowed by the channel `lead`, take the zeros and take them off.

    Args:
        campaign: for instruments, certificates, limits.
        run: with typed zeros, if any.
        trace: its channels.
        lead: tag of the channel that tells flow from rest.
        needs: tags without which there is no result.
    Raises:
        NoAnswer: a needed channel is not in the record, or has no values while water flowed.
    """
    instruments = campaign.bench.instruments
    time = trace.time
    aside = {tag: aside_of(instruments[tag], trace, tag) for tag in trace.channels}
    values = {
        tag: caught_up(
            time,
            _true(campaign, run, tag, bridged(time, channel, aside[tag].alone)),
            late_by(in_turn(instruments[tag], trace.skews)),
        )
        for tag, channel in trace.channels.items()
    }
    values.update(_differences(campaign, run, values))
    _demand(lead, values.get(lead, np.empty(0)))
    on = flowing(time, values[lead])
    for tag, channel in values.items():
        out = np.any([aside[part].out for part in instruments[tag].parts or (tag,)], axis=0)
        values[tag] = np.where(out, np.nan, channel) if out.any() else channel
    inside = (time >= on[0]) & (time <= on[1])
    for tag in needs:
        _demand(tag, values[tag][inside] if tag in values else np.empty(0))
    zeros: dict[str, Zero] = {}
    clean: dict[str, Array] = {}
    rest: dict[str, float] = {}
    rests: dict[str, tuple[float, float]] = {}
    for tag, channel in values.items():
        instrument = instruments[tag]
        if instrument.measures == "temperature":
            continue
        limit = campaign.limits.tare_shift * instrument.span
        floor = run.ambient.value if instrument.measures == "abs" else 0.0
        apart = max(_off(instruments[part], trace, part) for part in instrument.parts or (tag,))
        spans = _spans(run, time, on, apart=apart)
        p_line = upstream_of(campaign, run, values, tag)
        at = spans["at_pressure"] if instrument.measures == "drop" else None
        zero = taken(time, channel, spans=spans | {"at_pressure": at}, shift=limit, p_line=p_line)
        if zero is None:
            clean[tag] = channel - (
                floor if instrument.parts is None else _column(campaign, instrument.parts)
            )
            continue
        zeros[tag] = zero
        taken_in = spans["before"] if zero.at_pressure is None else at
        if taken_in is not None:
            rests[tag] = taken_in
        clean[tag] = channel - zero_course(time, zero, on, spans=spans, p_line=p_line)
        for part in instrument.parts or ():
            found = rest_in(time, values[part], spans["before"] if at is None else at)
            rest[part] = 0.0 if found is None else found[0]
    return Signals(
        time=time,
        values=values,
        clean=clean,
        zeros=zeros,
        on=on,
        inherited=frozenset(tag for tag, zero in zeros.items() if zero.after is None),
        rest=rest,
        aside=aside,
        rests=rests,
    )


def _true(campaign: Campaign, run: RunGiven, tag: str, channel: Array) -> Array:
    """A channel with what its certificate says of that day, upwards and downwards."""
    instrument, papers = campaign.bench.instruments[tag], campaign.certificates
    paper = papers.get(instrument.certificate or "")
    if paper is None:
        return channel
    ways = -1.0 if not both_ways(paper, papers) else travel(channel, span=instrument.span)
    return corrected(paper, channel, certificates=papers, on=run.date, travel=ways)


def _differences(campaign: Campaign, run: RunGiven, values: Mapping[str, Array]) -> dict[str, Array]:
    """Drops by two gauges, each pressure taken over ambient first."""
    held = campaign.bench.instruments
    over = {
        tag: channel - (run.ambient.value if held[tag].measures == "abs" else 0.0)
        for tag, channel in values.items()
    }
    pairs = {tag: one.parts for tag, one in held.items() if one.parts is not None}
    return {tag: over[high] - over[low] for tag, (high, low) in pairs.items() if high in over and low in over}


def _column(campaign: Campaign, parts: tuple[str, str]) -> float:
    """What two gauges at different heights show where there is no drop [Pa]; a common zero takes it off by itself."""
    high, low = (campaign.bench.instruments[part].height for part in parts)
    if high is None or low is None:
        return 0.0
    return float(fluid("water").rho(293.15, 2e5)) * G_STANDARD * (low.value - high.value)


def _spans(
    run: RunGiven, time: Array, on: tuple[float, float], *, apart: float
) -> dict[str, tuple[float, float] | None]:
    """When a channel rests: as typed, else before and after the flow, clear of a typed rest under pressure.

    apart: by how much its time may be off that of the channel which tells the flow [s].
    """
    at = run.tare_at_pressure
    first, rest = float(time[0]), float(time[-1]) - on[1]
    before = (first, on[0] - GUARD - apart) if at is None else (first, first + 0.5 * (at[0] - first))
    return {
        "before": run.tare_before or before,
        "after": run.tare_after or (on[1] + max(SETTLED_SHARE * rest, apart), float(time[-1])),
        "at_pressure": at,
    }


def _off(instrument: Instrument, trace: Trace, tag: str) -> float:
    """How far a channel may show a change before or after the moment of its row [s].

    Its delay, twice, for the correction looks as far ahead; what its clock may be off; the time between two frames.
    """
    clock = sum(SURE * shift.u for shift in trace.shifts.get(tag, ()))
    film = trace.filmed.get(tag)
    return (
        2 * abs(late_by(in_turn(instrument, trace.skews))) + clock + (0.0 if film is None else film.between)
    )


def _demand(tag: str, channel: Array) -> None:
    if np.count_nonzero(np.isfinite(channel)) < LEAST_ZERO:
        raise NoAnswer(f"channel {tag} has no values while water flowed")


def caught_up(time: Array, channel: Array, late: float) -> Array:
    """A channel freed of lag, filter and skew: shown + late * d(shown)/dt. Unequal ones bias E while the drop falls.

    Source: the first-order lag turned round; to first order in time a filter's delay and a shift do the same.
    """
    return channel if late == 0 else channel + late * rate(time, channel, over=max(SMOOTH, 2 * abs(late)))


def rate(time: Array, values: Array, *, over: float = SMOOTH) -> Array:
    """d(values)/dt over so many seconds around each sample; 0 at the ends and where it is not known."""
    out = np.zeros_like(time)
    if time.size < 3:
        return out
    step = float(np.median(np.diff(time)))
    half = max(round(over / 2 / step), 1) if step > 0 else 1
    if time.size <= 2 * half:
        return out
    with np.errstate(invalid="ignore", divide="ignore"):
        out[half:-half] = (values[2 * half :] - values[: -2 * half]) / (time[2 * half :] - time[: -2 * half])
    return np.where(np.isfinite(out), out, 0.0)


def flowing(time: Array, channel: Array) -> tuple[float, float]:
    """First and last time of the longest stretch above `ON_LEVEL`, gaps under 0.2 s bridged."""
    known = np.isfinite(channel)
    floor, top = np.percentile(channel[known], [2, 98])
    if abs(floor) > abs(top):  # crossed lines: flow shows as a negative drop
        channel, floor, top = -channel, -top, -floor
    high = known & (channel > floor + ON_LEVEL * (top - floor))
    index = np.flatnonzero(high)
    if index.size == 0:
        return float(time[0]), float(time[-1])
    # a leap of the clock between two neighbouring samples is no rest
    breaks = np.flatnonzero((np.diff(time[index]) > 0.2) & (np.diff(index) > 1))
    starts = np.concatenate(([0], breaks + 1))
    ends = np.concatenate((breaks, [index.size - 1]))
    longest = int(np.argmax(time[index[ends]] - time[index[starts]]))
    return float(time[index[starts[longest]]]), float(time[index[ends[longest]]])
