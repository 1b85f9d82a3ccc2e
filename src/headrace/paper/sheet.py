"""The set-point sheet as a PDF: the same content gives the same bytes. Start at `make`.

Type comes from the fonts bundled beside this module, never from the machine; the time stamped into the file is
noon of the campaign's own date. Refuses nothing: an answer without set points makes a sheet that says so.
"""

import datetime
from pathlib import Path

from headrace.paper.content import SheetContent
from headrace.paper.markup import Literal, literal
from headrace.paper.sections import BACK, FRONT, SIGNED
from headrace.records.given import Campaign

HERE = Path(__file__).parent
FONTS = HERE / "fonts"
TEMPLATES = HERE / "typst"


def source(sheet: SheetContent) -> str:
    """The sheet as typst source: the template's call with its title block, then section after section."""
    campaign = sheet.campaign
    fields: Literal = [
        ["Campaign", _named(campaign)],
        ["Injector", campaign.article.serial],
        ["Campaign date", campaign.date.isoformat()],
        ["Made with", f"headrace {sheet.version}"],
        ["Seal", " ".join(sheet.seal[at : at + 4] for at in range(0, 16, 4))],
    ]
    show = (
        f"#show: sheet.with(title: {literal(f'Set-point sheet: {campaign.name}')}, "
        f"author: {literal(sheet.signed_by or 'headrace')}, "
        f"fields: {literal(fields)})\n"
    )
    first = [section(sheet) for section in (*FRONT.values(), *BACK.values())]
    last = "".join(section(sheet) for section in SIGNED.values())
    return '#import "/base.typ": *\n' + show + "".join(first) + f"#together[\n{last}]\n"


def _named(campaign: Campaign) -> str:
    """The campaign's name, said to be invented once if it is."""
    told = "invented" in campaign.name.lower()
    return campaign.name + (" (invented)" if campaign.invented and not told else "")


def make(sheet: SheetContent) -> bytes:
    """The sheet as PDF bytes; two pages of A4, or more where the doubts need them."""
    import typst  # a large extension module, wanted only when something is printed

    noon = datetime.datetime.combine(sheet.campaign.date, datetime.time(12), tzinfo=datetime.UTC)
    pdf = typst.compile(  # type: ignore[call-overload]  # its stub wants source and paths of one type
        source(sheet).encode(),
        root=str(TEMPLATES),
        font_paths=[str(FONTS)],
        ignore_system_fonts=True,
        format="pdf",
        timestamp=noon,
    )
    if not isinstance(pdf, bytes):
        raise TypeError("typst gave no single PDF")
    return pdf
