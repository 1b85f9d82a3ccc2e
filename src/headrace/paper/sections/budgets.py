"""Back: which sources the doubt is made of, as bars with their numbers."""

from headrace.figures.budget import percent
from headrace.paper.content import SheetContent
from headrace.paper.markup import Literal, call
from headrace.paper.numbers import part_of
from headrace.paper.sources import in_words
from headrace.records.answers import BudgetLine, Estimate

MOST = 4
WANTED: tuple[tuple[tuple[str, ...], str, list[str] | None, str | None], ...] = (
    (("tanks.ox",), "Oxidiser tank", None, "ox"),
    (("tanks.fuel",), "Fuel tank", None, "fuel"),
    (("as_set.p_chamber", "p_chamber"), "Chamber pressure", ["p", "c"], None),
    (("as_set.of_ratio", "of_ratio"), "Mixture ratio", ["r"], None),
)

EXPLAINED: list[Literal] = [
    ["u", "standard uncertainty: one standard deviation of where the value may lie."],
    ["k = 1", "not widened; the ± and intervals on the front are (95 %)."],
    ["Signed parts", "a source one u higher moves the value by this much."],
    ["Seal", "one number over every input file; change any, and it is another."],
]
"""The words of this page that a reader at the stand may not know."""


def typst(sheet: SheetContent) -> str:
    """Up to four budgets, the largest sources of each by name, the rest together."""
    if not sheet.has_set_points:
        return ""
    entries: list[Literal] = []
    for paths, title, symbol, side in WANTED:
        for path in paths:
            lines, total = sheet.answer.budgets.get(path, ()), sheet.value(path)
            if lines and total is not None and total.u > 0:
                entries.append(
                    [
                        title,
                        symbol,
                        side,
                        f"u = {part_of(total.u, total.u, total.unit)}",
                        _lines(lines, total),
                    ]
                )
                break
    if not entries:
        return ""
    return (
        call("head", "Where the doubt comes from", note="shares of u², and each part at k = 1")
        + call("budgets", entries)
        + call("explained", EXPLAINED)
    )


def _lines(lines: tuple[BudgetLine, ...], total: Estimate) -> list[Literal]:
    ranked = sorted(lines, key=lambda line: (-abs(line.share), line.source))
    shown: list[Literal] = [
        _line(line.source, line.contribution, line.share, total) for line in ranked[:MOST]
    ]
    rest = ranked[MOST:]
    if rest:
        together = sum(line.contribution**2 for line in rest) ** 0.5
        share = sum(line.share for line in rest)
        shown.append(_line(f"{len(rest)} smaller, together", together, share, total))
    return shown


def _line(source: str, contribution: float, share: float, total: Estimate) -> dict[str, Literal]:
    return {
        "source": in_words(source),
        "share": min(max(share, 0.0), 1.0),
        "percent": percent(share),
        "contribution": part_of(contribution, total.u, total.unit).replace("-", "−"),
    }
