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


def typst(sheet: SheetContent) -> str:
    """One row for each severity that stands."""
    groups: list[Literal] = []
    for severity, (one, many) in COUNTED.items():
        found = sheet.standing_of(severity)
        if found:
            words = f"{len(found)} {one if len(found) == 1 else many}"
            groups.append({"severity": severity.value, "count": words, "names": _names(found)})
    return call("standing", groups)


def _names(notices: tuple[object, ...]) -> str:
    codes = Counter(spoken(getattr(notice, "code", "")) for notice in notices)
    return ",  ".join(name if count == 1 else f"{name} ({count})" for name, count in codes.items())


def spoken(code: str) -> str:
    """A notice's code in words."""
    return code.replace("-", " ")
