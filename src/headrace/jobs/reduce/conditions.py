"""What a run's instruments and meters worked under, at nominal, as their error terms ask for it. Start at `see`.

Which way a reading was reached, the line pressure on a differential cell, how noisy a sample was, how warm the day.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from headrace.bench.instruments import Conditions, travel
from headrace.bench.meters.base import Working
from headrace.jobs.reduce.signals import Signals
from headrace.jobs.reduce.slices import means
from headrace.jobs.reduce.zeros import upstream_of
from headrace.records.given import Bench, Campaign, Instrument, MeterGiven, RunGiven
from headrace.records.readings import Window

Array = NDArray[np.float64]
Cuts = tuple[NDArray[np.intp], ...]

PEAK = 99.0
"""Percentile of a record that counts as its peak: a spike is none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """Of one channel in one run. peak: greatest before the first slice, SI; p_line: slice by slice [Pa], None when not
    known; noise, sweep: of one sample and of one slice, SI; rest: samples of which its zero was taken, as stored.
    """

    peak: float = 0.0
    p_line: Array | None = None
    noise: float = 0.0
    sweep: float = 0.0
    rest: Array | None = None


def see(
    campaign: Campaign, run: RunGiven, signals: Signals, cuts: Cuts, *, p_tap: str | None = None
) -> dict[str, Seen]:
    """What is seen of every channel over these slices. p_tap: the tap's channel, the next best for a line pressure."""
    if not cuts:
        return {}
    first = int(cuts[0][-1])
    out = {}
    films = {} if run.trace is None else run.trace.filmed
    for tag, values in signals.clean.items():
        instrument = campaign.bench.instruments[tag]
        flowed = np.abs(values[: first + 1][signals.time[: first + 1] >= signals.on[0]])
        known = flowed[np.isfinite(flowed)]
        stepped = instrument.effects.logger is not None or tag in films
        out[tag] = Seen(
            peak=float(np.percentile(known, PEAK)) if known.size else 0.0,
            p_line=_line_pressure(campaign, run, signals, cuts, instrument, p_tap),
            noise=_noise(run, tag, cuts) if stepped else 0.0,
            sweep=_sweep(values, cuts) if stepped else 0.0,
            rest=_rest(run, signals, tag) if stepped else None,
        )
    return out


def conditions(
    bench: Bench,
    run: RunGiven,
    instrument: Instrument,
    values: Array,
    seen: Seen | None,
    moments: tuple[str, ...],
) -> Conditions:
    """The conditions of one instrument's values in a run. moments: names of values that were read one by one."""
    one = Seen() if seen is None else seen
    p_line = one.p_line
    if p_line is not None and p_line.shape != values.shape:
        p_line = np.full_like(values, float(np.mean(p_line)))
    return Conditions(
        body_temp=run.air_temperature,
        p_line=p_line,
        travel=travel(values, span=instrument.span, peak=one.peak),
        noise=one.noise,
        sweep=one.sweep,
        rest=one.rest,
        moments=moments,
        film=None if run.trace is None else run.trace.filmed.get(instrument.tag),
        loggers=bench.loggers,
    )


def at_ends(
    bench: Bench, run: RunGiven, signals: Signals, cuts: Cuts, seen: Mapping[str, Seen], window: Window
) -> dict[str, Conditions]:
    """Conditions of every channel in the first and in the last slice of the window, for what it may feign."""
    middles = [float(signals.time[index[index.size // 2]]) for index in cuts]
    inside = [place for place, middle in enumerate(middles) if window.start <= middle <= window.end]
    if not inside:
        return {}
    ends = np.array([inside[0], inside[-1]])
    out = {}
    for tag, values in signals.clean.items():
        whole = conditions(bench, run, bench.instruments[tag], means(values, cuts), seen.get(tag), ())
        out[tag] = replace(
            whole,
            travel=None if whole.travel is None else whole.travel[ends],
            p_line=None if whole.p_line is None else whole.p_line[ends],
        )
    return out


def working(
    run: RunGiven,
    metered: Mapping[str, tuple[MeterGiven, str, Array]],
    signals: Signals,
    *,
    rho: float,
    mu: float,
    cuts: Cuts,
) -> Mapping[str, Working]:
    """How each line's meter works in this run, by line. metered: its meter, its signal's tag, its flow [kg/s]."""
    out = {}
    for line, (meter, tag, m_dot) in metered.items():
        bore = meter.values.get("d_pipe")
        re = None if bore is None else _span(means(m_dot, cuts) * 4 / (np.pi * bore.value * mu))
        out[line] = Working(
            run=run.id,
            signal=_span(means(signals.clean[tag], cuts)),
            re=re,
            zeroed=tag in signals.zeros,
            nu=mu / rho,
        )
    return out


def _span(values: Array) -> tuple[float, float] | None:
    return (float(np.min(values)), float(np.max(values))) if values.size else None


def _line_pressure(
    campaign: Campaign, run: RunGiven, signals: Signals, cuts: Cuts, instrument: Instrument, p_tap: str | None
) -> Array | None:
    """Line pressure over ambient on a differential cell that feels it, slice by slice."""
    felt = instrument.effects.zero_per_pascal or instrument.effects.span_per_pascal
    if instrument.measures != "drop" or felt is None:
        return None
    up = upstream_of(campaign, run, signals.values, instrument.tag)
    if up is None and p_tap is not None and p_tap != instrument.tag:
        up = signals.clean.get(p_tap)
    return None if up is None else means(up, cuts)


def _noise(run: RunGiven, tag: str, cuts: Cuts) -> float:
    """Standard deviation of one sample, from neighbour to neighbour, as the logger stored it."""
    assert run.trace is not None
    stored = run.trace.channels.get(tag)
    if stored is None:
        return 0.0
    steps = np.concatenate([np.diff(stored[index]) for index in cuts])
    steps = steps[np.isfinite(steps)]
    return float(np.std(steps) / np.sqrt(2)) if steps.size else 0.0


def _rest(run: RunGiven, signals: Signals, tag: str) -> Array | None:
    """Samples of which the channel's zero was taken, as the logger stored them."""
    assert run.trace is not None
    stored, span = run.trace.channels.get(tag), signals.rests.get(tag)
    if stored is None or span is None:
        return None
    return stored[(signals.time >= span[0]) & (signals.time <= span[1])]


def _sweep(values: Array, cuts: Cuts) -> float:
    """How far the channel ran in a slice, in the mean: from its first tenth to its last."""
    runs = []
    for index in cuts:
        tenth = max(index.size // 10, 1)
        runs.append(abs(float(np.mean(values[index[-tenth:]]) - np.mean(values[index[:tenth]]))))
    return float(np.mean(runs))
