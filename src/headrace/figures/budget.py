"""A budget as bars: the share of u squared that each source has, largest first. Start at `draw`."""

from __future__ import annotations

from collections.abc import Sequence

from headrace.figures import style
from headrace.figures.panel import POINT, Panel
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
        most_of = max((share for _, share in bars), default=1.0) or 1.0
        count = max(len(bars), 1)
        panel = Panel(
            figure=figure, left=0.42 * width, bottom=1.0, width=0.58 * width - 14.0, height=4.2 * len(bars),
            x=(0.0, most_of), y=(count - 0.5, -0.5),
        )  # fmt: skip
        panel.upright(0.0, color=style.INK, linewidth=0.6, zorder=2.4)
        for place, (source, share) in enumerate(bars):
            panel.tint((0.0, share), (place + 0.23, place - 0.23), facecolor=colour)
            middle = float(panel.up(place))
            panel.words(source, (panel.left - 4 * POINT, middle), ha="right", va="centre", size=style.BODY)
            end = float(panel.across(share)) + 3 * POINT
            panel.words(percent(share), (end, middle), va="centre", size=style.BODY)
        text = style.svg(figure)
    rows = tuple((line.source, percent(line.share), line.scope, line.origin) for line in ranked)
    return style.Drawing(svg=text, caption=f"Where the doubt of {name} comes from.", head=HEAD, rows=rows)


def percent(share: float) -> str:
    """A share of u squared, in whole per cent where it is that big."""
    return f"{100 * share:.0f} %" if share >= 0.01 else "< 1 %"
