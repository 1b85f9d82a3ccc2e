"""Front: the full text of whatever stops, when there are numbers beside it that must not be set."""

from headrace.notices import Severity
from headrace.paper.content import SheetContent
from headrace.paper.markup import Literal, call
from headrace.paper.sections.doubts import advice


def typst(sheet: SheetContent) -> str:
    """Each stop in full, with what to try."""
    if not sheet.stopped or not sheet.has_set_points:
        return ""
    return call("head", "A stop stands: none of the pressures on this sheet is to be set") + call(
        "stops", in_full(sheet)
    )


def in_full(sheet: SheetContent) -> list[Literal]:
    """What was seen, and its limit with what to try, of each stop that stands."""
    return [[notice.text, advice(notice)] for notice in sheet.standing_of(Severity.STOP)]
