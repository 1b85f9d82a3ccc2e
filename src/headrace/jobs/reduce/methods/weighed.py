"""One mass (or level) against a logged pressure: E = m / integral of sqrt(2 rho dp) dt. Start at `prepare`.

The whole record counts, opening and closing included: the drop is measured while they last. What it cannot see is a
drifting E, dribble after closing, and water that never passed the tap.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from headrace.chain.streams import WeighedStream
from headrace.errors import OutOfDomain
from headrace.findings.evidence import StreamEvidence
from headrace.jobs.reduce.conditions import see
from headrace.jobs.reduce.context import Context, Prepared, SliceNominal, stream_circuit, stream_of
from headrace.jobs.reduce.samples import at_zero, outlet, tap_signal, whole_drop
from headrace.jobs.reduce.signals import prepare as prepare_signals
from headrace.jobs.reduce.slices import means, thinned
from headrace.jobs.reduce.totals import total_mass, total_of
from headrace.notices import Notice, Severity
from headrace.physics.hydraulics.cavitation import cavitation_number
from headrace.physics.hydraulics.injector import element_re_ideal
from headrace.records.given import Flow, RunGiven
from headrace.records.readings import Window

Array = NDArray[np.float64]

PIECES = 40
"""Pieces into which the trace is frozen."""

FLOWS = 0.02
"""A piece whose drop is above this share of the greatest counts as flowing."""

AROUND = 0.5
"""Seconds before and after the flow that are integrated too."""


def prepare(context: Context, flow: Flow) -> Prepared:
    """Freeze one weighed stream of a run."""
    run, campaign = context.run, context.campaign
    if run.trace is None:
        raise ValueError(f"run {run.id} is weighed but has no trace")  # files demands one
    total = total_of(context, flow)
    if run.window is not None:
        context.notices.append(_no_window(run))
    circuit, name = stream_circuit(campaign, flow), stream_of(flow)
    signals = prepare_signals(
        campaign, run, run.trace, lead=flow.p_tap, needs=() if flow.p_back is None else (flow.p_back,)
    )
    on = signals.on
    inside = np.flatnonzero((signals.time >= on[0] - AROUND) & (signals.time <= on[1] + AROUND))
    p_tap = tap_signal(context, signals, flow, circuit)
    inside = inside[np.isfinite(p_tap[inside])]
    flowing = (signals.time >= on[0]) & (signals.time <= on[1])
    tag = next((campaign.bench.lines[line].temperature for line in flow.lines), None)
    temps = None if tag is None or tag not in signals.values else signals.values[tag][flowing]
    typical = max(float(np.nanmedian(p_tap[flowing])), 0.0)
    water = context.water(temps, tag, p_abs=run.ambient.value + typical)
    whole = whole_drop(context, p_tap, np.zeros_like(p_tap), water, circuit)
    full = whole.dp(at_zero(whole.names), np.zeros((p_tap.size, 1)))[:, 0]
    dp = np.where(flowing, full, p_tap)  # an empty manifold has no column of water that pushes
    root = np.sign(dp) * np.sqrt(2 * water.rho * np.abs(dp))
    integral = float(np.trapezoid(root[inside], signals.time[inside]))

    pieces = tuple(np.array_split(inside, min(PIECES, max(inside.size // 4, 1))))
    width = np.array([signals.time[piece[-1]] - signals.time[piece[0]] for piece in pieces])
    width = width * (signals.time[inside[-1]] - signals.time[inside[0]]) / max(float(np.sum(width)), 1e-12)
    least = FLOWS * np.max(dp[inside])
    kept = [k for k, piece in enumerate(pieces) if np.mean(dp[piece]) > least and np.mean(full[piece]) > 0]
    if not (kept and integral > 0):
        highest = float(np.max(full[inside], initial=-np.inf))
        raise OutOfDomain(
            "drop", highest, "above 0 while water flows", "heights of tap and outlet, or a zero?"
        )
    cuts, dt = tuple(pieces[k] for k in kept), width[kept]
    context.seen = see(campaign, run, signals, cuts)
    back = None if flow.p_back is None else means(signals.clean[flow.p_back], cuts)
    tapped = context.tap_pressure(flow, circuit, means(signals.clean[flow.p_tap], cuts), back, signals.zeros)
    drop = context.drop(tapped, water, circuit, np.zeros(len(cuts)), on_total=False)
    weighed = total_mass(context, total, water)
    mass = float(weighed.base[0])
    shared = context.shared(name)
    pieced = WeighedStream(mass=weighed, drop=drop, dt=dt, shared=shared, correction=0.0)
    frozen = replace(
        pieced,
        correction=float(np.log(mass / integral) - pieced.ln_area(at_zero(pieced.names))[0, 0]),
        area_tap=context.area_tap(circuit),
    )
    mean_dp = float(np.nanmean(full[flowing]))
    p_out = outlet(context, signals, flow)
    cav = np.asarray(
        cavitation_number(
            p_abs_up=p_out + dp, p_abs_down=np.full_like(dp, p_out), p_vapour=np.full_like(dp, water.p_vap)
        )
    )
    unknown = np.full_like(dp, np.nan)
    window = Window(start=on[0], end=on[1], chosen="found", phases=(("flow", on[0], on[1]),))
    nominal = SliceNominal(
        t=0.5 * (on[0] + on[1]),
        re=float(element_re_ideal(dp=mean_dp, rho=water.rho, mu=water.mu, d_element=circuit.bore.value)),
        cav=float((p_out + mean_dp - water.p_vap) / mean_dp),
        dp=mean_dp,
        m_dot=mass / (on[1] - on[0]),
        noise=0.0,
        rows=(int(inside[0]), int(inside[-1])),
    )
    evidence = StreamEvidence(
        flow=flow,
        circuit=circuit,
        window=window,
        on=on,
        time=signals.time,
        p_tap=p_tap,
        dp=dp,
        m_dot=unknown,
        area_eff=unknown,
        cav=cav,
        m_dot_by_line={},
        dp_by_line={},
        throat={},
        rho=water.rho,
        p_vap=water.p_vap,
        p_out=p_out,
    )
    return Prepared(
        name=f"{run.id}:{name}",
        run=run.id,
        stream=name,
        state=context.state(flow),
        lines=flow.lines,
        circuit=circuit,
        frozen=frozen,
        slices=(nominal,),
        window=window,
        series=thinned(signals.time, dp, unknown, unknown, cav),
        evidence=evidence,
        signals=signals.values,
        zeros=signals.zeros,
        aside=signals.aside,
    )


def _no_window(run: RunGiven) -> Notice:
    return Notice(
        code="window-not-used",
        severity=Severity.INFO,
        text=f"Run {run.id} is weighed: all its water counts, so its typed window is not used.",
        try_="leave the window out, or reduce the run by its meter",
        run=run.id,
    )
