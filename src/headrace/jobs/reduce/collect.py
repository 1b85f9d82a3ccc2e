"""The whole campaign: prepare every run, fit every stream, gather sources, readings, notices. Start at `reduce`."""

from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import Executor
from dataclasses import replace

import numpy as np

from headrace.chain.water import Reduced, SliceModel
from headrace.findings import CAMPAIGN_FINDINGS
from headrace.findings.evidence import CampaignEvidence
from headrace.jobs.reduce.characteristic import Fitted, fit
from headrace.jobs.reduce.comparisons import compared
from headrace.jobs.reduce.context import Prepared, bore_area
from headrace.jobs.reduce.contrasts import contrasts
from headrace.jobs.reduce.in_place import calibrated
from headrace.jobs.reduce.meter_scope import out_of_scope
from headrace.jobs.reduce.one_run import PreparedRun, prepare_run
from headrace.notices import Notice, Severity, merged
from headrace.records.answers import BudgetLine, Estimate
from headrace.records.given import Campaign, Origin, RunGiven
from headrace.records.readings import Characteristic, Reading, RunResult, ZeroSeen, characteristic_key
from headrace.uncertainty.gum import GumResult, gum
from headrace.uncertainty.source import Source


def reduce(campaign: Campaign, *, executor: Executor | None = None) -> Reduced:
    """Reduce every water run of a campaign and join them into characteristics.

    Excluded runs are reduced too and shown, but enter no characteristic. A run that cannot be reduced leaves a
    *stop* notice; nothing is dropped silently.

    Args:
        executor: prepares the runs, each by itself, with the same numbers; default: one after the other, here.
    """
    campaign = calibrated(campaign)
    unread = [_hot(run) for run in campaign.runs.values() if run.kind != "water"]
    water = [run.id for run in campaign.runs.values() if run.kind == "water"]
    by_run = {one.run: one for one in _prepared(campaign, water, executor)}
    sources = merged_sources(source for one in by_run.values() for source in one.sources)
    scope = [left for one in by_run.values() for left in one.scope]
    prepared = [one for run in by_run.values() for one in run.streams if one.slices]
    slices = gum(SliceModel(streams={one.name: one.frozen for one in prepared}), tuple(sources.values()))
    fits = _fits(campaign, prepared, slices, sources)
    default = dict(sources)
    for fitted in fits:
        sources.update({source.name: source for source in fitted.sources})
    chain, found = contrasts(fits, sources, prepared, default)
    comparisons, crossovers = compared(campaign, fits, sources, prepared)
    u = slices.u
    areas_of = {name: (value, u[name]) for name, value in slices.nominal.items()}
    runs = {key: _result(campaign, one, areas_of, fits) for key, one in by_run.items()}
    wanted = tuple(sources[name] for name in dict.fromkeys((*chain.names, *_names(prepared))))
    areas = gum(chain, wanted)
    characteristics = {one.key: _characteristic(campaign, one, areas, prepared) for one in fits}
    evidence = CampaignEvidence(
        campaign=campaign,
        runs=runs,
        characteristics=characteristics,
        contrasts=found,
        comparisons=comparisons,
        crossovers=crossovers,
    )
    overall = [notice for find in CAMPAIGN_FINDINGS.values() for notice in find(evidence)]
    notices = merged(
        campaign.notices,
        *(run.notices for run in runs.values()),
        out_of_scope(scope),
        overall,
        unread,
        [] if fits or not campaign.runs else [_none_counts(campaign)],
    )
    return Reduced(
        runs=runs,
        characteristics=characteristics,
        water=chain,
        sources=wanted,
        notices=notices,
        contrasts=found,
        comparisons=comparisons,
        crossovers=crossovers,
        in_place={
            name: one.in_place for name, one in campaign.bench.meters.items() if one.in_place is not None
        },
    )


def _prepared(campaign: Campaign, runs: list[str], executor: Executor | None) -> Iterator[PreparedRun]:
    """Every run prepared, in order; to another process goes no run but those that it needs."""
    if executor is None:
        return (prepare_run(campaign, run) for run in runs)
    alone = [replace(campaign, runs=_with_its_pair(campaign, run), inputs={}) for run in runs]
    return executor.map(prepare_run, alone, runs)


def _with_its_pair(campaign: Campaign, run: str) -> dict[str, RunGiven]:
    given = campaign.runs[run]
    return {one: campaign.runs[one] for one in (run, given.minus) if one is not None and one in campaign.runs}


def merged_sources(met: Iterable[Source]) -> dict[str, Source]:
    """Sources by name, in the order met; one met twice keeps the larger uncertainty."""
    sources: dict[str, Source] = {}
    for source in met:
        known = sources.get(source.name)
        if known is None or source.u > known.u:
            sources[source.name] = source
    return sources


def _hot(run: RunGiven) -> Notice:
    return Notice(
        code="hot-run-not-used",
        severity=Severity.INFO,
        text=f"Run {run.id} is a hot run; this version reduces water runs only, so nothing here rests on it.",
        try_="give E_hot/E_water of own firings as `step_ratio` in engine.toml",
        run=run.id,
    )


def _none_counts(campaign: Campaign) -> Notice:
    left = [run.id for run in campaign.runs.values() if run.excluded is not None]
    why = f" {', '.join(left)} {'is' if len(left) == 1 else 'are'} left out by run.toml." if left else ""
    return Notice(
        code="no-run-counts",
        severity=Severity.DOUBT,
        text=f"No run counts, so there is no effective area and nothing to carry to an engine.{why}",
        facts=(("runs", float(len(campaign.runs))), ("runs_left_out", float(len(left)))),
        try_="see why each run is left out or not reduced; take one back in, or run again",
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
    campaign: Campaign, one: PreparedRun, areas: Mapping[str, tuple[float, float]], fits: list[Fitted]
) -> RunResult:
    """What is told of one run. areas: of every slice, with its standard uncertainty [m2]."""
    run = campaign.runs[one.run]
    return RunResult(
        run=run.id,
        method=run.method,
        excluded=run.excluded,
        windows={stream.stream: stream.window for stream in one.streams},
        readings=tuple(
            reading
            for stream in one.streams
            for reading in _readings(campaign, run, stream, one.origins[stream.name], areas, fits)
        ),
        series={stream.stream: stream.series for stream in one.streams if stream.series is not None},
        closure=one.closure,
        tares={
            tag: ZeroSeen(before=zero.before, after=zero.after, at_pressure=zero.at_pressure)
            for tag, zero in one.zeros.items()
        },
        notices=merged(one.notices),
        channels=one.channels,
    )


def _readings(
    campaign: Campaign,
    run: RunGiven,
    one: Prepared,
    origins: tuple[Origin, ...],
    areas: Mapping[str, tuple[float, float]],
    fits: list[Fitted],
) -> list[Reading]:
    """Every slice as it is reported; its doubt has the default of set-up to set-up, so that no other run spoils it."""
    fitted = next((f for f in fits if f.key == characteristic_key(one.stream, one.state)), None)
    used = None if fitted is None else fitted.used.get(one.name)
    area = None if "+" in one.stream else bore_area(one.circuit).value
    out = []
    for number, nominal in enumerate(one.slices):
        name = f"{one.name}#{number}"
        value, u = areas[name]
        counted = used is not None and bool(used[number])
        why = "" if counted else _why_unused(campaign, run)
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
                u=float(np.hypot(u, value * nominal.noise)),
                cd=None if area is None else value / area,
                noise=nominal.noise,
                used=counted,
                why=why,
                sources=one.frozen.names,
                origin=origins[number],
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
        models=one.models,
        choice=one.choice,
        cause=one.cause,
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
