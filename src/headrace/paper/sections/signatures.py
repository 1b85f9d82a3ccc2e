"""Back: lines for those who sign, after they read the doubts."""

from headrace.paper.content import SheetContent
from headrace.paper.markup import Literal, call

FEWEST = 2


def typst(sheet: SheetContent) -> str:
    """A line for each signer of the campaign, two at least; a name that signed stands on its line."""
    signed = sheet.signed_by
    names = list(sheet.campaign.signers)
    if signed is not None and signed not in names:
        names.append(signed)
    names += [""] * (FEWEST - len(names))
    lines: list[Literal] = []
    for name in names:
        here = signed is not None and name == signed
        lines.append([f"{name}, signed" if here else name or "name", f"signed: {name}" if here else ""])
    return call("head", "Signed, with every doubt above read") + call("signatures", lines)
