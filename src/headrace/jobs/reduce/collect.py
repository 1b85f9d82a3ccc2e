"""The whole campaign: prepare every run, fit every stream, gather sources, readings, notices. Start at `reduce`."""

from collections.abc import Mapping

import numpy as np

from headrace.chain.water import Reduced, SliceModel
from headrace.errors import NoAnswer
from headrace.findings import CAMPAIGN_FINDINGS, RUN_FINDINGS
from headrace.findings.evidence import CampaignEvidence, RunEvidence
from headrace.jobs.reduce.characteristic import Fitted, fit
from headrace.jobs.reduce.context import Context, Prepared, bore_area, stream_of
from headrace.jobs.reduce.contrasts import contrasts
from headrace.jobs.reduce.meter_scope import Left, out_of_scope
from headrace.jobs.reduce.methods import METHODS
from headrace.notices import Notice, Severity, merged
from headrace.records.answers import BudgetLine, Estimate
from headrace.records.given import Campaign, Flow, RunGiven
from headrace.records.readings import Characteristic, Reading, RunResult, characteristic_key
from headrace.uncertainty.gum import GumResult, gum
from headrace.uncertainty.source import Source


def reduce(campaign: Campaign) -> Reduced:
    """Reduce every water run of a campaign and join them into characteristics.

    Excluded runs are reduced too and shown, but enter no characteristic. A run that cannot be reduced leaves a
    *stop* notice; nothing is dropped silently.
    """
    sources: dict[str, Source] = {}
    scope: list[Left] = []
    unread: list[Notice] = []
    by_run: dict[str, tuple[RunGiven, list[Prepared], list[Notice]]] = {}
    for run in campaign.runs.values():
        if run.kind != "water":
            unread.append(_hot(run))
            continue
        context = Context(
            campaign=campaign, run=run, sources=sources, scope=scope if run.excluded is None else []
        )
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
        by_run[run.id] = (run, ready, context.notices)
    prepared, slices = _known(by_run, tuple(sources.values()))
    fits = _fits(campaign, prepared, slices, sources)
    default = dict(sources)
    for fitted in fits:
        sources.update({source.name: source for source in fitted.sources})
    chain, found = contrasts(fits, sources, prepared, default)
    runs = {
        key: _result(campaign, run, ready, notices, slices, fits)
        for key, (run, ready, notices) in by_run.items()
    }
    wanted = tuple(sources[name] for name in dict.fromkeys((*chain.names, *_names(prepared))))
    areas = gum(chain, wanted)
    characteristics = {one.key: _characteristic(campaign, one, areas, prepared) for one in fits}
    evidence = CampaignEvidence(
        campaign=campaign, runs=runs, characteristics=characteristics, contrasts=found
    )
    overall = [notice for find in CAMPAIGN_FINDINGS.values() for notice in find(evidence)]
    notices = merged(
        campaign.notices, *(run.notices for run in runs.values()), out_of_scope(scope), overall, unread
    )
    return Reduced(runs=runs, characteristics=characteristics, water=chain, sources=wanted, notices=notices)


def _known(
    by_run: Mapping[str, tuple[RunGiven, list[Prepared], list[Notice]]], sources: tuple[Source, ...]
) -> tuple[list[Prepared], GumResult]:
    """The streams whose areas and doubts are numbers, with the doubt of every slice.

    A drop or a flow of none, or one within its own doubt of none, has no effective area: its run is told and left out.
    """
    met = [one for _, ready, _ in by_run.values() for one in ready if one.slices]
    slices = gum(SliceModel(streams={one.name: one.frozen for one in met}), sources)
    good = {name.rpartition("#")[0]: True for name in slices.outputs}
    for name in slices.outputs:
        good[name.rpartition("#")[0]] &= bool(
            np.isfinite(slices.nominal[name]) and np.isfinite(slices.u[name])
        )
    for run, ready, notices in by_run.values():
        for one in [one for one in ready if not good.get(one.name, True)]:
            ready.remove(one)
            notices.append(_failed(run, "its drop or its flow is within its own doubt of none"))
    kept = [one for one in met if good[one.name]]
    return kept, slices if len(kept) == len(met) else gum(
        SliceModel(streams={one.name: one.frozen for one in kept}), sources
    )


def _hot(run: RunGiven) -> Notice:
    return Notice(
        code="hot-run-not-used",
        severity=Severity.INFO,
        text=f"Run {run.id} is a hot run; this version reduces water runs only, so nothing here rests on it.",
        try_="give E_hot/E_water of own firings as `step_ratio` in engine.toml",
        run=run.id,
    )


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


def _names(prepared: list[Prepared]) -> tuple[str, ...]:
    return tuple(name for one in prepared for name in one.frozen.names)


def _fits(
    campaign: Campaign, prepared: list[Prepared], slices: GumResult, sources: Mapping[str, Source]
) -> list[Fitted]:
    groups: dict[str, list[Prepared]] = {}
    for one in prepared:
        if campaign.runs[one.run].excluded is None and _pair_of(campaign, one.run) is None:
            groups.setdefault(characteristic_key(one.stream, one.state), []).append(one)
    return [fit(campaign, members, slices, sources) for members in groups.values()]


def _pair_of(campaign: Campaign, run: str) -> str | None:
    """The long run from which this one is taken off, where it already counts: it enters no mean a second time."""
    longs = (other.id for other in campaign.runs.values() if other.minus == run and other.excluded is None)
    return next(longs, None)


def _result(
    campaign: Campaign,
    run: RunGiven,
    ready: list[Prepared],
    notices: list[Notice],
    slices: GumResult,
    fits: list[Fitted],
) -> RunResult:
    readings = tuple(reading for one in ready for reading in _readings(campaign, run, one, slices, fits))
    signals = {tag: values for one in ready for tag, values in one.signals.items()}
    zeros = {tag: zero for one in ready for tag, zero in one.zeros.items()}
    closure = next((one.closure for one in ready if one.closure is not None), None)
    evidence = RunEvidence(
        campaign=campaign,
        run=run,
        time=run.trace.time if run.trace is not None else np.empty(0),
        signals=signals,
        zeros=zeros,
        streams={one.stream: one.evidence for one in ready if one.evidence is not None},
        readings=readings,
        closure=closure,
    )
    found = [notice for find in RUN_FINDINGS.values() for notice in find(evidence)]
    if run.excluded is not None:
        found = [_excused(notice, run) for notice in found]
    return RunResult(
        run=run.id,
        method=run.method,
        excluded=run.excluded,
        windows={one.stream: one.window for one in ready},
        readings=readings,
        series={one.stream: one.series for one in ready if one.series is not None},
        closure=closure,
        tares={tag: (zero.before, zero.after) for tag, zero in zeros.items()},
        notices=merged(run.notices, notices, found),
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


def _readings(
    campaign: Campaign, run: RunGiven, one: Prepared, slices: GumResult, fits: list[Fitted]
) -> list[Reading]:
    """Every slice as it is reported; its doubt has the default of set-up to set-up, so that no other run spoils it."""
    fitted = next((f for f in fits if f.key == characteristic_key(one.stream, one.state)), None)
    used = None if fitted is None else fitted.used.get(one.name)
    lines = run.trace.lines if run.trace is not None else None
    area = None if "+" in one.stream else bore_area(one.circuit).value
    out = []
    for number, nominal in enumerate(one.slices):
        name = f"{one.name}#{number}"
        value = slices.nominal[name]
        counted = used is not None and bool(used[number])
        why = "" if counted else _why_unused(campaign, run)
        origin = run.trace.origin if run.trace is not None else run.origin
        if lines is not None:
            first, last = (int(lines[row]) for row in nominal.rows)
            origin = type(origin)(file=origin.file, sha256=origin.sha256, lines=(first, last))
        out.append(
            Reading(
                run=run.id,
                stream=one.stream,
                state=one.state,
                lines=one.lines,
                t=nominal.t,
                re=nominal.re,
                cav=nominal.cav,
                dp=nominal.dp,
                m_dot=nominal.m_dot,
                area_eff=value,
                u=float(np.hypot(slices.u[name], value * nominal.noise)),
                cd=None if area is None else value / area,
                noise=nominal.noise,
                used=counted,
                why=why,
                sources=one.frozen.names,
                origin=origin,
            )
        )
    return out


def _why_unused(campaign: Campaign, run: RunGiven) -> str:
    if run.excluded is not None:
        return f"run left out: {run.excluded}"
    long = _pair_of(campaign, run.id)
    return (
        f"K below {campaign.limits.cavitation_stop:g}" if long is None else f"used as the short run of {long}"
    )


def _characteristic(
    campaign: Campaign, one: Fitted, areas: GumResult, prepared: list[Prepared]
) -> Characteristic:
    output = f"area_eff.{one.key}"
    coverage = campaign.defaults.coverage
    low, high = areas.interval(output, coverage)
    value, u, dof = areas.nominal[output], areas.u[output], areas.dof[output]
    circuit = next(p.circuit for p in prepared if p.stream == one.stream)
    cd = None
    if "+" not in one.stream:
        area = bore_area(circuit)
        u_cd = value / area.value * float(np.hypot(u / value, area.u / area.value))
        half = (high - low) / 2 / u * u_cd if u > 0 else 0.0
        cd = Estimate(
            value=value / area.value,
            u=u_cd,
            low=value / area.value - half,
            high=value / area.value + half,
            unit="1",
            coverage=coverage,
        )
    return Characteristic(
        stream=one.stream,
        state=one.state,
        area_eff=Estimate(value=value, u=u, low=low, high=high, unit="m2", coverage=coverage, dof=dof),
        cd=cd,
        model=one.model,
        why=one.why,
        re_ref=one.fit.re_ref,
        re_span=one.re_span,
        cav_least=one.cav_least,
        slope_seen=one.slope_seen,
        u_slope=one.u_slope,
        runs=tuple(one.weights),
        days=one.days,
        weights=one.weights,
        budget=tuple(
            BudgetLine(
                source=row.source,
                contribution=row.contribution,
                share=row.share,
                scope=row.scope,
                group=row.group,
                origin=row.origin,
            )
            for row in areas.budget(output)
            if row.contribution != 0
        ),
        notices=(),
    )
