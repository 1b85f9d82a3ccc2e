"""What changed between two reduced campaigns: inputs, runs, effective areas, set points, doubts.

The doubt of a difference is first order, from both budgets: a source that is the same error on both sides acts by the
difference of its contributions, any other by both. Start at `compare`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from headrace.chain.water import Reduced
from headrace.notices import Notice, merged
from headrace.records.answers import Answer, BudgetLine, Estimate
from headrace.records.compared import Compared, Difference, FileChange, KeyChange, RunChange
from headrace.records.given import Campaign

POINTS = ("tanks.ox", "tanks.fuel", "static.ox", "static.fuel", "p_chamber", "of_ratio", "m_dot.ox", "m_dot.fuel",
          "m_dot.total")  # fmt: skip
"""Paths of the answer that are held against each other."""

REACH = frozenset({"instrument", "shared", "model"})
"""Scopes that reach beyond one run."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Half:
    """One of the two. answer: None without an engine."""

    campaign: Campaign
    reduced: Reduced
    answer: Answer | None

    @property
    def notices(self) -> tuple[Notice, ...]:
        """All of them, gravest first."""
        return merged(self.answer.notices if self.answer is not None else (), self.reduced.notices)


def compare(before: Half, after: Half, *, keys: tuple[KeyChange, ...] = ()) -> Compared:
    """What is not the same in the second.

    Args:
        before, after: reduced, and balanced where there is an engine. keys: what changed within TOML files.
    """
    same = _same(before, after)
    alike = before.campaign.article.serial == after.campaign.article.serial
    known = [half.reduced.characteristics for half in (before, after)]
    areas = tuple(
        _difference(
            f"area_eff.{key}",
            [one[key].area_eff if key in one else None for one in known],
            [one[key].budget if key in one else () for one in known],
            same=same,
            alike=alike,
        )
        for key in dict.fromkeys((*known[0], *known[1]))
    )
    old, new = _names(before.notices), _names(after.notices)
    return Compared(
        files=tuple(_files(before.campaign.inputs, after.campaign.inputs)),
        keys=keys,
        runs=tuple(_runs(before, after, same.runs)),
        areas=areas,
        points=tuple(_points(before.answer, after.answer, same, alike)),
        notices_new=tuple(one for name, one in new.items() if name not in old),
        notices_gone=tuple(one for name, one in old.items() if name not in new),
        assumed=tuple(_assumed(before, after, same.runs, alike)),
    )


def _names(notices: tuple[Notice, ...]) -> dict[tuple[str, str, str | None, str], Notice]:
    """By what makes a doubt the same doubt: its code, gravity and place, not its numbers."""
    return {(one.code, one.severity.value, one.run, one.about): one for one in reversed(notices)}


def _files(before: Mapping[str, str], after: Mapping[str, str]) -> Iterator[FileChange]:
    for name in sorted({*before, *after}):
        if before.get(name) != after.get(name):
            yield FileChange(file=name, before=before.get(name), after=after.get(name))


@dataclass(frozen=True, slots=True, kw_only=True)
class Same:
    """What is the same on both sides: runs read from the same bytes, days with one, circuits of such runs alone."""

    runs: frozenset[str]
    days: frozenset[str]
    circuits: frozenset[str]


def _same(before: Half, after: Half) -> Same:
    runs = _unchanged_runs(before.campaign, after.campaign)
    first, second = before.reduced.characteristics, after.reduced.characteristics
    return Same(
        runs=runs,
        days=frozenset(before.campaign.runs[run].date.isoformat() for run in runs),
        circuits=frozenset(
            key
            for key, item in first.items()
            if key in second and set(item.runs) == set(second[key].runs) and set(item.runs) <= runs
        ),
    )


def _unchanged_runs(before: Campaign, after: Campaign) -> frozenset[str]:
    """Runs that both have, read from the same bytes."""
    return frozenset(
        run for run in before.runs if run in after.runs and _bytes(before, run) == _bytes(after, run)
    )


def _bytes(campaign: Campaign, run: str) -> dict[str, str]:
    return {name: digest for name, digest in campaign.inputs.items() if name.startswith(f"runs/{run}/")}


def _runs(before: Half, after: Half, same: frozenset[str]) -> Iterator[RunChange]:
    for run in dict.fromkeys((*before.campaign.runs, *after.campaign.runs)):
        old, new = before.campaign.runs.get(run), after.campaign.runs.get(run)
        counts = _counting(before, run), _counting(after, run)
        if old is None:
            what = "added"
        elif new is None:
            what = "gone"
        elif new.excluded is not None and old.excluded is None:
            what = "left out"
        elif old.excluded is not None and new.excluded is None:
            what = "counted again"
        elif run not in same or counts[0] != counts[1]:
            what = "changed"
        else:
            continue
        why = (new.excluded if new is not None else None) or ""
        yield RunChange(run=run, what=what, before=counts[0], after=counts[1], why=why)


def _counting(half: Half, run: str) -> int:
    result = half.reduced.runs.get(run)
    return 0 if result is None else sum(one.used for one in result.readings)


def _points(before: Answer | None, after: Answer | None, same: Same, alike: bool) -> Iterator[Difference]:
    answers = before, after
    for path in POINTS:
        values = [None if one is None else one.values.get(path) for one in answers]
        if any(value is not None for value in values):
            budgets = [() if one is None else one.budgets.get(path, ()) for one in answers]
            yield _difference(path, values, budgets, same=same, alike=alike)


def _difference(
    path: str,
    values: Sequence[Estimate | None],
    budgets: Sequence[tuple[BudgetLine, ...]],
    *,
    same: Same,
    alike: bool,
) -> Difference:
    before, after = values
    if before is None or after is None:
        return Difference(path=path, before=before, after=after)
    first, second = ({line.source: line for line in lines} for lines in budgets)
    parts: list[float] = []
    shared: list[tuple[float, str]] = []
    for name in dict.fromkeys((*first, *second)):
        a, b = first.get(name), second.get(name)
        if a is not None and b is not None and _one_error(a, b, same, alike):
            parts.append(b.contribution - a.contribution)
            shared.append((-abs(a.contribution), name))
        else:
            parts += [line.contribution for line in (a, b) if line is not None]
    return Difference(
        path=path,
        before=before,
        after=after,
        change=after.value - before.value,
        u=float(np.sqrt(np.sum(np.square(parts)))),
        shared=tuple(name for _, name in sorted(shared)),
    )


def _one_error(a: BudgetLine, b: BudgetLine, same: Same, alike: bool) -> bool:
    """Whether two rows of one name are one and the same error."""
    if a.scope != b.scope or a.origin != b.origin:
        return False
    if a.scope == "model" and not alike:
        return False
    first, rest = a.source.partition(".")[0], a.source.rpartition(".")[0]
    return a.scope in REACH or first in same.runs or first in same.days or rest in same.circuits


def _assumed(before: Half, after: Half, same: frozenset[str], alike: bool) -> Iterator[str]:
    yield (
        "sources of one name, scope and origin are one error on both sides where they reach beyond a run: instruments, "
        "certificates, reference standards, propellants, steps from water"
    )
    if same:
        runs = ", ".join(run for run in before.campaign.runs if run in same)
        yield f"runs read from the same bytes on both sides carry the same errors, and so do their days: {runs}"
    yield (
        "scatter and the choice of model of a circuit are one error only where all of its runs are the same; else they "
        "are taken as independent, so that doubts are rather too wide"
    )
    if not alike:
        serials = before.campaign.article.serial, after.campaign.article.serial
        yield f"injector {serials[0]} is not {serials[1]}: their steps from water are two errors"
    if before.campaign.defaults.coverage != after.campaign.defaults.coverage:
        yield "intervals of the two sides are of different coverage"
