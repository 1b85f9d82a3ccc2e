"""One run by itself: its streams frozen, its slices with their doubt, what is found in it. Start at `prepare_run`.

This is where the samples are: what leaves here is small, so that a campaign of many long runs needs the memory of
one, and runs can be prepared by several processes. What only the whole campaign knows comes after, in `collect`.
"""

from dataclasses import dataclass, replace

import numpy as np

from headrace.bench.instruments import Zero
from headrace.chain.water import SliceModel
from headrace.errors import NoAnswer
from headrace.findings import RUN_FINDINGS
from headrace.findings.evidence import RunEvidence
from headrace.jobs.reduce.characteristic import usable
from headrace.jobs.reduce.context import Context, Prepared, SliceNominal, bore_area, stream_of
from headrace.jobs.reduce.meter_scope import Left
from headrace.jobs.reduce.methods import METHODS
from headrace.jobs.reduce.slices import extremes
from headrace.notices import Notice, Severity
from headrace.records.given import Campaign, Flow, Origin, RunGiven
from headrace.records.readings import Channels, Closure, Reading
from headrace.uncertainty.gum import GumResult, gum
from headrace.uncertainty.source import Source


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparedRun:
    """One run, prepared. streams: without samples. origins: of each slice, by name of the
    stream."""

    run: str
    streams: tuple[Prepared, ...]
    sources: tuple[Source, ...]
    scope: tuple[Left, ...]
    zeros: dict[str, Zero]
    closure: Closure | None
    origins: dict[str, tuple[Origin, ...]]
    notices: tuple[Notice, ...]
    channels: Channels | None = None


def prepare_run(campaign: Campaign, run_id: str) -> PreparedRun:
    """Prepare one water run of a campaign. A run that cannot be reduced leaves a *stop* notice."""
    run = campaign.runs[run_id].loaded()
    context = Context(campaign=campaign, run=run)
    ready = _streams(context, run)
    slices = gum(
        SliceModel(streams={one.name: one.frozen for one in ready if one.slices}),
        tuple(context.sources.values()),
    )
    ready = _known(context, run, ready, slices)
    closure = next((one.closure for one in ready if one.closure is not None), None)
    zeros = {tag: zero for one in ready for tag, zero in one.zeros.items()}
    evidence = RunEvidence(
        campaign=campaign,
        run=run,
        time=run.trace.time if run.trace is not None else np.empty(0),
        signals={tag: values for one in ready for tag, values in one.signals.items()},
        zeros=zeros,
        streams={one.stream: one.evidence for one in ready if one.evidence is not None},
        readings=tuple(reading for one in ready for reading in _readings(campaign, run, one, slices)),
        closure=closure,
        aside={tag: one for ready_one in ready for tag, one in ready_one.aside.items()},
    )
    found = [notice for find in RUN_FINDINGS.values() for notice in find(evidence)]
    if run.excluded is not None:
        found = [_excused(notice, run) for notice in found]
    return PreparedRun(
        run=run.id,
        streams=tuple(replace(one, evidence=None, signals={}, aside={}, closing=None) for one in ready),
        sources=tuple(context.sources.values()),
        scope=() if run.excluded is not None else tuple(context.scope),
        zeros=zeros,
        closure=closure,
        origins={one.name: tuple(origin_of(run, at) for at in one.slices) for one in ready},
        notices=(*run.notices, *context.notices, *found),
        channels=_channels(run, evidence),
    )


def _channels(run: RunGiven, evidence: RunEvidence) -> Channels | None:
    """What was logged, thinned: corrected where the reduction asked for it, else as stored."""
    if run.trace is None:
        return None
    return extremes(evidence.time, {**run.trace.channels, **evidence.signals})


def _streams(context: Context, run: RunGiven) -> list[Prepared]:
    ready: list[Prepared] = []
    for flow in run.flows:
        if _beside_the_total(run, flow):
            context.notices.append(_unmeasured(run, flow))
            continue
        try:
            one = METHODS[run.method](context, flow)
        except NoAnswer as fault:
            context.notices.append(_failed(run, str(fault)))
            continue
        ready.append(one)  # without slices too: the findings see why
        if not one.slices:
            context.notices.append(_failed(run, "no part of the record is steady enough to be used"))
    return ready


def _known(context: Context, run: RunGiven, ready: list[Prepared], slices: GumResult) -> list[Prepared]:
    """The streams whose areas and doubts are numbers.

    A drop or a flow of none, or one within its own doubt of none, has no effective area: its run is told and left out.
    """
    u = slices.u
    lost = {
        name.rpartition("#")[0]
        for name in slices.outputs
        if not (np.isfinite(slices.nominal[name]) and np.isfinite(u[name]))
    }
    context.notices += [
        _failed(run, "its drop or its flow is within its own doubt of none")
        for one in ready
        if one.name in lost
    ]
    return [one for one in ready if one.name not in lost]


def _readings(campaign: Campaign, run: RunGiven, one: Prepared, slices: GumResult) -> list[Reading]:
    """Its slices by the run's own sources, for the findings; what is carried only the campaign knows."""
    area = None if "+" in one.stream else bore_area(one.circuit).value
    doubt = slices.u
    out = []
    for number, (at, counts) in enumerate(zip(one.slices, usable(campaign, one), strict=True)):
        name = f"{one.name}#{number}"
        value = slices.nominal[name]
        out.append(
            Reading(
                run=run.id,
                stream=one.stream,
                state=one.state,
                lines=one.lines,
                t=at.t,
                re=at.re,
                cav=at.cav,
                dp=at.dp,
                m_dot=at.m_dot,
                area_eff=value,
                u=float(np.hypot(doubt[name], value * at.noise)),
                cd=None if area is None else value / area,
                noise=at.noise,
                used=bool(counts),
                why="",
                sources=one.frozen.names,
                origin=origin_of(run, at),
            )
        )
    return out


def origin_of(run: RunGiven, at: SliceNominal) -> Origin:
    """The lines of the raw file that a slice was read from, and of those joined to it."""
    lines = (
        run.trace.lines if run.trace is not None else run.catches.lines if run.catches is not None else None
    )
    if lines is None:
        return run.origin
    first, last = (int(lines[row]) for row in at.rows)
    others = run.trace.others if run.trace is not None else ()
    also = tuple(
        replace(one.origin, lines=(int(one.lines[at.rows[0]]), int(one.lines[at.rows[1]]))) for one in others
    )
    return replace(run.trace.origin if run.trace is not None else run.origin, lines=(first, last), also=also)


def _beside_the_total(run: RunGiven, flow: Flow) -> bool:
    """Whether this stream only flowed along in a run whose total is another stream's."""
    total = run.total
    if run.method == "metered" or total is None or total.line is None:
        return False
    return flow.lines != (total.line,) and any(other.lines == (total.line,) for other in run.flows)


def _unmeasured(run: RunGiven, flow: Flow) -> Notice:
    return Notice(
        code="stream-not-measured",
        severity=Severity.INFO,
        text=f"Run {run.id}: circuit {stream_of(flow)} only flowed along; the total is that of another line.",
        try_="meter it, or weigh it in a run of its own",
        run=run.id,
        about=f"circuit {stream_of(flow)}",
    )


def _failed(run: RunGiven, why: str) -> Notice:
    return Notice(
        code="run-not-reduced",
        severity=Severity.DOUBT if run.excluded else Severity.STOP,
        text=f"Run {run.id} could not be reduced: {why}.",
        try_="check the channel map, the window and the zeros of this run, or exclude it with a reason",
        run=run.id,
    )


def _excused(notice: Notice, run: RunGiven) -> Notice:
    """What is found in a run that was left out no longer weighs on the answer: it is told as information."""
    return Notice(
        code=notice.code,
        severity=Severity.INFO,
        text=f"{notice.text} (Left out: {run.excluded})",
        facts=notice.facts,
        limit=notice.limit,
        try_=notice.try_,
        run=notice.run,
        about=notice.about,
    )
