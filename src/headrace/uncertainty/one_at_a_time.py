"""Monte Carlo variances with one source drawn at a time: what a budget can be held against, row by row.

Start at `one_at_a_time`.
"""

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from headrace.uncertainty.draws import draw
from headrace.uncertainty.errors_map import Model, evaluate
from headrace.uncertainty.monte_carlo import BLOCK
from headrace.uncertainty.source import Source, check_names


@dataclass(frozen=True, slots=True, kw_only=True)
class OneAtATime:
    """Variances by source.

    variance: output -> (sources,), unit of the output squared.
    sampling_error: output -> (sources,), standard error of each variance.
    lost: output -> (sources,), draws without an answer.
    """

    sources: tuple[Source, ...]
    variance: Mapping[str, NDArray[np.float64]]
    sampling_error: Mapping[str, NDArray[np.float64]]
    lost: Mapping[str, NDArray[np.int64]]


def run_source(
    model: Model,
    sources: tuple[Source, ...],
    outputs: tuple[str, ...] | None,
    seed: int,
    draws: int,
    block: int,
    index: int,
) -> dict[str, tuple[float, float, int]]:
    """Variance, its standard error and lost draws of every output, with one source drawn and all others 0."""
    parts: dict[str, list[NDArray[np.float64]]] = {}
    for number, start in enumerate(range(0, draws, block)):
        size = min(block, draws - start)
        still = np.zeros(size)
        errors = {source.name: still for source in sources}
        errors[sources[index].name] = draw(sources[index], seed, number, size)
        for name, values in evaluate(model, errors, size, outputs).items():
            parts.setdefault(name, []).append(values)
    return {name: _variance(np.concatenate(values)) for name, values in parts.items()}


def _variance(values: NDArray[np.float64]) -> tuple[float, float, int]:
    kept = values[np.isfinite(values)]
    lost = int(values.size - kept.size)
    if kept.size < 2:
        return float("nan"), float("nan"), lost
    apart = kept - kept.mean()
    square = float(np.mean(apart**2))
    fourth = float(np.mean(apart**4))
    return (
        square * kept.size / (kept.size - 1),
        float(np.sqrt(max(fourth - square**2, 0.0) / kept.size)),
        lost,
    )


def one_at_a_time(
    model: Model,
    sources: Sequence[Source],
    *,
    draws: int = 20_000,
    block: int = BLOCK,
    seed: int = 0,
    executor: Executor | None = None,
    outputs: Sequence[str] | None = None,
) -> OneAtATime:
    """Draw each source alone, all others at zero, and keep the variance of every output.

    A budget agrees when each squared contribution (with the second-order row of that source alone) lies
    within a few sampling errors of the variance here, times `DISTRIBUTIONS[dist].variance(dof)` for shapes
    whose draws are wider than u. Draws are those `monte_carlo` makes of the source with the same seed and
    block. Arguments are those of `monte_carlo`.

    Source: JCGM 101:2008, annex B.
    """
    check_names(sources)
    kept = tuple(sources)
    names = None if outputs is None else tuple(outputs)
    task = partial(run_source, model, kept, names, seed, draws, block)
    indices = range(len(kept))
    found = list(map(task, indices) if executor is None else executor.map(task, indices))
    all_names = tuple(found[0]) if found else ()
    columns = {name: [part[name] for part in found] for name in all_names}
    return OneAtATime(
        sources=kept,
        variance={n: np.array([c[0] for c in column]) for n, column in columns.items()},
        sampling_error={n: np.array([c[1] for c in column]) for n, column in columns.items()},
        lost={n: np.array([c[2] for c in column], dtype=np.int64) for n, column in columns.items()},
    )
