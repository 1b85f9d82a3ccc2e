"""Engine: what was given of it and on whose word; what each source of error does to the result."""

from collections.abc import Mapping
from typing import Any

from headrace.paper.report.content import ReportContent
from headrace.paper.report.parts import table
from headrace.paper.report.sections.circuits import budget_figure
from headrace.paper.sections.rests_on import assumed

BUDGETS = (
    (("tanks.ox",), "the oxidiser tank's pressure", "ox"),
    (("tanks.fuel",), "the fuel tank's pressure", "fuel"),
    (("as_set.p_chamber", "p_chamber"), "the chamber pressure", None),
    (("as_set.of_ratio", "of_ratio"), "the mixture ratio", None),
)
"""What is shown with its budget: paths of the answer (the first that is there), words, side."""


def build(content: ReportContent) -> Mapping[str, Any]:
    """Assumptions and budgets; or that there is no engine."""
    sheet, answer = content.sheet, content.answer
    if sheet is None or answer is None:
        return {"engine": False, "assumed": None, "figures": []}
    figures = []
    for paths, words, side in BUDGETS:
        for path in paths:
            total, lines = answer.values.get(path), answer.budgets.get(path, ())
            if total is not None and lines and total.u > 0:
                name = f"budget-{path.replace('.', '-').replace('_', '-')}"
                figures.append(budget_figure(name, lines, words, side, total))
                break
    rows = [(what, value) for what, value in assumed(sheet)]
    return {
        "engine": True,
        "assumed": table("What was given or assumed, and by whose word", ("what", "value; whose"), rows),
        "figures": figures,
    }
