"""Back: effective area against Reynolds number, one small drawing for each characteristic carried.

No section of its own: `rests_on` sets it beside its tables.
"""

from headrace.figures import characteristic
from headrace.paper.content import SheetContent
from headrace.paper.markup import Literal, call

WIDTH = 68.0
"""Of the column they stand in. [mm]"""
HEIGHTS = ((5, 43.0), (3, 33.0), (0, 22.5))
"""Height of a drawing with at least so many runs. [mm]"""


def typst(sheet: SheetContent) -> str:
    """The same drawings as everywhere else, at the width of a third of the sheet."""
    entries: list[Literal] = []
    for item in sheet.characteristics.values():
        readings = [
            reading
            for run in sheet.runs.values()
            for reading in run.readings
            if reading.stream == item.stream and reading.state == item.state
        ]
        drawing = characteristic.draw(
            item,
            readings,
            side=sheet.side_of(item.stream),
            re_hot=sheet.fact(f"re_hot.{item.stream}"),
            width=WIDTH,
            height=_height(len({reading.run for reading in readings})),
        )
        entries.append({"svg": drawing.svg, "caption": drawing.caption})
    return call("drawings", entries) if entries else ""


def _height(runs: int) -> float:
    return next(height for least, height in HEIGHTS if runs >= least)
