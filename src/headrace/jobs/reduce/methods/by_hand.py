"""A run with no logger: gauge at start and end, water displaced, stopwatch.

Start at `prepare`; `hand_of` serves pairs.
"""

import numpy as np

from headrace.bench.instruments import reading_by_eye
from headrace.chain.streams import ByHand, HandStream, PairStream
from headrace.errors import NoAnswer
from headrace.jobs.reduce.context import WATER, Context, Prepared, SliceNominal, stream_circuit, stream_of
from headrace.jobs.reduce.samples import at_zero
from headrace.jobs.reduce.totals import total_of, volume_of
from headrace.physics.hydraulics.hydrostatics import G_STANDARD
from headrace.physics.hydraulics.injector import element_re_ideal
from headrace.records.given import Flow, HandReading
from headrace.records.readings import Window
from headrace.uncertainty.doubted import Doubted, constant
from headrace.uncertainty.source import Source


def prepare(context: Context, flow: Flow) -> Prepared:
    """Freeze one stream of a run by hand."""
    name = stream_of(flow)
    hand = hand_of(context, flow)
    circuit = stream_circuit(context.campaign, flow)
    frozen = HandStream(hand=hand, shared=context.shared(name), area_tap=context.area_tap(circuit))
    return as_prepared(context, flow, frozen, hand)


def hand_of(context: Context, flow: Flow) -> ByHand:
    """The readings of a run by hand, with their terms."""
    run, campaign = context.run, context.campaign
    total = total_of(context, flow)
    if total.duration is None:
        raise ValueError(f"run {run.id} by hand lacks its duration")  # files demands it
    if flow.p_back is not None:
        raise NoAnswer("a run by hand against back-pressure is not reduced; log it, or read the drop itself")
    start, end = (_reading(run.hand, flow.p_tap, moment) for moment in ("start", "end"))
    circuit = stream_circuit(campaign, flow)
    values = context.corrected(flow.p_tap, np.array([start.value, end.value]))
    instrument = campaign.bench.instruments[flow.p_tap]
    if instrument.measures == "abs":
        values = values - run.ambient.value
    water = context.water(None, None, p_abs=run.ambient.value + float(np.mean(values)))
    both = context.tap_pressure(flow, circuit, values, None, {}, (start.moment, end.moment))
    fall = abs(values[1] - values[0]) / total.duration.value
    ends = []
    for k, reading in enumerate((start, end)):
        one = Doubted(
            base=both.base[k : k + 1], terms=tuple((name, shape[k : k + 1]) for name, shape in both.terms)
        )
        eye = reading_by_eye(instrument, run=run.id, moment=reading.moment, division=reading.division)
        extra = [] if eye is None else [eye]
        if reading.u_time > 0 and fall > 0:
            extra.append(
                Source(
                    name=f"{run.id}.{flow.p_tap}.{reading.moment}.time",
                    u=reading.u_time * fall,
                    scope="run",
                    group=WATER,
                    dist="rectangular",
                    origin="when it was read, times how fast it fell",
                )
            )
        context.declare(*extra)
        ends.append(one.plus(constant(0.0, tuple((source.name, 1.0) for source in extra))))
    nominal, u = campaign.defaults.polytropic
    exponent = Source(
        name="manual.exponent",
        u=u,
        scope="model",
        group=WATER,
        origin="polytropic exponent between two readings, default",
    )
    context.declare(exponent)
    return ByHand(
        p_start=ends[0],
        p_end=ends[1],
        p_out=run.ambient.value,
        height=context.height(circuit),
        volume=volume_of(context, total, water),
        time=constant(
            total.duration.value,
            context.term(f"{run.id}.duration", total.duration, scope="run", origin="stopwatch"),
        ),
        exponent=constant(nominal, ((exponent.name, 1.0),)),
        rho=water.density,
        g=G_STANDARD,
    )


def as_prepared(context: Context, flow: Flow, frozen: HandStream | PairStream, hand: ByHand) -> Prepared:
    """The nominal figures of a run by hand, as one slice."""
    run = context.run
    circuit = stream_circuit(context.campaign, flow)
    zero = at_zero(frozen.names)
    time = float(hand.time.base[0])
    mass = float(hand.mass(zero)[0, 0])
    head = float(hand.rho.base[0] * hand.g * hand.height.base[0])
    dp = 0.5 * float(hand.p_start.base[0] + hand.p_end.base[0]) + head
    water = context.water(None, None, p_abs=hand.p_out + dp)
    nominal = SliceNominal(
        t=time / 2,
        re=float(element_re_ideal(dp=dp, rho=water.rho, mu=water.mu, d_element=circuit.bore.value)),
        cav=(hand.p_out + dp - water.p_vap) / dp,
        dp=dp,
        m_dot=mass / time,
        noise=0.0,
        rows=(0, 0),
    )
    return Prepared(
        name=f"{run.id}:{stream_of(flow)}",
        run=run.id,
        stream=stream_of(flow),
        state=context.state(flow),
        lines=flow.lines,
        circuit=circuit,
        frozen=frozen,
        slices=(nominal,),
        window=Window(start=0.0, end=time, chosen="by stopwatch"),
        series=None,
        evidence=None,
    )


def _reading(hand: tuple[HandReading, ...], tag: str, moment: str) -> HandReading:
    for reading in hand:
        if reading.instrument == tag and reading.moment == moment:
            return reading
    raise ValueError(f"no reading of {tag} at the {moment}")  # files demands both
