"""A channel on the slices of a window, with all that may be wrong with it: value, time, and a drop by two gauges.

Start at `reading`.
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from headrace.bench.instruments import Zero
from headrace.bench.pairs import pair_tag
from headrace.chain.streams import MeteredStream
from headrace.findings.evidence import TwoGauges
from headrace.jobs.reduce.context import WATER, Context
from headrace.jobs.reduce.signals import Signals, rate
from headrace.jobs.reduce.slices import means
from headrace.jobs.reduce.timeshift import time_errors
from headrace.records.given import Flow
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]
Cuts = tuple[NDArray[np.intp], ...]

BARE = Zero(before=0.0, after=0.0, u=0.0)
"""Stands for a common zero where each of two gauges is asked for its own errors: the zero's error is the pair's."""

ANEW = (".steps", ".frames", ".repeatability")
"""Ends of the names of errors that each reading of a gauge has for itself."""


def reading(context: Context, signals: Signals, tag: str, cuts: Cuts) -> Doubted:
    """Values of a channel, slice by slice, zero taken off, with their terms; its sources are declared."""
    if context.campaign.bench.instruments[tag].parts is not None:
        return of_two(context, signals, tag, cuts)
    values, zero = means(signals.clean[tag], cuts), signals.zeros.get(tag)
    own = context.instrument(tag, values, zero)
    return own.plus(in_time(context, signals, tag, cuts), _in_count(context, signals, tag, cuts))


def _in_count(context: Context, signals: Signals, tag: str, cuts: Cuts) -> Doubted:
    """What counting whole pulses leaves open: at either end of a slice a part of a pulse is lost or gained.

    Source: a count is off by a rectangular part of a pulse (1/12) at each end; frequencies are taken over two rows, so
    each end is the mean of two such parts: variance 2 * 1/12 / 2.
    """
    trace, instrument = context.run.trace, context.campaign.bench.instruments[tag]
    base = np.zeros(len(cuts))
    if trace is None or tag not in trace.pulses:
        return Doubted(base=base)
    per_hertz = 1.0
    if instrument.signal is not None:
        per_hertz = instrument.span / (instrument.signal[1] - instrument.signal[0])
    lasts = np.array([signals.time[index[-1]] - signals.time[index[0]] for index in cuts])
    source = Source(
        name=f"{context.run.id}.{tag}.count",
        u=1 / np.sqrt(12),
        scope="run",
        origin="whole pulses are counted: a part of one is lost or gained at either end of a slice",
        group=WATER,
    )
    context.declare(source)
    return Doubted(base=base, terms=((source.name, per_hertz / lasts),))


def in_time(context: Context, signals: Signals, tag: str, cuts: Cuts) -> Doubted:
    """What errors of a channel's time do to its values on the slices: nothing where they stand still."""
    nothing = Doubted(base=np.zeros(len(cuts)))
    if context.campaign.bench.instruments[tag].measures == "temperature":
        return nothing
    sources = time_errors(context.campaign, context.run, tag)
    if not sources:
        return nothing
    context.declare(*sources)
    speed = means(rate(signals.time, signals.values[tag]), cuts)
    return Doubted(base=nothing.base, terms=tuple((source.name, speed) for source in sources))


def of_two(context: Context, signals: Signals, tag: str, cuts: Cuts) -> Doubted:
    """The difference of two gauges.

    After a common zero only what has changed since counts: each gauge's errors at its reading less those at its
    reading then. Without one the whole class of both does. What they share goes out by its name.
    """
    zero = signals.zeros.get(tag)
    out = Doubted(base=means(signals.clean[tag], cuts))
    parts = context.campaign.bench.instruments[tag].parts
    if parts is None:
        raise ValueError(f"{tag} is no difference of two gauges")  # the caller looked
    for part, sign in zip(parts, (1.0, -1.0), strict=True):
        shown = means(signals.values[part], cuts)
        own = context.instrument(part, shown, None if zero is None else BARE)
        if zero is not None:
            then = np.full_like(shown, signals.rest[part])
            own = _since(own, context.instrument(part, then, BARE))
        own = own.plus(in_time(context, signals, part, cuts)).times(sign)
        out = out.plus(Doubted(base=np.zeros_like(shown), terms=own.terms))
    kinds = {context.campaign.bench.instruments[part].measures for part in parts}
    if zero is None:
        out = out.plus(_heights(context, parts, len(cuts)))
    if zero is None and len(kinds) > 1:
        terms = context.term("barometer", context.run.ambient, scope="shared", origin="barometer of the run")
        sign = -1.0 if context.campaign.bench.instruments[parts[0]].measures == "abs" else 1.0
        out = out.plus(_constant(((name, sign * shape) for name, shape in terms), len(cuts)))
    if zero is not None and zero.u > 0:
        name = f"{context.run.id}.{tag}.tare"
        origin = "common zero of two gauges" + ("" if zero.after is not None else ", before the run only")
        context.declare(Source(name=name, u=zero.u, scope="run", origin=origin, group=WATER))
        out = out.plus(_constant(((name, 1.0),), len(cuts)))
    return Doubted(base=out.base, terms=tuple((name, shape) for name, shape in out.terms if np.any(shape)))


def _since(now: Doubted, then: Doubted) -> Doubted:
    """What has changed of a gauge's errors since its zero: what comes anew at each reading does not go out with it."""
    terms = dict(now.terms)
    for name, shape in then.terms:
        known = terms.get(name, np.zeros_like(shape))
        terms[name] = np.hypot(known, shape) if name.endswith(ANEW) else known - shape
    return Doubted(base=now.base - then.base, terms=tuple(terms.items()))


def _heights(context: Context, parts: tuple[str, ...], size: int) -> Doubted:
    """What is not known of how far one gauge hangs below the other, its column having been taken off."""
    held = [context.campaign.bench.instruments[part] for part in parts]
    if any(one.height is None for one in held):
        return _constant((), size)
    weight = context.weight_of_water
    terms = []
    for one, sign in zip(held, (1.0, -1.0), strict=True):
        if one.height is not None:
            own = context.term(
                f"{one.tag}.height", one.height, scope="instrument", origin="height of the sensing element"
            )
            terms += [(name, sign * weight * shape) for name, shape in own]
    return _constant(terms, size)


def _constant(terms: Iterable[tuple[str, float]], size: int) -> Doubted:
    return Doubted(base=np.zeros(size), terms=tuple((name, np.full(size, shape)) for name, shape in terms))


def two_gauges(
    context: Context, flow: Flow, meters: tuple[str, ...], frozen: MeteredStream, signals: Signals
) -> tuple[TwoGauges, ...]:
    """Every drop of a stream that two gauges read, with what that costs in ln E (mean over the slices)."""
    out = []
    instruments = context.campaign.bench.instruments
    for tag, meter in zip(meters, frozen.meters, strict=True):
        parts = instruments[tag].parts
        if parts is not None:
            tared = tag in signals.zeros
            out.append(_cost(context, parts, "meter", meter.signal, frozen, tared=tared))
    if flow.p_back is not None:
        parts = (flow.p_tap, flow.p_back)
        tared = all(tag in signals.zeros for tag in parts)
        out.append(_cost(context, parts, "tap", frozen.drop.p_tap, frozen, tared=tared))
    return tuple(out)


def _cost(
    context: Context,
    parts: tuple[str, str],
    role: str,
    doubted: Doubted,
    frozen: MeteredStream,
    *,
    tared: bool,
) -> TwoGauges:
    """The doubt of ln E by the sources of these two instruments, moved one at a time through the frozen stream."""
    run = context.run.id
    own = (f"{run}.{pair_tag(*parts)}.", *(f"{start}{tag}." for tag in parts for start in ("", f"{run}.")))
    nought = dict.fromkeys(frozen.names, 0.0)
    at = frozen.ln_area(Errors(nought))[:, 0]
    square = 0.0
    for name in doubted.names:
        if name.startswith(own):
            u = context.sources[name].u
            moved = frozen.ln_area(Errors(nought | {name: u}))[:, 0] - at
            square += float(np.mean(moved)) ** 2
    return TwoGauges(
        tags=parts, role=role, dp=float(np.mean(doubted.base)), u_ln_area=float(np.sqrt(square)), tared=tared
    )
