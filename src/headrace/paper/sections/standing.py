"""Front: the band of standing doubts, counted and named, gravest first."""

from collections import Counter

from headrace.notices import Severity
from headrace.paper.content import SheetContent
from headrace.paper.markup import Literal, call

COUNTED = {
    Severity.STOP: ("stop", "stops"),
    Severity.DOUBT: ("doubt", "doubts"),
    Severity.INFO: ("remark", "remarks"),
}

LEFT_OUT = "in runs left out"
UNCLEAR = {"re-outside": "Reynolds number outside tests"}
"""Names that their hyphens alone do not make words of."""


def typst(sheet: SheetContent) -> str:
    """One row for each severity that stands."""
    groups: list[Literal] = []
    for severity, (one, many) in COUNTED.items():
        found = sheet.standing_of(severity)
        if found:
            words = f"{len(found)} {one if len(found) == 1 else many}"
            groups.append({"severity": severity.value, "count": words, "names": _names(found)})
    if sheet.left_out:
        groups.append({"severity": "info", "count": f"{len(sheet.left_out)} more", "names": LEFT_OUT})
    return call("standing", groups)


def tally(sheet: SheetContent) -> str:
    """All that is told, in one line: what stands by its gravity, and what does not stand.

    The same words and numbers as in the band of the front.
    """
    told = []
    for severity, (one, many) in COUNTED.items():
        count = len(sheet.standing_of(severity))
        told.append(f"{count} {one if count == 1 else many}")
    more = f"; {len(sheet.left_out)} more {LEFT_OUT}" if sheet.left_out else ""
    return ", ".join(told) + more


def _names(notices: tuple[object, ...]) -> str:
    codes = Counter(spoken(getattr(notice, "code", "")) for notice in notices)
    return ",  ".join(name if count == 1 else f"{name} ({count})" for name, count in codes.items())


def spoken(code: str) -> str:
    """A notice's code in words."""
    return UNCLEAR.get(code, code.replace("-", " "))
