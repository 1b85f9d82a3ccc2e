"""From the runs of one stream to its characteristic: weights, model, what may be carried. Start at `fit`.

Constant E is carried unless the campaign separated the causes of a slope: in an open-air sweep at one
temperature Reynolds number, cavitation number and 1/dp run together, and a slope could be any of them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from headrace.bench.elements import ELEMENTS
from headrace.chain.water import Fit
from headrace.jobs.reduce.cause import NOT_REYNOLDS, cause_of
from headrace.jobs.reduce.context import WATER, Prepared, SliceNominal
from headrace.jobs.reduce.models import Chosen, Spread, Terms, choose
from headrace.jobs.reduce.weights import Weighed, run_weights, scatter, told_apart, weigh
from headrace.records.given import Campaign
from headrace.records.readings import Cause, ModelSeen, characteristic_key
from headrace.uncertainty.gum import GumResult
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

SEPARATED = 0.9
"""Causes count as separated when ln Re correlates with neither 1/dp nor K by more than this over the used slices."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """One characteristic, frozen, with what its report needs."""

    key: str
    stream: str
    state: str
    fit: Fit
    sources: tuple[Source, ...]
    model: str
    why: str
    re_span: tuple[float, float]
    cav_least: float
    slope_seen: float
    u_slope: float
    weights: Mapping[str, float]
    days: int
    used: Mapping[str, NDArray[np.bool_]]
    by_line: Mapping[tuple[str, ...], Fit]
    line_share: Mapping[tuple[str, ...], float]
    by_run: Mapping[str, tuple[Fit, Fit]]  # by run: the run, and the others by its lines
    models: tuple[ModelSeen, ...]
    choice: str
    cause: Cause | None


def usable(campaign: Campaign, prepared: Prepared) -> NDArray[np.bool_]:
    """Which slices are clear of cavitation, as far as K can judge the element."""
    element = ELEMENTS[prepared.circuit.element]
    cav = np.array([one.cav for one in prepared.slices])
    return (cav > campaign.limits.cavitation_stop) | element.gas_cored


def fit(
    campaign: Campaign, members: list[Prepared], slices: GumResult, sources: Mapping[str, Source]
) -> Fitted:
    """Freeze the characteristic of one stream in one state from all its runs."""
    stream, state = members[0].stream, members[0].state
    key = characteristic_key(stream, state)
    used = {prepared.name: usable(campaign, prepared) for prepared in members}
    if not any(np.any(flags) for flags in used.values()):
        used = {
            name: np.ones_like(flags) for name, flags in used.items()
        }  # all cavitate: kept, and the step says so
    cause = cause_of(campaign, members, partial(spread_of, members, slices))
    members = [prepared for prepared in members if np.any(used[prepared.name])]
    runs = told_apart(
        [weigh(prepared, used[prepared.name], slices, sources) for prepared in members],
        [head.name for head in slices.rows],
    )
    nominal = [one for prepared in members for one in prepared.slices]
    joined = _joined(campaign, runs, slices, nominal, cause)
    setup, dof, origin, share, level = joined.setup, joined.dof, joined.origin, joined.share, joined.level
    kept = np.concatenate(level) > 0
    carried = joined.chosen.carried
    noise = np.array([one.noise for one in nominal])
    names = [f"{key}.noise"] + ([f"{key}.slope_noise"] if carried.row is not None else [])
    own = [_noise(names[0], float(np.sqrt(np.sum((np.concatenate(level) * noise) ** 2))))]
    if carried.row is not None:
        own.append(_noise(names[1], float(np.sqrt(np.sum((carried.row * noise) ** 2)))))
    own.extend(
        Source(
            name=f"{prepared.run}.{stream}.setup",
            u=setup,
            dist="t" if np.isfinite(dof) else "normal",
            dof=dof,
            scope="run",
            origin=origin,
            group=WATER,
        )
        for prepared in members
    )
    frozen = Fit(
        members=tuple(prepared.name for prepared in members),
        level=tuple(level),
        slope=None if carried.row is None else tuple(_parts(carried.row, members)),
        re_ref=carried.re_ref,
        noise=tuple(names),
        model=carried.model.name,
    )
    by_line = _by_line(frozen, runs, share, key)
    own.extend(source for _, source in by_line.values())
    by_run = {} if carried.row is not None else _by_run(frozen, runs, share, key)
    own.extend(source for pair in by_run.values() for _, source in pair)
    re = np.array([one.re for one in nominal])[kept]
    log = next((one for one in joined.chosen.tried if one.model.name == "slope"), None)
    return Fitted(
        key=key,
        stream=stream,
        state=state,
        fit=frozen,
        sources=tuple(own),
        model=carried.model.name,
        why=joined.chosen.why,
        re_span=(float(re.min()), float(re.max())),
        cav_least=float(min(one.cav for one, keep in zip(nominal, kept, strict=True) if keep)),
        slope_seen=0.0 if log is None else log.coefficient,
        u_slope=float("inf") if log is None else log.u,
        weights={prepared.run: float(w) for prepared, w in zip(members, share, strict=True)},
        days=len({name for p in members for name in p.frozen.names if name.endswith(".day")}),
        used=used,
        by_line={line: part for line, (part, _) in by_line.items()},
        line_share=_line_share(runs, share),
        by_run={run: (one, rest) for run, ((one, _), (rest, _)) in by_run.items()},
        models=joined.chosen.seen(),
        choice=joined.chosen.choice,
        cause=cause,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Joined:
    """Runs joined: run-to-run term, weight of each run, weights of all slices, and the model these speak for."""

    setup: float
    dof: float
    origin: str
    share: Array
    level: list[Array]
    chosen: Chosen


def _joined(
    campaign: Campaign,
    runs: list[Weighed],
    slices: GumResult,
    nominal: list[SliceNominal],
    cause: Cause | None,
) -> _Joined:
    """Weights and model. Where a slope may be carried, runs scatter about it, and not about their mean."""
    re = np.array([one.re for one in nominal])
    kept = np.concatenate([run.within for run in runs]) > 0
    found = "" if cause is None else NOT_REYNOLDS.get(cause.verdict, "")
    terms = Terms(separated=_separated(nominal, kept), cause=found, least_span=campaign.limits.re_span)
    default = campaign.defaults.run_to_run
    if terms.may_carry(re[kept]):
        own = [np.log([one.re for one in run.prepared.slices]) for run in runs]
        along = np.array([float(run.within @ ln_re) for run, ln_re in zip(runs, own, strict=True)])
        sloped = _weighted(runs, scatter(runs, default, along), slices, re, terms)
        if sloped.chosen.carried.row is not None:
            return sloped
    return _weighted(runs, scatter(runs, default), slices, re, terms)


def _weighted(
    runs: list[Weighed], scattered: tuple[float, float, str], slices: GumResult, re: Array, terms: Terms
) -> _Joined:
    setup, dof, origin = scattered
    share = run_weights(runs, setup)
    level = [w * run.within for w, run in zip(share, runs, strict=True)]
    ln_area, spread = spread_of([run.prepared for run in runs], slices, setup, dof)
    chosen = choose(re, ln_area, np.concatenate(level), spread, terms)
    return _Joined(setup=setup, dof=dof, origin=origin, share=share, level=level, chosen=chosen)


def spread_of(
    members: list[Prepared], slices: GumResult, setup: float, dof: float = float("inf")
) -> tuple[Array, Spread]:
    """ln E of all slices of some streams, and its covariance: all sources, the set-up term as told."""
    rows = [slices.outputs.index(f"{p.name}#{k}") for p in members for k in range(len(p.slices))]
    areas = np.array([slices.nominal[slices.outputs[at]] for at in rows])
    steady = [k for k, head in enumerate(slices.rows) if not head.name.endswith(".setup")]
    parts = slices.contributions[np.ix_(rows, steady)] / areas[:, None]
    return np.log(areas), Spread(
        sources=parts @ parts.T,
        noise=np.array([one.noise for p in members for one in p.slices]),
        run=np.array([number for number, p in enumerate(members) for _ in p.slices]),
        setup=setup,
        dof=dof,
    )


def _separated(nominal: list[SliceNominal], kept: NDArray[np.bool_]) -> bool:
    """Whether Re varied apart from both 1/dp and K."""
    rows = np.array(
        [(np.log(one.re), 1 / one.dp, one.cav) for one, keep in zip(nominal, kept, strict=True) if keep]
    )
    if len(rows) < 4 or np.any(np.ptp(rows, axis=0) == 0):
        return False
    table = np.corrcoef(rows.T)
    return bool(abs(table[0, 1]) < SEPARATED and abs(table[0, 2]) < SEPARATED)


def _noise(name: str, u: float) -> Source:
    return Source(name=name, u=u, scope="run", origin="scatter of the samples about each slice", group=WATER)


def _parts(row: Array, members: list[Prepared]) -> list[Array]:
    cuts = np.cumsum([len(prepared.slices) for prepared in members])[:-1]
    return [np.asarray(part) for part in np.split(row, cuts)]


def _line_share(runs: list[Weighed], share: Array) -> dict[tuple[str, ...], float]:
    """Weight of each set of lines in the fit."""
    out: dict[tuple[str, ...], float] = {}
    for run, part in zip(runs, share, strict=True):
        out[run.prepared.lines] = out.get(run.prepared.lines, 0.0) + float(part)
    return out


def _by_line(
    whole: Fit, runs: list[Weighed], share: Array, key: str
) -> dict[tuple[str, ...], tuple[Fit, Source]]:
    """One fit for each set of lines with its own noise, for line against line; empty when all runs used the same."""
    lines = dict.fromkeys(run.prepared.lines for run in runs)
    if len(lines) < 2:
        return {}
    out: dict[tuple[str, ...], tuple[Fit, Source]] = {}
    for line in lines:
        chosen = [k for k, run in enumerate(runs) if run.prepared.lines == line]
        out[line] = _part(whole, runs, share, chosen, f"{key} @ {'+'.join(line)}.noise")
    return out


def _by_run(
    whole: Fit, runs: list[Weighed], share: Array, key: str
) -> dict[str, tuple[tuple[Fit, Source], tuple[Fit, Source]]]:
    """Each run and the mean of the others by the same lines, for run against run; of two runs the first only."""
    out: dict[str, tuple[tuple[Fit, Source], tuple[Fit, Source]]] = {}
    for k, run in enumerate(runs):
        alike = [j for j, other in enumerate(runs) if other.prepared.lines == run.prepared.lines]
        others = [j for j in alike if j != k]
        if not others or (len(alike) == 2 and k == alike[1]):
            continue
        name = f"{key} @ run {run.prepared.run}"
        out[run.prepared.run] = (
            _part(whole, runs, share, [k], f"{name}.noise"),
            _part(whole, runs, share, others, f"{name}, others.noise"),
        )
    return out


def _part(whole: Fit, runs: list[Weighed], share: Array, chosen: list[int], name: str) -> tuple[Fit, Source]:
    """The mean of some of the runs, with its own noise."""
    part = share[chosen] / np.sum(share[chosen])
    own = np.array([runs[k].noise for k in chosen])
    noise = _noise(name, float(np.sqrt(np.sum(part**2 * own))))
    fit_of_part = Fit(
        members=tuple(runs[k].prepared.name for k in chosen),
        level=tuple(w * runs[k].within for w, k in zip(part, chosen, strict=True)),
        slope=None,
        re_ref=whole.re_ref,
        noise=(noise.name,),
    )
    return fit_of_part, noise
