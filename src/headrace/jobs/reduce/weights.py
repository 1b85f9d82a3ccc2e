"""Weights of slices and runs, and how far runs scatter: from unshared, run-level doubt only. Start at `weigh`.

Slices of a run share its zero, set-up and window, so first a run becomes one value (its slices weighted by what
is their own), then runs are weighted by what is theirs, and by what their instruments do not have in common. All
weights are positive; parts that all runs share act through the chain and never here.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from headrace.jobs.reduce.context import Prepared
from headrace.uncertainty.gum import GumResult
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

FLOOR = 1e-4
"""No slice is taken for better known than this (relative)."""

ALONG = 0.1
"""Runs whose mean Re differs by less than this (ln) tell no slope from scatter."""

PRIOR_DOF = 4.0
"""How many observed differences the default run-to-run term is worth when runs have their own say."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """One run of a characteristic. within: weights of all its slices (0 for unused), adding to 1; value: ln E.

    variance: unshared run-level variance without the run-to-run term; noise: variance of the mean from scatter.
    parts: of ln E, by row of the slices' GUM result; apart: variance by instruments that not all the runs share.
    """

    prepared: Prepared
    within: Array
    value: float
    variance: float
    noise: float
    parts: Array = field(default_factory=lambda: np.zeros(0))
    apart: float = 0.0


def weigh(
    prepared: Prepared, used: NDArray[np.bool_], slices: GumResult, sources: Mapping[str, Source]
) -> Weighed:
    """One run as a weighted mean of its used slices.

    Args:
        prepared: the run's stream.
        used: which slices enter.
        slices: GUM result of every slice's area, output "<name>#<number>".
        sources: all, by name.
    """
    rows = [slices.outputs.index(f"{prepared.name}#{k}") for k in range(len(prepared.slices))]
    areas = np.array([slices.nominal[slices.outputs[row]] for row in rows])
    parts = slices.contributions[rows] / areas[:, None]
    own = np.array([_own(head.name, sources) for head in slices.rows])
    noise = np.array([one.noise for one in prepared.slices])
    variance = noise**2 + np.sum(parts[:, own] ** 2, axis=1) + FLOOR**2
    within = np.where(used, 1 / variance, 0.0)
    within = within / np.sum(within)
    unshared = own | np.array([head.name.endswith(".window") for head in slices.rows])
    return Weighed(
        prepared=prepared,
        within=within,
        value=float(within @ np.log(areas)),
        variance=float(np.sum((within @ parts[:, unshared]) ** 2)),
        noise=float(np.sum((within * noise) ** 2)),
        parts=np.where(unshared, 0.0, within @ parts),
    )


def told_apart(runs: list[Weighed], names: Sequence[str]) -> list[Weighed]:
    """The runs with what their instruments do not have in common: a poor gauge must not weigh like a good cell.

    What all runs share moves them together and gives no run less weight; nor do set-up and day, which come apart.

    Args:
        names: of the sources, by row of `Weighed.parts`.
    """
    common = set.intersection(*(set(run.prepared.frozen.names) for run in runs))
    counts = np.array([name not in common and not name.endswith((".setup", ".day")) for name in names])
    return [replace(run, apart=float(np.sum(run.parts[counts] ** 2))) for run in runs]


def _own(name: str, sources: Mapping[str, Source]) -> bool:
    """Whether a source is a run's own measurement: its zeros and readings, not its set-up, day or window.

    Where it acts on a stream it is that run's (or, in a pair, the short run's).
    """
    source = sources.get(name)
    return source is not None and source.scope == "run" and not name.endswith((".setup", ".day", ".window"))


def run_weights(runs: list[Weighed], setup: float) -> Array:
    """Weight of each run, adding to 1."""
    weight = 1 / np.array([run.variance + run.apart + run.noise + setup**2 + FLOOR**2 for run in runs])
    return np.asarray(weight / np.sum(weight))


def scatter(runs: list[Weighed], default: float, along: Array | None = None) -> tuple[float, float, str]:
    """Run-to-run standard uncertainty of ln E: the default, and what the runs themselves say, joined.

    Runs of one day through the same lines are compared with each other only; what their own zeros and readings
    explain is taken out of their scatter, so that it is not counted twice. A single difference
    may widen the default but never narrow it: two runs agree by chance too often.

    Args:
        runs: of one characteristic. default: the owner's.
        along: ln Re of each run, where E may go with it: a common slope is taken out first, for one of the differences.
    Returns:
        Standard uncertainty, its degrees of freedom (infinite for the bare default), and where it comes from.
    """
    groups: dict[tuple[str, tuple[str, ...]], list[int]] = {}
    dates = {
        run.prepared.name: next(n for n in run.prepared.frozen.names if n.endswith(".day")) for run in runs
    }
    for number, run in enumerate(runs):
        groups.setdefault((dates[run.prepared.name], run.prepared.lines), []).append(number)
    square, dof, explained = 0.0, 0, 0.0
    across, common = 0.0, 0.0
    for members in groups.values():
        if len(members) > 1:
            values = np.array([runs[k].value for k in members])
            values = values - values.mean()
            square += float(np.sum(values**2))
            variances = [runs[k].variance + runs[k].noise for k in members]
            explained += float(np.mean(variances)) * (len(members) - 1)
            dof += len(members) - 1
            if along is not None:
                x = along[members] - np.mean(along[members])
                across, common = across + float(np.sum(x**2)), common + float(np.sum(x * values))
    if dof > 0 and across > ALONG**2:
        square = max(square - common**2 / across, 0.0)
        explained, dof = explained * (dof - 1) / dof, dof - 1
    seen = max(square - explained, 0.0)
    if dof == 0 or (dof == 1 and seen <= default**2):
        return default, float("inf"), "run to run, default"
    u = float(np.sqrt((PRIOR_DOF * default**2 + seen) / (PRIOR_DOF + dof)))
    return u, PRIOR_DOF + dof, f"run to run, from {len(runs)} runs and the default"
