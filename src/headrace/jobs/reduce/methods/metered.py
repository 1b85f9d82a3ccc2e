"""A metered and logged run: effective area at every sample, statistics on that, then slices. Start at `prepare`."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from headrace.bench.elements import ELEMENTS
from headrace.bench.timing import delay
from headrace.chain.streams import MeterAtWork, MeteredStream, Shared
from headrace.findings.evidence import GasSeen, StreamEvidence
from headrace.jobs.reduce.at_slices import in_time, reading, two_gauges
from headrace.jobs.reduce.closure import closing, closure_of
from headrace.jobs.reduce.conditions import at_ends, see, working
from headrace.jobs.reduce.context import (
    WATER,
    Context,
    Prepared,
    SliceNominal,
    Water,
    stream_circuit,
    stream_of,
)
from headrace.jobs.reduce.samples import Metered, Sampled, at_zero, sampled
from headrace.jobs.reduce.signals import Signals, rate
from headrace.jobs.reduce.signals import prepare as prepare_signals
from headrace.jobs.reduce.slices import (
    cut,
    cut_outside,
    hum_in,
    in_order,
    means,
    noise_of,
    over_whole_periods,
    thinned,
)
from headrace.jobs.reduce.unseen import gas_seen, unseen
from headrace.jobs.reduce.window import chosen, doubt
from headrace.physics.hydraulics.injector import element_re_ideal
from headrace.records.given import Circuit, Flow
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]


def prepare(context: Context, flow: Flow) -> Prepared:
    """Freeze one metered stream of a run."""
    run = context.run
    if run.trace is None:
        raise ValueError(f"run {run.id} is metered but has no trace")  # files demands one
    circuit, name = stream_circuit(context.campaign, flow), stream_of(flow)
    metered = Metered.of(context, flow)
    signals = prepare_signals(
        context.campaign, run, run.trace, lead=metered.tags[0], needs=_needs(metered, flow)
    )
    water = _water(context, metered, signals, flow)
    at = sampled(context, flow, metered, signals, water)
    with np.errstate(invalid="ignore", divide="ignore"):
        ln_area = np.log(at.area)
    lag = max(delay(context.campaign.bench.instruments[tag]) for tag in _carrying(context, metered, flow))
    clear = _clear(context, circuit, at, signals)
    window = chosen(run, signals.time, np.where(clear, ln_area, np.nan), on=signals.on, lag=lag)
    known = np.isfinite(ln_area) & np.isfinite(at.cav)
    hum = hum_in(signals.time, tuple(signals.clean[tag] for tag in _needs(metered, flow)), window)
    cuts = over_whole_periods(signals.time, cut(signals.time, window, known), hum)
    if run.window is None:
        cuts = in_order((*cuts, *cut_outside(signals.time, window, known & ~clear, on=signals.on)))
    moves = doubt(signals.time, _carried(context, circuit, at, ln_area, cuts), window)
    shared = context.with_window(context.shared(name), name, moves)
    gas = gas_seen(context, flow, metered, signals, water, at, window) if cuts else None
    frozen = _freeze(context, flow, metered, signals, water, at, cuts, shared, gas)
    slices = tuple(_nominal(index, signals, at, ln_area, water, circuit) for index in cuts)
    evidence = StreamEvidence(
        flow=flow,
        circuit=circuit,
        window=window,
        on=signals.on,
        time=signals.time,
        p_tap=at.p_tap,
        dp=at.dp,
        m_dot=at.m_dot,
        area_eff=at.area,
        cav=at.cav,
        m_dot_by_line=at.m_dot_by_line,
        dp_by_line={
            line.id: signals.clean[tag] for line, tag in zip(metered.lines, metered.tags, strict=True)
        },
        throat=at.throat,
        rho=water.rho,
        p_vap=water.p_vap,
        p_out=at.p_out,
        gas=gas,
        two_gauges=two_gauges(context, flow, metered.tags, frozen, signals) if cuts else (),
        at_ends=at_ends(context.campaign.bench, run, signals, cuts, context.seen, window),
    )
    return Prepared(
        name=f"{run.id}:{name}",
        run=run.id,
        stream=name,
        state=context.state(flow),
        lines=flow.lines,
        circuit=circuit,
        frozen=frozen,
        slices=slices,
        window=window,
        series=thinned(signals.time, at.dp, at.m_dot, at.area, at.cav),
        evidence=evidence,
        signals=signals.values,
        zeros=signals.zeros,
        aside=signals.aside,
        closure=closure_of(context, flow, frozen, signals, at, water) if cuts else None,
        closing=closing(context, flow, frozen, signals, at, water) if cuts and run.calibrates else None,
        re_pipe=_own_re(metered, at, water, cuts),
    )


def _carrying(context: Context, metered: Metered, flow: Flow) -> tuple[str, ...]:
    """Tags of the instruments that make up E, a drop by two gauges taken apart."""
    instruments = context.campaign.bench.instruments
    return tuple(part for tag in _needs(metered, flow) for part in instruments[tag].parts or (tag,))


def _needs(metered: Metered, flow: Flow) -> tuple[str, ...]:
    return (*metered.tags, flow.p_tap, *([] if flow.p_back is None else [flow.p_back]))


def _clear(context: Context, circuit: Circuit, at: Sampled, signals: Signals) -> NDArray[np.bool_]:
    """Which samples the window is looked for in: all, or those clear of cavitation where they last long enough."""
    limits = context.campaign.limits
    everywhere = np.ones_like(at.cav, dtype=bool)
    if ELEMENTS[circuit.element].gas_cored:
        return everywhere
    with np.errstate(invalid="ignore"):
        clear = at.cav > limits.cavitation_stop
    flowing = (signals.time >= signals.on[0]) & (signals.time <= signals.on[1])
    lasts = float(np.mean(clear[flowing])) * (signals.on[1] - signals.on[0]) if np.any(flowing) else 0.0
    return clear if lasts >= limits.window / 2 else everywhere  # a short one is told as such


def _carried(
    context: Context, circuit: Circuit, at: Sampled, ln_area: Array, cuts: tuple[NDArray[np.intp], ...]
) -> Array:
    """ln E of the samples that may enter the mean: those that cavitate say nothing of where the window should end."""
    clear = (at.cav > context.campaign.limits.cavitation_stop) | ELEMENTS[circuit.element].gas_cored
    if not any(np.any(clear[index]) for index in cuts):
        return ln_area  # all cavitate: kept, as in the fit
    return np.where(clear, ln_area, np.nan)


def _water(context: Context, metered: Metered, signals: Signals, flow: Flow) -> Water:
    flowing = (signals.time >= signals.on[0]) & (signals.time <= signals.on[1])
    tag = next((line.temperature for line in metered.lines if line.temperature in signals.values), None)
    temps = None if tag is None else signals.values[tag][flowing]
    typical = max(float(np.nanmedian(signals.clean[flow.p_tap][flowing])), 0.0)
    return context.water(temps, tag, p_abs=context.run.ambient.value + typical)


def _freeze(
    context: Context,
    flow: Flow,
    metered: Metered,
    signals: Signals,
    water: Water,
    at: Sampled,
    cuts: tuple[NDArray[np.intp], ...],
    shared: Shared,
    gas: GasSeen | None,
) -> MeteredStream:
    """The stream's pure function, with the correction that makes its nominal the mean over the samples."""
    re_pipe = {line.id: _re_pipe(at.m_dot_by_line[line.id], line.bore, water, cuts) for line in metered.lines}
    context.seen = see(context.campaign, context.run, signals, cuts, p_tap=flow.p_tap)
    known = {key: span for key, span in re_pipe.items() if span is not None}
    each = zip(metered.lines, metered.meters, metered.tags, strict=True)
    by_line = {line.id: (meter, tag, at.m_dot_by_line[line.id]) for line, meter, tag in each}
    at_work = working(context.run, by_line, signals, rho=water.rho, mu=water.mu, cuts=cuts)
    built = metered.build(context, known, at_work)
    meters = []
    for one, meter, tag in zip(built, metered.meters, metered.tags, strict=True):
        context.declare(*one.sources)
        vouches = "own" if one.own else "wider"
        context.scope.extend((context.run.id, meter.id, vouches, breach) for breach in one.outside)
        context.scope.extend((context.run.id, meter.id, "points", breach) for breach in one.beyond)
        signal = reading(context, signals, tag, cuts)
        meters.append(
            MeterAtWork(
                law=one.law,
                signal=signal,
                rho=water.density,
                mu=water.mu,
                names=tuple(source.name for source in one.sources),
            )
        )
    circuit = stream_circuit(context.campaign, flow)
    back = None if flow.p_back is None else means(signals.clean[flow.p_back], cuts)
    tap = means(signals.clean[flow.p_tap], cuts)
    tapped = context.tap_pressure(flow, circuit, tap, back, signals.zeros)
    tapped = tapped.plus(in_time(context, signals, flow.p_tap, cuts))
    if flow.p_back is not None:
        tapped = tapped.plus(in_time(context, signals, flow.p_back, cuts).times(-1.0))
    tapped = tapped.plus(_of_inertance(context, metered, signals, at, cuts))
    drop = context.drop(tapped, water, circuit, means(at.inertia, cuts))
    plain = MeteredStream(
        meters=tuple(meters),
        drop=drop,
        shared=shared,
        correction=np.zeros(len(cuts)),
        unseen=unseen(context, metered, at, cuts, gas, stream_of(flow)),
    )
    of_means = plain.ln_area(at_zero(plain.names))[:, 0]
    return replace(plain, correction=np.log(means(at.area, cuts)) - of_means)


def _of_inertance(
    context: Context, metered: Metered, signals: Signals, at: Sampled, cuts: tuple[NDArray[np.intp], ...]
) -> Doubted:
    """What is not known of the column's inertance, by how fast the flow changes [Pa]."""
    terms = []
    for line in metered.lines:
        if line.inertance_u > 0:
            source = Source(
                name=f"{line.id}.inertance",
                u=line.inertance_u,
                dist="rectangular",
                scope="instrument",
                origin=f"inertance of line {line.id} as stated",
                group=WATER,
            )
            context.declare(source)
            share = -1 / len(metered.lines)
            terms.append((source.name, share * means(rate(signals.time, at.m_dot), cuts)))
    return Doubted(base=np.zeros(len(cuts)), terms=tuple(terms))


def _own_re(
    metered: Metered, at: Sampled, water: Water, cuts: tuple[NDArray[np.intp], ...]
) -> tuple[float, float] | None:
    """Span of the Reynolds number of a single meter's own pipe."""
    bore = metered.meters[0].values.get("d_pipe")
    if len(metered.meters) > 1 or bore is None:
        return None
    return _re_pipe(at.m_dot, bore.value, water, cuts)


def _re_pipe(
    m_dot: Array, bore: float | None, water: Water, cuts: tuple[NDArray[np.intp], ...]
) -> tuple[float, float] | None:
    """Span of the pipe's Reynolds number over the slices; None without a bore or without slices."""
    if bore is None or not cuts:
        return None
    flow = means(m_dot, cuts)
    re = 4 * flow / (np.pi * bore * water.mu)
    return float(np.min(re)), float(np.max(re))


def _nominal(
    index: NDArray[np.intp], signals: Signals, at: Sampled, ln_area: Array, water: Water, circuit: Circuit
) -> SliceNominal:
    dp = float(np.mean(at.dp[index]))
    return SliceNominal(
        t=float(np.mean(signals.time[index])),
        re=float(element_re_ideal(dp=dp, rho=water.rho, mu=water.mu, d_element=circuit.bore.value)),
        cav=float(np.mean(at.cav[index])),
        dp=dp,
        m_dot=float(np.mean(at.m_dot[index])),
        noise=noise_of(ln_area[index]),
        rows=(int(index[0]), int(index[-1])),
    )
