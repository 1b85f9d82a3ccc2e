"""From a run's stored channels to corrected signals, their zeros, and when the water flowed. All at nominal.

Refuses only a channel without values: what looks wrong is for the findings to say. Start at `prepare`.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.instruments import Zero, corrected
from headrace.errors import NoAnswer
from headrace.records.given import Campaign, RunGiven, Trace
from headrace.stats.series import series_mean

Array = NDArray[np.float64]

ON_LEVEL = 0.15
"""Flow counts as on above this share of the way from the record's floor to its top."""

GUARD = 0.3
"""Seconds left out between a zero and the first sign of flow."""

SETTLED_SHARE = 0.5
"""After the run only the last part of the rest counts as zero: lines drain first."""

SMOOTH = 0.2
"""Seconds over which a rate of change is taken."""

LEAST_ZERO = 8
"""Samples that a zero needs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signals:
    """One run's signals. values: corrected, zero not taken off; clean: zero taken off; on: first and last flow [s]."""

    time: Array
    values: Mapping[str, Array]
    clean: Mapping[str, Array]
    zeros: Mapping[str, Zero]
    on: tuple[float, float]
    inherited: frozenset[str]  # tags whose zero is only known before the run


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
    values = {
        tag: caught_up(
            time,
            corrected(campaign.certificates.get(instruments[tag].certificate or ""), channel),
            instruments[tag].lag,
        )
        for tag, channel in trace.channels.items()
    }
    _demand(lead, values.get(lead, np.empty(0)))
    on = flowing(time, values[lead])
    inside = (time >= on[0]) & (time <= on[1])
    for tag in needs:
        _demand(tag, values[tag][inside] if tag in values else np.empty(0))
    before = run.tare_before or (float(time[0]), on[0] - GUARD)
    rest = float(time[-1]) - on[1]
    after = run.tare_after or (on[1] + SETTLED_SHARE * rest, float(time[-1]))
    zeros: dict[str, Zero] = {}
    clean: dict[str, Array] = {}
    for tag, channel in values.items():
        if instruments[tag].measures == "temperature":
            continue
        limit = campaign.limits.tare_shift * instruments[tag].span
        floor = run.ambient.value if instruments[tag].measures == "abs" else 0.0
        zero = take_zero(time, channel, before=before, after=after, shift=limit)
        if zero is None:
            clean[tag] = channel - floor
            continue
        zeros[tag] = zero
        clean[tag] = channel - zero_course(time, zero, on)
    return Signals(
        time=time,
        values=values,
        clean=clean,
        zeros=zeros,
        on=on,
        inherited=frozenset(tag for tag, zero in zeros.items() if zero.after is None),
    )


def _demand(tag: str, channel: Array) -> None:
    if np.count_nonzero(np.isfinite(channel)) < LEAST_ZERO:
        raise NoAnswer(f"channel {tag} has no values while water flowed")


def caught_up(time: Array, channel: Array, lag: float) -> Array:
    """A channel freed of its first-order lag: shown + lag * d(shown)/dt. While the drop falls, unequal lags bias E.

    Source: the first-order lag turned round; lag stated in bench.toml, taken as exact here.
    """
    return channel if lag == 0 else channel + lag * rate(time, channel)


def rate(time: Array, values: Array) -> Array:
    """d(values)/dt over `SMOOTH` seconds around each sample; 0 at the ends and where it is not known."""
    out = np.zeros_like(time)
    if time.size < 3:
        return out
    step = float(np.median(np.diff(time)))
    half = max(round(SMOOTH / 2 / step), 1) if step > 0 else 1
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


def take_zero(
    time: Array, channel: Array, *, before: tuple[float, float], after: tuple[float, float], shift: float
) -> Zero | None:
    """The zero of a channel from rest before and after; None when there is no rest before.

    u: scatter of both, and what the zero may have done in between: rectangular between the two, or within the
    allowed shift when there is none after.
    """
    first = _rest(time, channel, before)
    if first is None:
        return None
    last = _rest(time, channel, after)
    if last is None:
        return Zero(before=first[0], after=None, u=float(np.hypot(first[1], shift / np.sqrt(3))))
    scatter = 0.5 * float(np.hypot(first[1], last[1]))
    return Zero(
        before=first[0], after=last[0], u=float(np.hypot(scatter, abs(last[0] - first[0]) / np.sqrt(12)))
    )


def zero_course(time: Array, zero: Zero, on: tuple[float, float]) -> Array | float:
    """The zero through the run: straight from before to after over the time of flow."""
    if zero.after is None:
        return zero.before
    course: Array = np.interp(time, on, (zero.before, zero.after))
    return course


def _rest(time: Array, channel: Array, span: tuple[float, float]) -> tuple[float, float] | None:
    inside = (time >= span[0]) & (time <= span[1]) & np.isfinite(channel)
    if np.count_nonzero(inside) < LEAST_ZERO:
        return None
    found = series_mean(channel[inside])
    return found.mean, found.u
