"""A drawing set into a page: its names made the page's own, its colours the page's variables. Start at `inline`."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Mapping
from types import MappingProxyType

from headrace.figures import style

COLOURS: Mapping[str, str] = MappingProxyType(
    {
        style.INK: "ink",
        style.QUIET: "quiet",
        style.RULE: "rule",
        style.GROUND: "ground",
        style.LEFT_OUT: "left-out",
        **{colour: side for side, colour in style.SIDE.items()},
        **{colour: f"grave-{name}" for name, colour in style.GRAVE.items()},
    }
)
"""Variable of the page's stylesheet for each colour of the figures, so that a page may have its own night."""

LINK = "{http://www.w3.org/1999/xlink}href"
XML = "{http://www.w3.org/XML/1998/namespace}"
DROPPED = frozenset({"metadata", "style"})
NUMBERS = frozenset({"d", "x", "y", "points", "width", "height"})


def inline(svg: str, *, name: str, title: str, description: str) -> str:
    """SVG text for the inside of a page: no prolog, every id begins with `name`, title and description for the ear.

    Args:
        svg: as `style.svg` gives it. name: unique on the page, letters, digits and "-". title, description: plain text.
    """
    root = ET.fromstring(svg)
    for parent in list(root.iter()):
        for child in [one for one in parent if _local(one.tag) in DROPPED]:
            parent.remove(child)
    for element in root.iter():
        element.tag = _local(element.tag)
        element.attrib = {
            key: value for old, told in element.attrib.items() for key, value in _attribute(name, old, told)
        }
    size = root.attrib.pop("width", ""), root.attrib.pop("height", "")
    root.attrib = {
        "viewBox": root.attrib["viewBox"],
        "role": "img",
        "aria-labelledby": f"{name}-title {name}-desc",
        "style": f"max-width: {size[0]}",
    }
    for place, (tag, words) in enumerate((("title", title), ("desc", description))):
        told = ET.Element(tag, {"id": f"{name}-{tag}"})
        told.text = words
        root.insert(place, told)
    return ET.tostring(root, encoding="unicode")


def _local(tag: str) -> str:
    return tag.rpartition("}")[2]


def _attribute(name: str, key: str, value: str) -> list[tuple[str, str]]:
    if key == "id":
        return [("id", f"{name}-{value}")]
    if key in (LINK, "href"):
        return [("href", value.replace("#", f"#{name}-", 1))]
    if key.startswith(XML):
        return [(f"xml:{key.removeprefix(XML)}", value)]
    if key.startswith("{"):
        return []
    if key in NUMBERS:
        return [(key, re.sub(r"-?\d+\.\d{3,}", _rounded, value))]
    value = value.replace("url(#", f"url(#{name}-")
    if key == "style":
        value = re.sub(r"#[0-9a-f]{6}", lambda hit: _variable(hit[0]), value)
    return [(key, value)]


def _rounded(hit: re.Match[str]) -> str:
    return f"{float(hit[0]):.2f}".rstrip("0").rstrip(".")


def _variable(colour: str) -> str:
    return f"var(--{COLOURS[colour]})" if colour in COLOURS else colour
