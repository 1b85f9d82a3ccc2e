"""A panel drawn with few strokes: rules, ticks, lines and words on plain paper, without the machinery of axes.

Looks as `style.frame` does, at a small part of its cost, for figures that a report has by the hundred. Start
at `Panel`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from headrace.figures import style

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.backend_bases import RendererBase
    from matplotlib.figure import Figure
    from matplotlib.font_manager import FontProperties
    from matplotlib.transforms import Transform

POINT = 25.4 / 72
"""A point of type. [mm]"""
ENLARGED = 32
"""How much larger words are measured than they are written."""
TICK = 2.2 * POINT
"""Length of a tick. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A part of a figure with a scale along each side.

    left, bottom, width, height: of the plotted part, from the figure's lower left corner [mm]. x, y: what it spans.
    logarithmic: along x.
    """

    figure: Figure
    left: float
    bottom: float
    width: float
    height: float
    x: tuple[float, float]
    y: tuple[float, float]
    logarithmic: bool = False

    def across(self, x: ArrayLike) -> NDArray[np.float64]:
        """Place along the width [mm]."""
        value, (low, high) = np.asarray(x, dtype=float), self.x
        if self.logarithmic:
            value, low, high = np.log(value), np.log(low), np.log(high)
        return self.left + (value - low) / (high - low) * self.width

    def up(self, y: ArrayLike) -> NDArray[np.float64]:
        """Place along the height [mm]."""
        return self.bottom + (np.asarray(y, dtype=float) - self.y[0]) / (self.y[1] - self.y[0]) * self.height

    def line(self, x: ArrayLike, y: ArrayLike, *, clip: bool = True, **look: Any) -> None:
        """A line through points; marks alone with `linestyle="none"`. NaN parts it."""
        self._stroke(self.across(x), self.up(y), clip=clip, **look)

    def upright(self, *places: float, **look: Any) -> None:
        """Lines from foot to head at places along x."""
        xs = np.repeat(self.across(places), 3)
        ys = np.tile([self.bottom, self.bottom + self.height, np.nan], len(places))
        self._stroke(xs, ys, clip=False, **look)

    def level(self, y: float, **look: Any) -> None:
        """A line from side to side."""
        self._stroke([self.left, self.left + self.width], np.repeat(self.up(y), 2), clip=True, **look)

    def bars(self, x: ArrayLike, low: ArrayLike, high: ArrayLike, *, cap: float = 0.0, **look: Any) -> None:
        """Upright bars from low to high, with caps [mm] to either side, as one stroke."""
        x, low, high = np.broadcast_arrays(self.across(x), self.up(low), self.up(high))
        gap = np.full(x.shape, np.nan)
        xs, ys = [x, x, gap], [low, high, gap]
        if cap:
            for end in (low, high):
                xs += [x - cap, x + cap, gap]
                ys += [end, end, gap]
        self._stroke(np.stack(xs, -1).ravel(), np.stack(ys, -1).ravel(), clip=True, **look)

    def tint(self, x: tuple[float, float] | None, y: tuple[float, float] | None, **look: Any) -> None:
        """A ground from x to x and y to y; None: over all."""
        from matplotlib.patches import Rectangle

        left, right = self.across(self.x if x is None else x)
        low, high = self.up(self.y if y is None else y)
        patch = Rectangle((left, low), right - left, high - low, linewidth=0, **look)
        self._put(patch, clip=True)

    def scale(
        self,
        *,
        xs: Sequence[float] | None,
        ys: Sequence[float] | None,
        along: bool = True,
        beside: bool = True,
    ) -> None:
        """The rules at foot and left with ticks at xs and ys, None: no rule; along, beside: with numbers."""
        ends = self.left, self.left + self.width, self.bottom, self.bottom + self.height
        rules: list[tuple[float, float]] = []
        ticks: list[tuple[float, float]] = []
        nowhere = (np.nan, np.nan)
        if ys is not None:
            rules += [(ends[0], ends[2]), (ends[0], ends[3]), nowhere]
            for value, words in zip(ys, spelled(ys), strict=True):
                at = float(self.up(value))
                ticks += [(ends[0], at), (ends[0] - TICK, at), nowhere]
                if beside:
                    self.words(words, (ends[0] - TICK - 2 * POINT, at), ha="right", va="centre")
        if xs is not None:
            rules += [(ends[0], ends[2]), (ends[1], ends[2]), nowhere]
            for value, words in zip(xs, spelled(xs), strict=True):
                at = float(self.across(value))
                ticks += [(at, ends[2]), (at, ends[2] - TICK), nowhere]
                if along:
                    self.words(words, (at, ends[2] - TICK - 2 * POINT), ha="center", va="top")
        for strokes, width in ((rules, 0.6), (ticks, 0.5)):
            if strokes:
                self._stroke(*np.array(strokes).T, clip=False, color=style.INK, linewidth=width, zorder=2.4)

    def name(self, along: str, *, words: str, symbol: str, unit: str) -> float:
        """Names a side: quantity, symbol in italic, unit in brackets; "x" below, "y" above. Its right end [mm]."""
        parts = [(words, False), (symbol, True), (f"({unit})" if unit else "", False)]
        parts = [(text, italic) for text, italic in parts if text]
        gap = 2.4 * POINT
        widths = [extent(text, style.BODY, italic) for text, italic in parts]
        if along == "y":
            at, up = self.left - 2 * POINT, self.bottom + self.height + 6.0 * POINT
        else:
            at = self.left + self.width - sum(widths) - gap * (len(parts) - 1)
            up = self.bottom - 20.5 * POINT
        for (text, italic), wide in zip(parts, widths, strict=True):
            self.words(text, (at, up), size=style.BODY, italic=italic)
            at += wide + gap
        return at - gap

    def words(
        self, text: str, at: tuple[float, float], *, ha: str = "left", va: str = "baseline", size: float = style.SMALL,
        italic: bool = False, color: str = style.INK,
    ) -> None:  # fmt: skip
        """Words at a place on the figure [mm]; va: "baseline", "centre" (of the figures) or "top"."""
        drop = {"baseline": 0.0, "centre": 0.36, "top": 0.73}[va] * size * POINT
        aside = {"left": 0.0, "center": 0.5, "right": 1.0}[ha] * extent(text, size, italic)
        written = _writing()(text, at[0] - aside, at[1] - drop, style.font(size=size, italic=italic), color)
        self._put(written, clip=False)

    def _stroke(self, x: ArrayLike, y: ArrayLike, *, clip: bool, **look: Any) -> None:
        from matplotlib.lines import Line2D

        self._put(Line2D(x, y, solid_capstyle="butt", **look), clip=clip)

    def _put(self, artist: Artist, *, clip: bool) -> None:
        from matplotlib.transforms import Bbox, TransformedBbox

        place = _millimetres(self.figure)
        artist.set_transform(place)
        self.figure.add_artist(artist)
        if clip:
            box = Bbox.from_bounds(self.left, self.bottom, self.width, self.height)
            artist.set_clip_box(TransformedBbox(box, place))


def _millimetres(figure: Figure) -> Transform:
    from matplotlib.transforms import Affine2D

    return Affine2D().scale(style.MILLIMETRE) + figure.dpi_scale_trans


@cache
def _writing() -> Callable[[str, float, float, FontProperties, str], Artist]:
    """Words at a place that is known, for which matplotlib's own text would first lay out every line."""
    from matplotlib.artist import Artist

    class Writing(Artist):
        """One line of words, from its left end on its baseline."""

        def __init__(self, text: str, x: float, y: float, face: FontProperties, color: str) -> None:
            super().__init__()
            self.text, self.at, self.face, self.color = text, (x, y), face, color
            self.set_zorder(3)

        def draw(self, renderer: RendererBase) -> None:
            """Writes it."""
            x, y = self.get_transform().transform(self.at)
            if renderer.flipy():
                y = renderer.get_canvas_width_height()[1] - y
            look = renderer.new_gc()
            look.set_foreground(self.color)
            renderer.draw_text(look, x, y, self.text, self.face, 0.0)
            look.restore()

    return Writing


def ticks(low: float, high: float, *, most: int = 4) -> list[float]:
    """Round numbers from low to high, evenly apart, in about `most` steps at most.

    >>> ticks(0.3, 9.7)
    [2.5, 5.0, 7.5]
    >>> ticks(1.0, 1.0)
    [1.0]
    """
    if not high > low:
        return [low]
    rough = (high - low) / most
    power = 10.0 ** np.floor(np.log10(rough))
    step = next(one * power for one in (1.0, 2.0, 2.5, 5.0, 10.0) if one * power >= rough * (1 - 1e-9))
    first, last = int(np.ceil(low / step - 1e-9)), int(np.floor(high / step + 1e-9))
    return [float(f"{place * step:.12g}") for place in range(first, last + 1)]


def spelled(values: Sequence[float]) -> list[str]:
    """Numbers of one scale, all with as many decimals as the longest needs.

    >>> spelled([-0.5, 0.0, 0.5])
    ['−0.5', '0.0', '0.5']
    """
    places = max((len(f"{value:.9f}".rstrip("0").partition(".")[2]) for value in values), default=0)
    return [f"{value:.{places}f}".replace("-", "−") for value in values]


def room(low: float, high: float, share: float = 0.05) -> tuple[float, float]:
    """A span with some room at both ends; one of no width is given some."""
    pad = share * (high - low) or share * abs(high) or share
    return low - pad, high + pad


@cache
def extent(text: str, size: float, italic: bool = False) -> float:
    """How wide words are in the bundled face [mm]."""
    from matplotlib.font_manager import get_font

    face = get_font(str(style.FONTS / f"Inter-{'Italic' if italic else 'Regular'}.otf"))
    face.set_size(ENLARGED * size, 72)  # at its own size advances would be rounded to whole points
    face.set_text(text, 0.0)
    return float(face.get_width_height()[0]) / 64 / ENLARGED * POINT
