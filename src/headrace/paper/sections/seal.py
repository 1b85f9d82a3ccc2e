"""Back: the seal, so that a change of anything this sheet rests on can be found."""

from headrace.paper.content import SheetContent
from headrace.paper.markup import call


def typst(sheet: SheetContent) -> str:
    """The hash, what it covers, and with what it was made."""
    count = len(sheet.campaign.inputs)
    files = f"{count} input file" + ("" if count == 1 else "s")
    over = f"SHA-256 over {files} and headrace {sheet.version}; a change voids signatures"
    return call("seal", f"Seal {sheet.seal}, {over}.")
