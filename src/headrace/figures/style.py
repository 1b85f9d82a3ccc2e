"""The one figure style: colours, type, rules, and the frame that every drawing starts from.

Start at `blank` for an empty figure and at `svg` for its text. The same drawing gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.font_manager import FontProperties

INK = "#1d2528"
QUIET = "#5f5a51"
RULE = "#c9c4b8"
GROUND = "#faf8f3"
LEFT_OUT = "#7a746a"
SIDE: Mapping[str, str] = MappingProxyType({"ox": "#0b6e75", "fuel": "#a4521c", "film": "#5b4f7a"})
GRAVE: Mapping[str, str] = MappingProxyType({"stop": "#a3152a", "doubt": "#8a6100"})
MARK: Mapping[str, str] = MappingProxyType({"ox": "o", "fuel": "D", "film": "^"})
LINE: tuple[str, ...] = ("-", "--", "-.", ":")
"""Stroke by supply line, in the order of their names: solid, dashed, ..."""

SMALL, BODY = 6.4, 7.4  # points
MILLIMETRE = 1 / 25.4  # inches
# The fonts lie with the paper; read by path, for figures may not import what stands above them.
FONTS = Path(__file__).parent.parent / "paper" / "fonts"


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A figure as SVG text, what it shows in one line, and its table: heading and rows."""

    svg: str
    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def settings() -> AbstractContextManager[None]:
    """matplotlib as this style wants it, whatever the user's own settings, for the length of a `with`."""
    import matplotlib

    own: Any = {  # Any: matplotlib types its settings by name
        name: value for name, value in matplotlib.rcParamsDefault.items() if name.split(".")[0] in OWN
    }
    return matplotlib.rc_context(
        own | {"svg.hashsalt": "headrace", "svg.fonttype": "none", "axes.unicode_minus": True}
    )


OWN = frozenset(
    {"axes", "figure", "font", "grid", "hatch", "legend", "lines", "markers", "mathtext", "patch", "path",
     "savefig", "svg", "text", "xaxis", "xtick", "yaxis", "ytick", "errorbar", "scatter"}
)  # fmt: skip
"""Families of matplotlib's settings that shape a drawing."""


@cache
def font(*, size: float = BODY, italic: bool = False, bold: bool = False) -> FontProperties:
    """The bundled face."""
    from matplotlib.font_manager import FontProperties

    name = "Bold" if bold else "Italic" if italic else "Regular"
    return FontProperties(
        family="Inter",
        style="italic" if italic else "normal",
        weight="bold" if bold else "normal",
        size=size,
        fname=str(FONTS / f"Inter-{name}.otf"),
    )


def blank(*, width: float, height: float) -> Figure:
    """An empty figure of that size [mm] on a clear ground, ready to be written as SVG."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width * MILLIMETRE, height * MILLIMETRE))
    figure.patch.set_alpha(0.0)
    FigureCanvasSVG(figure)
    return figure


def frame(
    figure: Figure, *, left: float, bottom: float, right: float, top: float, sharex: Axes | None = None
) -> Axes:
    """Axes with margins given in mm: thin rules left and below, open above and right, no grid."""
    width, height = (inch / MILLIMETRE for inch in figure.get_size_inches())
    axes = figure.add_axes(
        (left / width, bottom / height, 1 - (left + right) / width, 1 - (bottom + top) / height),
        sharex=sharex,
    )
    axes.patch.set_alpha(0.0)
    for name, spine in axes.spines.items():
        spine.set_visible(name in ("left", "bottom"))
        spine.set_color(INK)
        spine.set_linewidth(0.6)
    axes.tick_params(which="both", color=INK, labelcolor=INK, width=0.5, length=2.2, pad=2)
    axes.tick_params(which="minor", width=0.3, length=1.4)
    return axes


def finish(axes: Axes) -> None:
    """Puts tick labels into the bundled face, once the ticks are known."""
    small = font(size=SMALL)
    for label in (*axes.get_xticklabels(which="both"), *axes.get_yticklabels(which="both")):
        label.set_fontproperties(small)


def name_axis(axes: Axes, *, along: str, words: str, symbol: str, unit: str) -> None:
    """Names an axis: quantity in roman, its symbol in italic, its unit in brackets; "x" below, "y" above its axis."""
    from matplotlib.offsetbox import AnnotationBbox, HPacker, TextArea

    parts: list[Artist] = [
        TextArea(words, textprops=_props()),
        TextArea(symbol, textprops=_props(italic=True)),
    ]
    if unit:
        parts.append(TextArea(f"({unit})", textprops=_props()))
    packed = HPacker(children=parts, pad=0, sep=2.2, align="baseline")
    at, offset, corner = (
        ((1.0, 0.0), (0.0, -13.0), (1.0, 1.0)) if along == "x" else ((0.0, 1.0), (-2.0, 4.0), (0.0, 0.0))
    )
    axes.add_artist(
        AnnotationBbox(
            packed, at, xybox=offset, xycoords="axes fraction", boxcoords="offset points", box_alignment=corner,
            frameon=False, pad=0, annotation_clip=False,
        )
    )  # fmt: skip


def _props(*, italic: bool = False) -> dict[str, Any]:
    return {"fontproperties": font(size=BODY, italic=italic), "color": INK}


def apart(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Heights for labels near those wanted, in the same order, at least a gap apart and inside low..high.

    >>> apart([1.0, 1.0, 5.0], 1.0, 0.0, 10.0)
    [0.5, 1.5, 5.0]
    """
    order = sorted(range(len(wanted)), key=lambda index: (wanted[index], index))
    blocks: list[list[float]] = []  # centre wanted on average, number of labels
    for index in order:
        blocks.append([min(max(wanted[index], low), high), 1])
        while len(blocks) > 1 and blocks[-1][0] - blocks[-2][0] < gap * (blocks[-1][1] + blocks[-2][1]) / 2:
            (above, many), (below, few) = blocks.pop(), blocks.pop()
            blocks.append([(above * many + below * few) / (many + few), many + few])
        reach = gap * (blocks[-1][1] - 1) / 2
        blocks[-1][0] = min(max(blocks[-1][0], low + reach), max(high - reach, low + reach))
    heights = [
        centre + gap * (place - (count - 1) / 2) for centre, count in blocks for place in range(int(count))
    ]
    placed = dict(zip(order, heights, strict=True))
    return [placed[index] for index in range(len(wanted))]


def svg(figure: Figure) -> str:
    """The drawing as SVG text without date or maker, so that it depends on what is drawn alone."""
    out = io.BytesIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    return out.getvalue().decode()
