"""A budget as bars: the share of u squared that each source has, largest first. Start at `draw`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from headrace.figures import style
from headrace.records.answers import BudgetLine

HEAD = ("source", "share of u²", "scope", "origin")


def draw(
    lines: Sequence[BudgetLine], *, name: str, side: str | None = None, most: int = 8, width: float = 120.0
) -> style.Drawing:
    """Draws a budget; its table holds every line, drawn or not.

    Args:
        lines: all rows of one quantity. name: of the quantity, for the caption.
        side: "ox", "fuel", "film" or None for neither. most: bars before the rest are put together. width: [mm]
    """
    ranked = sorted(lines, key=lambda line: (-line.share, line.source))
    bars = [(line.source, line.share) for line in ranked[:most]]
    if ranked[most:]:
        bars.append((f"{len(ranked[most:])} smaller, together", sum(line.share for line in ranked[most:])))
    colour = style.INK if side is None else style.SIDE[side]
    with style.settings():
        figure = style.blank(width=width, height=4.2 * len(bars) + 2.0)
        axes = style.frame(figure, left=0.42 * width, right=14.0, top=1.0, bottom=1.0)
        axes.spines["bottom"].set_visible(False)
        axes.tick_params(left=False, bottom=False, labelbottom=False, labelleft=False)
        axes.barh(range(len(bars)), [share for _, share in bars], height=0.46, color=colour)
        axes.set_ylim(max(len(bars), 1) - 0.5, -0.5)
        axes.set_xlim(0.0, max((share for _, share in bars), default=1.0) or 1.0)
        for place, (source, share) in enumerate(bars):
            words: dict[str, Any] = {
                "va": "center",
                "fontproperties": style.font(size=style.BODY),
                "color": style.INK,
            }
            axes.annotate(
                source,
                (0, place),
                (-4, 0),
                textcoords="offset points",
                ha="right",
                annotation_clip=False,
                **words,
            )
            axes.annotate(
                percent(share),
                (share, place),
                (3, 0),
                textcoords="offset points",
                annotation_clip=False,
                **words,
            )
        text = style.svg(figure)
    rows = tuple((line.source, percent(line.share), line.scope, line.origin) for line in ranked)
    return style.Drawing(svg=text, caption=f"Where the doubt of {name} comes from.", head=HEAD, rows=rows)


def percent(share: float) -> str:
    """A share of u squared, in whole per cent where it is that big."""
    return f"{100 * share:.0f} %" if share >= 0.01 else "< 1 %"
