"""Propagation of distributions: JCGM 101:2008. The model at many draws of every source, in blocks.

Every block is one call of a module-level function with its own seeds, and blocks are joined in order: any
`concurrent.futures.Executor`, or none, and any number of workers, give the same numbers to the last bit.
(Another `block` size gives other draws.) A draw for which the model has no answer is NaN: it is counted in
`lost` and left out of the estimates of that output, never replaced. Start at `monte_carlo`.
"""

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial
from math import ceil, nan

import numpy as np
from numpy.typing import NDArray

from headrace.uncertainty.draws import block_errors
from headrace.uncertainty.errors_map import Draws, Model, evaluate
from headrace.uncertainty.samples import Interval, shortest_interval, symmetric_interval, tolerance
from headrace.uncertainty.source import Source, check_names

BLOCK = 4096
"""Draws per call of the model: its arrays then stay in the processor's cache."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """What the draws of one output say; NaN throughout when fewer than two have an answer.

    low, high: interval that leaves out the same probability on both sides.
    shortest: shortest interval of the same coverage.
    count: draws with an answer; lost: draws without.
    """

    mean: float
    u: float
    low: float
    high: float
    shortest: Interval
    count: int
    lost: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MonteCarloResult:
    """Draws of all outputs, in order, and what they say.

    draws: how many were made. samples: output -> its draws, NaN where there is no answer.
    settled: output -> whether mean, u and both ends of its interval are known to the digits asked for
        (JCGM 101:2008, 7.9.4); empty when the run was not adaptive.
    """

    outputs: tuple[str, ...]
    sources: tuple[Source, ...]
    coverage: float
    seed: int
    draws: int
    samples: Mapping[str, Draws]
    summary: Mapping[str, Summary]
    settled: Mapping[str, bool]

    @property
    def mean(self) -> dict[str, float]:
        """Mean of every output."""
        return {name: self.summary[name].mean for name in self.outputs}

    @property
    def u(self) -> dict[str, float]:
        """Standard deviation of every output."""
        return {name: self.summary[name].u for name in self.outputs}

    @property
    def lost(self) -> dict[str, int]:
        """Draws without an answer, per output."""
        return {name: self.summary[name].lost for name in self.outputs}

    def interval(self, output: str) -> Interval:
        """Interval of `coverage` that leaves out the same probability on both sides."""
        summary = self.summary[output]
        return summary.low, summary.high

    @property
    def covariance(self) -> NDArray[np.float64]:
        """Covariance of the outputs, in their order: each pair from the draws where both have an answer."""
        size = len(self.outputs)
        result = np.full((size, size), nan)
        for i, first in enumerate(self.outputs):
            for j, second in enumerate(self.outputs[: i + 1]):
                a, b = self.samples[first], self.samples[second]
                both = np.isfinite(a) & np.isfinite(b)
                if np.count_nonzero(both) > 1:
                    a, b = a[both], b[both]
                    part = float(np.sum((a - a.mean()) * (b - b.mean()))) / (a.size - 1)
                    result[i, j] = result[j, i] = part
        return result

    @property
    def correlation(self) -> NDArray[np.float64]:
        """Correlation of the outputs, in their order; NaN with an output that does not vary."""
        covariance = self.covariance
        u = np.sqrt(np.diag(covariance))
        scale = np.outer(u, u)
        result: NDArray[np.float64] = np.full(scale.shape, nan)
        np.divide(covariance, scale, out=result, where=scale > 0)
        return result


def run_block(
    model: Model,
    sources: tuple[Source, ...],
    outputs: tuple[str, ...] | None,
    seed: int,
    block: tuple[int, int],
) -> dict[str, Draws]:
    """Outputs of one block (its number, its size): the unit of work that goes to an executor."""
    number, size = block
    got = evaluate(model, block_errors(sources, seed, number, size), size, outputs)
    return {name: np.ascontiguousarray(values) for name, values in got.items()}


def monte_carlo(
    model: Model,
    sources: Sequence[Source],
    *,
    draws: int = 100_000,
    block: int = BLOCK,
    seed: int = 0,
    executor: Executor | None = None,
    outputs: Sequence[str] | None = None,
    coverage: float = 0.95,
    adaptive: bool = False,
    digits: int = 2,
    max_draws: int = 2_000_000,
) -> MonteCarloResult:
    """Draw all sources, call the model, and say what came out.

    Args:
        model: Pure function of `Errors`; must pickle when the executor uses processes.
        sources: All sources the model asks for, each name once.
        draws: How many; with `adaptive`, the first round.
        block: Draws per call of the model.
        seed: Of all streams; 0 or more.
        executor: Where blocks are run; None runs them here.
        outputs: Names to keep; None keeps all.
        coverage: Of the intervals, between 0 and 1.
        adaptive: Go on until every output with a spread is settled to `digits`, or `max_draws` is reached.
        digits: Significant digits of u that must be right.
        max_draws: Where an adaptive run ends at the latest.
    Returns:
        Draws and summaries; `settled` tells which outputs of an adaptive run did not get there.
    Raises:
        ValueError: a name twice, or a number out of range.
        UnknownSource: the model asks for a source that is not among them.
    Source:
        JCGM 101:2008, 7.2 to 7.7; adaptive 7.9.

    >>> from headrace.uncertainty.source import Source
    >>> a = Source(name="a", u=2.0, scope="run", origin="example")
    >>> round(monte_carlo(lambda e: {"y": 5 + e["a"]}, [a], draws=20_000).u["y"], 1)
    2.0
    """
    check_names(sources)
    if draws < 1 or block < 1 or not 0 < coverage < 1 or digits < 1:
        raise ValueError("draws, block and digits must be 1 or more, coverage between 0 and 1")
    task = partial(run_block, model, tuple(sources), None if outputs is None else tuple(outputs), seed)
    limit = max(draws, max_draws) if adaptive else draws
    batch = _batch_size(coverage)
    target = min(max(draws, 2 * batch), limit) if adaptive else draws
    kept: dict[str, list[Draws]] = {}
    done, number = 0, 0
    settled: dict[str, bool] = {}
    while done < target:
        work: list[tuple[int, int]] = []
        while done < target:
            size = min(block, limit - done)  # an adaptive round ends on a whole block
            work.append((number, size))
            done, number = done + size, number + 1
        for part in map(task, work) if executor is None else executor.map(task, work, chunksize=2):
            for name, values in part.items():
                kept.setdefault(name, []).append(values)
        if adaptive:
            samples = {name: np.concatenate(values) for name, values in kept.items()}
            kept = {name: [values] for name, values in samples.items()}
            settled = {name: _settled(values, coverage, digits, batch) for name, values in samples.items()}
            if not all(settled.values()):
                target = min(done + max(batch, done // 4), limit)
    samples = {name: np.concatenate(values) for name, values in kept.items()}
    return MonteCarloResult(
        outputs=tuple(samples),
        sources=tuple(sources),
        coverage=coverage,
        seed=seed,
        draws=done,
        samples=samples,
        summary={name: summarise(values, coverage) for name, values in samples.items()},
        settled=settled,
    )


def summarise(values: Draws, coverage: float) -> Summary:
    """What the draws of one output say; NaN are counted and left out."""
    ordered = np.sort(values[np.isfinite(values)])
    count = int(ordered.size)
    low, high = symmetric_interval(ordered, coverage)
    return Summary(
        mean=float(ordered.mean()) if count else nan,
        u=float(ordered.std(ddof=1)) if count > 1 else nan,
        low=low,
        high=high,
        shortest=shortest_interval(ordered, coverage),
        count=count,
        lost=int(values.size) - count,
    )


def _batch_size(coverage: float) -> int:
    """Draws in one of the batches whose spread tells how far a number is settled: JCGM 101:2008, 7.9.4 b)."""
    return max(ceil(100 / (1 - coverage)), 10_000)


def _settled(values: Draws, coverage: float, digits: int, batch: int) -> bool:
    """Whether twice the standard deviation of the mean of each batch number is within the tolerance.

    An output that does not vary is settled; one without answers never will be, so it is not waited for.
    Source: JCGM 101:2008, 7.9.4.
    """
    whole = values.size // batch
    found = [summarise(values[k * batch : (k + 1) * batch], coverage) for k in range(whole)]
    table = np.array([(part.mean, part.u, part.low, part.high) for part in found])
    total = values[np.isfinite(values)]
    if total.size < 2 or whole < 2:
        return total.size < 2
    allowed = tolerance(float(total.std(ddof=1)), digits)
    spread = table.std(axis=0, ddof=1) / np.sqrt(whole)
    return bool(np.all(2 * spread <= allowed))
