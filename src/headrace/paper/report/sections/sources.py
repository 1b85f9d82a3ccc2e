"""Sources of error: every one that was met, by its one name, with its size, shape, reach and whose word it is."""

from collections.abc import Mapping
from math import isfinite
from typing import Any

from headrace.paper.report.content import ReportContent
from headrace.paper.report.parts import Cell, table
from headrace.paper.report.words import small
from headrace.paper.sources import in_words
from headrace.records.answers import BudgetLine


def build(content: ReportContent) -> Mapping[str, Any]:
    """Sources of the water runs with their size; those that only the engine's balance meets, by their budgets."""
    water = content.reduced.sources
    rows: list[tuple[Cell, ...]] = [
        (
            in_words(one.name), one.name, small(one.u), one.dist, one.scope,
            f"{one.dof:.3g}" if isfinite(one.dof) else "∞", one.origin,
        )
        for one in water
    ]  # fmt: skip
    others: dict[str, BudgetLine] = {}
    known = {one.name for one in water}
    for lines in content.answer.budgets.values() if content.answer is not None else ():
        for line in lines:
            if line.source not in known:
                others.setdefault(line.source, line)
    engine: list[tuple[Cell, ...]] = [
        (in_words(one.source), one.source, one.scope, one.group, one.origin) for one in others.values()
    ]
    return {
        "tables": [
            one
            for one in (
                table("Of the water runs; u in SI units, k = 1, or relative",
                      ("source", "name", "u", "shape", "scope", "freedom", "by whose word"), rows, long=True),
                table("Met by the balance alone; their sizes are in the budgets",
                      ("source", "name", "scope", "group", "by whose word"), engine, long=True),
            )
            if one is not None
        ]
    }  # fmt: skip
