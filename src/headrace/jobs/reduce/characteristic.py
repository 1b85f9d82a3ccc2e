"""From the runs of one stream to its characteristic: weights, slope, what may be carried. Start at `fit`.

Constant E is carried unless the campaign separated the causes of a slope: in an open-air sweep at one
temperature Reynolds number, cavitation number and 1/dp run together, and a slope could be any of them.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.elements import ELEMENTS
from headrace.chain.water import Fit
from headrace.jobs.reduce.context import WATER, Prepared, SliceNominal
from headrace.jobs.reduce.weights import Weighed, run_weights, scatter, weigh
from headrace.records.given import Campaign
from headrace.records.readings import characteristic_key
from headrace.stats.linear import least_squares_map
from headrace.uncertainty.gum import GumResult
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

SEPARATED = 0.9
"""Causes count as separated when ln Re correlates with neither 1/dp nor K by more than this over the used slices."""

CLEAR = 2.0
"""A slope or a difference counts when it exceeds this many of its standard uncertainties."""


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
    members = [prepared for prepared in members if np.any(used[prepared.name])]
    runs = [weigh(prepared, used[prepared.name], slices, sources) for prepared in members]
    setup, dof, origin = scatter(runs, campaign.defaults.run_to_run)
    share = run_weights(runs, setup)
    level = [w * run.within for w, run in zip(share, runs, strict=True)]
    flat = np.concatenate(level)
    kept = flat > 0
    nominal = [one for prepared in members for one in prepared.slices]
    ln_re = np.log(np.array([one.re for one in nominal]))
    ln_ref = float(flat @ ln_re)
    noise = np.array([one.noise for one in nominal])
    slope_map = _slope(ln_re - ln_ref, flat, kept)
    slope_seen, u_slope = _slope_seen(slope_map, members, slices, noise, setup)
    separated = _separated(nominal, kept)
    carried = separated and slope_map is not None and abs(slope_seen) > CLEAR * u_slope
    names = [f"{key}.noise"] + ([f"{key}.slope_noise"] if carried else [])
    own = [_noise(names[0], float(np.sqrt(np.sum((flat * noise) ** 2))))]
    if carried and slope_map is not None:
        own.append(_noise(names[1], float(np.sqrt(np.sum((slope_map * noise) ** 2)))))
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
        slope=tuple(_parts(slope_map, members)) if carried and slope_map is not None else None,
        re_ref=float(np.exp(ln_ref)),
        noise=tuple(names),
    )
    by_line = _by_line(frozen, runs, share, key)
    own.extend(source for _, source in by_line.values())
    by_run = {} if carried else _by_run(frozen, runs, share, key)
    own.extend(source for pair in by_run.values() for _, source in pair)
    re = np.exp(ln_re[kept])
    return Fitted(
        key=key,
        stream=stream,
        state=state,
        fit=frozen,
        sources=tuple(own),
        model="slope" if carried else "constant",
        why=_why(carried, separated, slope_seen, u_slope),
        re_span=(float(re.min()), float(re.max())),
        cav_least=float(min(one.cav for one, keep in zip(nominal, kept, strict=True) if keep)),
        slope_seen=slope_seen,
        u_slope=u_slope,
        weights={prepared.run: float(w) for prepared, w in zip(members, share, strict=True)},
        days=len({name for p in members for name in p.frozen.names if name.endswith(".day")}),
        used=used,
        by_line={line: part for line, (part, _) in by_line.items()},
        line_share=_line_share(runs, share),
        by_run={run: (one, rest) for run, ((one, _), (rest, _)) in by_run.items()},
    )


def _slope(x: Array, weights: Array, kept: NDArray[np.bool_]) -> Array | None:
    """Row of the least-squares map that gives d ln E / d ln Re; None when Re does not vary enough to tell."""
    if np.count_nonzero(kept) < 3 or np.ptp(x[kept]) < 0.05:
        return None
    design = np.stack([np.ones(int(np.count_nonzero(kept))), x[kept]], axis=1)
    row = np.zeros_like(x)
    row[kept] = least_squares_map(design, weights[kept]).matrix[1]
    return row


def _slope_seen(
    row: Array | None, members: list[Prepared], slices: GumResult, noise: Array, setup: float
) -> tuple[float, float]:
    """Slope at nominal and its standard uncertainty, all sources; the set-up term as the runs themselves tell it."""
    if row is None:
        return 0.0, float("inf")
    rows = [slices.outputs.index(f"{p.name}#{k}") for p in members for k in range(len(p.slices))]
    areas = np.array([slices.nominal[slices.outputs[at]] for at in rows])
    parts = slices.contributions[rows] / areas[:, None]
    steady = [k for k, head in enumerate(slices.rows) if not head.name.endswith(".setup")]
    by_run = np.array([np.sum(part) for part in _parts(row, members)])
    variance = float(
        np.sum((row @ parts[:, steady]) ** 2) + np.sum((row * noise) ** 2) + np.sum((by_run * setup) ** 2)
    )
    return float(row @ np.log(areas)), float(np.sqrt(variance))


def _separated(nominal: list[SliceNominal], kept: NDArray[np.bool_]) -> bool:
    """Whether Re varied apart from both 1/dp and K."""
    rows = np.array(
        [(np.log(one.re), 1 / one.dp, one.cav) for one, keep in zip(nominal, kept, strict=True) if keep]
    )
    if len(rows) < 4 or np.any(np.ptp(rows, axis=0) == 0):
        return False
    table = np.corrcoef(rows.T)
    return bool(abs(table[0, 1]) < SEPARATED and abs(table[0, 2]) < SEPARATED)


def _why(carried: bool, separated: bool, slope: float, u: float) -> str:
    if carried:
        return "slope carried: Re varied apart from 1/dp and K, and the slope is clear"
    if not np.isfinite(u):
        return "constant: Re varied too little for a slope to be seen"
    if not separated:
        return "constant: Re, K and 1/dp ran together, a slope could be any of them"
    return f"constant: slope {slope:+.4f} is within {CLEAR:g} standard uncertainties ({u:.4f}) of none"


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
