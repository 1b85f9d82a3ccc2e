"""Back: lines for those who sign, after they read the doubts."""

from headrace.paper.content import SheetContent
from headrace.paper.markup import Literal, call

FEWEST = 2


def typst(sheet: SheetContent) -> str:
    """A line for each signer of the campaign, two at least; a name that signed stands on its line."""
    signed = sheet.signed_by
    names = list(sheet.campaign.signers)
    if signed is not None and not any(_of(name, signed) for name in names):
        names.append(signed)
    names += [""] * (FEWEST - len(names))
    lines: list[Literal] = []
    for name in names:
        here = signed is not None and _of(name, signed)
        lines.append([f"{name}, signed" if here else name or "name", f"signed: {signed}" if here else ""])
    return call("head", "Signed, with every doubt above read") + call("signatures", lines)


def _of(name: str, signed: str) -> bool:
    """Whether that is this signer's own signature, with or without its moment after a comma."""
    return bool(name) and (signed == name or signed.startswith(f"{name}, "))
