"""Front: lines for who set the tanks, when, and at what barometer; and who signed the sheet, once somebody did."""

from headrace.paper.content import SheetContent
from headrace.paper.markup import call

SLOTS = ("set by", "date, time", "barometer read")


def typst(sheet: SheetContent) -> str:
    """Three lines to write on; none where nothing is to be set."""
    if not sheet.has_set_points or sheet.stopped:
        return ""
    who = sheet.signed_by
    signed = f"Signed: {who}." if who is not None else None
    return call("as-set", list(SLOTS), signed)
