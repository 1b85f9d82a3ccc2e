"""Comparisons that are results: a circuit alone and with its neighbour; two circuits by two lines, swapped.

Start at `compared`. Every number is of a difference, so that what both share has cancelled.
"""

from collections.abc import Mapping
from itertools import combinations

import numpy as np

from headrace.chain.contrasts import Combination, ContrastModel
from headrace.chain.water import Fit, WaterChain
from headrace.jobs.reduce.characteristic import Fitted
from headrace.jobs.reduce.context import Prepared
from headrace.jobs.reduce.contrasts import neighbours
from headrace.records.answers import Estimate
from headrace.records.given import Campaign
from headrace.records.readings import Comparison, Crossover
from headrace.uncertainty.gum import GumResult, gum
from headrace.uncertainty.source import Source

Lines = tuple[str, ...]


def compared(
    campaign: Campaign, fits: list[Fitted], sources: Mapping[str, Source], prepared: list[Prepared]
) -> tuple[tuple[Comparison, ...], tuple[Crossover, ...]]:
    """All comparisons and crossovers that the runs allow."""
    table = {one.key: one.fit for one in fits}
    pairs: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {}
    labels: dict[str, tuple[str, str, str, str]] = {}
    neighbours(table, pairs, labels)
    met = _crossed(fits)
    for one, other, lines in met:
        for fitted in (one, other):
            for line in lines:
                table[_at(fitted, line)] = fitted.by_line[line]
    if not pairs and not met:
        return (), ()
    wanted = dict.fromkeys(key for above, below in pairs.values() for key in (*above, *below))
    wanted |= dict.fromkeys(_at(one, line) for a, b, lines in met for one in (a, b) for line in lines)
    streams = {one.name: one.frozen for one in prepared}
    water = WaterChain(streams=streams, fits=table).only(tuple(wanted))
    mixes = {f"{place} {name}": mix for place, case in enumerate(met) for name, mix in _parts(*case).items()}
    model = ContrastModel(water=water, contrasts=pairs, combinations=mixes)
    result = gum(model, tuple(sources[name] for name in water.names))
    coverage = campaign.defaults.coverage
    comparisons = tuple(
        Comparison(
            kind=kind,
            stream=stream,
            a=a,
            b=b,
            ratio=_ratio(result, label, coverage),
            carried=carried,
            why=why,
        )
        for label, (kind, stream, a, b) in labels.items()
        for carried, why in (_carried(campaign, kind, stream),)
    )
    crossovers = tuple(
        Crossover(
            circuits=(one.key, other.key),
            lines=("+".join(lines[0]), "+".join(lines[1])),
            line_bias=_ratio(result, f"{place} line", coverage, less=1.0),
            circuit_ratio=_ratio(result, f"{place} circuit", coverage),
            unexplained=_plain(result, f"{place} left", coverage),
            runs=tuple(sorted({run for case in (one, other) for line in lines for run in _runs(case, line)})),
        )
        for place, (one, other, lines) in enumerate(met)
    )
    return comparisons, crossovers


def _crossed(fits: list[Fitted]) -> list[tuple[Fitted, Fitted, tuple[Lines, Lines]]]:
    """Pairs of circuits that were both run by the same two lines, in one state."""
    out: list[tuple[Fitted, Fitted, tuple[Lines, Lines]]] = []
    single = [one for one in fits if "+" not in one.stream]
    for one, other in combinations(single, 2):
        both = [line for line in one.by_line if line in other.by_line]
        if one.state == other.state:
            out.extend((one, other, pair) for pair in combinations(sorted(both), 2))
    return out


def _parts(one: Fitted, other: Fitted, lines: tuple[Lines, Lines]) -> dict[str, Combination]:
    """What is the lines', the circuits', and left over, as sums of the four values of ln E."""
    keys = [_at(fitted, line) for fitted in (one, other) for line in lines]
    signs = {"line": (1, -1, 1, -1), "circuit": (1, 1, -1, -1), "left": (1, -1, -1, 1)}
    return {
        name: tuple((key, 0.5 * sign) for key, sign in zip(keys, row, strict=True))
        for name, row in signs.items()
    }


def _at(fitted: Fitted, line: Lines) -> str:
    return f"{fitted.key} @ {'+'.join(line)}"


def _runs(fitted: Fitted, line: Lines) -> tuple[str, ...]:
    fit: Fit = fitted.by_line[line]
    return tuple(member.partition(":")[0] for member in fit.members)


def _ratio(result: GumResult, name: str, coverage: float, *, less: float = 0.0) -> Estimate:
    """A ratio (less 1 where wanted) from its logarithm."""
    low, high = result.interval(name, coverage)
    value = float(np.exp(result.nominal[name]))
    return Estimate(
        value=value - less,
        u=value * result.u[name],
        low=float(np.exp(low)) - less,
        high=float(np.exp(high)) - less,
        unit="1",
        coverage=coverage,
        dof=result.dof[name],
    )


def _plain(result: GumResult, name: str, coverage: float) -> Estimate:
    low, high = result.interval(name, coverage)
    return Estimate(
        value=result.nominal[name],
        u=result.u[name],
        low=low,
        high=high,
        unit="1",
        coverage=coverage,
        dof=result.dof[name],
    )


def _carried(campaign: Campaign, kind: str, stream: str) -> tuple[str | None, str]:
    """Which state the engine carries, and why; nothing where it has no choice."""
    if kind != "neighbour" or "+" in stream:
        return None, ""
    sides = campaign.engine.sides.values() if campaign.engine is not None else ()
    owned = next((one.characteristic for side in sides for one in side.circuits if one.id == stream), None)
    if owned is not None:
        return owned, "the owner's choice in engine.toml"
    return "alone", "default where there is one; `characteristic` in engine.toml"
