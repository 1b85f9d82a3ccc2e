"""Meters calibrated in place: a run whose water was weighed, or read off a level, gives its meter a factor.

All runs by that meter use the factor, the calibrating run too. Every source of error of that run is carried in it by
its own name, to first order: so the meter's own coefficient and bores drop out, the gain of a cell that both rest on
cancels, and what scale or level share with another run's weighing cancels there. Start at `calibrated`.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

from headrace.errors import NoAnswer
from headrace.jobs.reduce.context import Context
from headrace.jobs.reduce.methods import METHODS
from headrace.records.given import Campaign
from headrace.records.in_place import InPlace, Part
from headrace.uncertainty.errors_map import Errors, Model
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

STEP = 1e-2
"""Share of a standard uncertainty by which each source is moved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """One run: ln of true over metered water, what each source does to it, and the sources."""

    run: str
    ln_factor: float
    weights: dict[str, float]
    sources: dict[str, Source]
    re: tuple[float, float] | None


def calibrated(campaign: Campaign) -> Campaign:
    """The campaign with the factor of every meter that its runs calibrate; runs that are left out calibrate nothing."""
    found: dict[str, list[_Found]] = {}
    for run in campaign.runs.values():
        if run.calibrates is not None and run.excluded is None:
            found.setdefault(run.calibrates, []).extend(_of_run(campaign, run.id, run.calibrates))
    if not any(found.values()):
        return campaign
    meters = {
        name: replace(meter, in_place=_joined(campaign, name, found[name])) if found.get(name) else meter
        for name, meter in campaign.bench.meters.items()
    }
    return replace(campaign, bench=replace(campaign.bench, meters=meters))


def _of_run(campaign: Campaign, run_id: str, meter: str) -> Iterator[_Found]:
    """What one run says; nothing where it cannot be reduced, which its own reduction tells."""
    run = campaign.runs[run_id].loaded()
    line = next(one.id for one in campaign.bench.lines.values() if one.meter == meter)
    flow = next((one for one in run.flows if one.lines == (line,)), None)
    if flow is None:
        return
    context = Context(campaign=campaign, run=run)
    try:
        prepared = METHODS[run.method](context, flow)
    except NoAnswer:
        return
    model = prepared.closing
    if model is None or not prepared.slices:
        return
    names = [name for name, one in context.sources.items() if one.u > 0]
    zero = dict.fromkeys(context.sources, 0.0)
    weights = {}
    for name in names:
        step = STEP * context.sources[name].u
        up, down = (_ln_factor(model, Errors(zero | {name: sign * step})) for sign in (1.0, -1.0))
        weight = (up - down) / (2 * step)
        if weight != 0:
            weights[name] = weight
    yield _Found(
        run=run.id,
        ln_factor=_ln_factor(model, Errors(zero)),
        weights=weights,
        sources={name: context.sources[name] for name in weights},
        re=prepared.re_pipe,
    )


def _ln_factor(model: Model, errors: Errors) -> float:
    """ln of witnessed over metered water."""
    return -log(1 + float(np.ravel(model(errors)["closure"])[0]))


def _joined(campaign: Campaign, meter: str, found: list[_Found]) -> InPlace:
    """The mean of all runs, each with the same weight, and what their scatter says beyond what each knows of itself."""
    n = len(found)
    values = np.array([one.ln_factor for one in found])
    sources: dict[str, Source] = {}
    weights: dict[str, float] = {}
    for one in found:
        for name, weight in one.weights.items():
            weights[name] = weights.get(name, 0.0) + weight / n
            if name not in sources or one.sources[name].u > sources[name].u:
                sources[name] = one.sources[name]
    parts = [
        Part(name=name, weight=weight, u=sources[name].u, dist=sources[name].dist, dof=sources[name].dof,
             scope=sources[name].scope, origin=sources[name].origin)
        for name, weight in weights.items()
    ]  # fmt: skip
    parts.append(_scatter(campaign, meter, found, values))
    known = [one.re for one in found if one.re is not None]
    spans = (min(low for low, _ in known), max(high for _, high in known)) if known else None
    return InPlace(
        factor=float(np.exp(np.mean(values))),
        parts=tuple(one for one in parts if one.u > 0),
        runs=tuple(one.run for one in found),
        re=spans,
    )


def _scatter(campaign: Campaign, meter: str, found: list[_Found], values: Array) -> Part:
    """How well the mean of so few runs is known beside their own sources; of one run, the owner's default."""
    n = len(found)
    if n == 1:
        u, dof, origin = (
            campaign.defaults.run_to_run,
            float("inf"),
            "run to run, default: one calibrating run only",
        )
    else:
        own = [
            sum(
                (one.weights[name] * one.sources[name].u) ** 2
                for name in one.weights
                if one.sources[name].scope == "run"
            )
            for one in found
        ]
        beyond = max(float(np.var(values, ddof=1)) - float(np.mean(own)), 0.0)
        u, dof, origin = (
            sqrt(beyond / n),
            float(n - 1),
            f"scatter of {n} calibrating runs beyond their own sources",
        )
    return Part(
        name=f"{meter}.in_place", weight=1.0, u=u, dist="normal", dof=dof, scope="instrument", origin=origin
    )
