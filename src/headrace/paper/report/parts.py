"""What sections are made of: tables and figures as plain data that templates set. Start at `figure`, `table`."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from headrace.figures.inline import inline
from headrace.figures.style import Drawing
from headrace.paper.numbers import pieces
from headrace.records.answers import Estimate

NARROW = frozenset("0123456789+-−.,±<>–()%  ")


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A number with its doubt and unit, apart: whole and rest meet at the decimal mark."""

    whole: str
    rest: str
    doubt: str
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """Words beside the mark of a side ("ox", "fuel", "film", "left-out"), or with a share as a bar, 0 to 1."""

    words: str
    side: str = ""
    share: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Words that lead to another place of the page."""

    words: str
    to: str


Cell = str | Quantity | Marked | Link


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table: caption, heading, rows; the first cell of a row heads it. numeric: columns set flush right.

    long: may be folded away on a screen. name: of the place on the page, where a figure points to it.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    numeric: frozenset[int] = frozenset()
    long: bool = False
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A drawing as SVG for the inside of the page, its caption, and the table of its data.

    data: id of that table. table: None where another figure beside it has the same.
    """

    name: str
    svg: Markup
    caption: str
    data: str
    table: Table | None


def table(
    caption: str, head: Sequence[str], rows: Sequence[Sequence[Cell]], *, long: bool = False
) -> Table | None:
    """A table; columns of numbers are found by what stands in them. None without rows."""
    if not rows:
        return None
    told = tuple(tuple(row) for row in rows)
    numeric = frozenset(place for place in range(1, len(head)) if all(_is_number(row[place]) for row in told))
    return Table(caption=caption, head=tuple(head), rows=told, numeric=numeric, long=long)


def figure(
    name: str,
    drawing: Drawing,
    *,
    alt: str,
    data: str | Table | None = "Data of this figure",
    beside: str = "",
) -> Figure:
    """A figure of the page.

    Args:
        name: unique on the page. alt: what is seen in it, for those who cannot.
        data: caption of its table, or a table that says more in its place.
        beside: name of the figure that shows the same data, and has the table of both.
    """
    svg = inline(drawing.svg, name=name, title=drawing.caption, description=alt)
    place = f"{beside or name}-data"
    if beside:
        return Figure(name=name, svg=Markup(svg), caption=drawing.caption, data=place, table=None)
    listed = table(data, drawing.head, drawing.rows, long=True) if isinstance(data, str) else data
    if listed is None:
        listed = Table(caption="Data of this figure: none", head=drawing.head, rows=())
    return Figure(
        name=name, svg=Markup(svg), caption=drawing.caption, data=place, table=replace(listed, name=place)
    )


def quantity(estimate: Estimate) -> Quantity:
    """An estimate, ready for a cell."""
    shown = pieces(estimate)
    return split(shown.number, f"±{shown.doubt}" if shown.doubt is not None else "", shown.unit)


def split(number: str, doubt: str = "", unit: str = "") -> Quantity:
    """A printed number at its decimal mark."""
    whole, mark, rest = number.replace("-", "−").partition(".")
    return Quantity(whole=whole, rest=mark + rest, doubt=doubt, unit=unit)


def anchor(*words: str) -> str:
    """A name for a place on the page, of letters, digits and "-".

    >>> anchor("run", "W 07 (b)")
    'run-W-07--b-'
    """
    return re.sub(r"[^A-Za-z0-9]", "-", "-".join(words))


def _is_number(cell: Cell) -> bool:
    if isinstance(cell, Quantity):
        return False  # it stands by its decimal mark
    if not isinstance(cell, str) or not cell:
        return False
    first = cell.split(" ")[0]
    return all(letter in NARROW for letter in first)
