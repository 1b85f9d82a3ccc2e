"""The campaign report as one page of HTML: the same content gives the same bytes. Start at `make`.

Type is embedded from the fonts bundled with the paper; nothing on the page points outside it. Words are escaped by
the templates; the drawings alone are set as markup, and are made here.
"""

import base64
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from headrace.paper.report.content import ReportContent
from headrace.paper.report.sections import SECTIONS
from headrace.paper.sections.standing import COUNTED, spoken

HERE = Path(__file__).parent
TEMPLATES = HERE / "templates"
FONTS = HERE.parent / "fonts"
FACES = (("Regular", 400, "normal"), ("Italic", 400, "italic"), ("Bold", 700, "normal"))


def make(content: ReportContent) -> bytes:
    """The report, in UTF-8."""
    sections = []
    for name, section in SECTIONS.items():
        data = section.build(content)
        if data is not None:
            sections.append({"id": name, "title": section.title, "template": section.template, "data": data})
    campaign = content.campaign
    text = _environment().get_template("report.html").render(
        title=f"Campaign report: {campaign.name}",
        name=campaign.name,
        invented=campaign.invented and "invented" not in campaign.name.casefold(),
        campaign=campaign,
        version=content.version,
        seal=" ".join(content.seal[at : at + 4] for at in range(0, 16, 4)),
        sections=sections,
        standing=_standing(content),
        left_out=len(content.left_out),
        faces=_faces(),
        style=Markup((TEMPLATES / "report.css").read_text(encoding="utf-8")),
    )  # fmt: skip
    return text.encode()


def _standing(content: ReportContent) -> list[dict[str, Any]]:
    """What stands, counted by gravity; each name with the numbers under which it is told in full."""
    groups: list[dict[str, Any]] = []
    for severity in COUNTED:
        found = content.of(severity)
        names: dict[str, list[int]] = {}
        for notice in found:
            names.setdefault(spoken(notice.code), []).append(content.number(notice))
        one, many = COUNTED[severity]
        if found:
            groups.append({"severity": severity.value, "count": f"{len(found)} {one if len(found) == 1 else many}",
                           "names": list(names.items())})  # fmt: skip
    return groups


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True,
    )  # fmt: skip
    environment.tests["plain"] = lambda value: isinstance(value, str)
    return environment


@cache
def _faces() -> tuple[tuple[str, int, str], ...]:
    """The bundled faces: data as base64, weight, style."""
    return tuple(
        (base64.b64encode((FONTS / f"Inter-{name}.otf").read_bytes()).decode(), weight, slope)
        for name, weight, slope in FACES
    )
