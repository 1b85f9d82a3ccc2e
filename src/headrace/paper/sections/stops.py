"""Front: the full text of whatever stops, when there are numbers beside it that must not be set."""

from headrace.notices import Severity
from headrace.paper.content import SheetContent
from headrace.paper.markup import call


def typst(sheet: SheetContent) -> str:
    """Each stop in full, with what to try."""
    found = sheet.standing_of(Severity.STOP)
    if not found or not sheet.has_set_points:
        return ""
    told = [f"{notice.text} {notice.try_}".strip() for notice in found]
    return call("head", "Do not set these pressures: a stop stands") + call("stops", told)
