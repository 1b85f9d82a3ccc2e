"""Effective area against Reynolds number of one characteristic: readings, fit, 95 % band. Start at `draw`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from headrace.figures import style
from headrace.records.readings import Characteristic, Reading
from headrace.units import format_interval, format_value

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MM2 = 1e6
HEAD = ("run", "lines", "Re", "K", "effective area", "in the fit")


def draw(
    characteristic: Characteristic,
    readings: Sequence[Reading],
    *,
    side: str,
    width: float = 120.0,
    height: float = 70.0,
) -> style.Drawing:
    """Draws one characteristic with its readings.

    Args:
        characteristic: what is carried to the engine. readings: of that stream and state, used or not.
        side: "ox", "fuel" or "film"; picks colour and mark. width, height: of the drawing. [mm]
    """
    readings = [item if item.run in characteristic.runs else replace(item, used=False) for item in readings]
    with style.settings():
        figure = style.blank(width=width, height=height)
        axes = style.frame(figure, left=9.0, bottom=8.0, right=13.0, top=6.0)
        axes.set_xscale("log")
        _curve(axes, characteristic, style.SIDE[side])
        _marks(axes, readings, side)
        _scale(axes, characteristic, readings)
        _labels(axes, readings, side, height=height)
        style.name_axis(axes, along="x", words="Reynolds number", symbol="Re", unit="")
        style.name_axis(axes, along="y", words="Effective area", symbol="E", unit="mm²")
        style.finish(axes)
        text = style.svg(figure)
    fit = "constant" if characteristic.model == "constant" else "sloped"
    caption = f"Circuit {characteristic.key}: {fit} fit, 95 % band; crosses left out."
    return style.Drawing(svg=text, caption=caption, head=HEAD, rows=tuple(_row(item) for item in readings))


def _curve(axes: Axes, item: Characteristic, colour: str) -> None:
    re = np.geomspace(*item.re_span, 60)
    away = np.log(re / item.re_ref)
    slope = item.slope_seen if item.model == "slope" else 0.0
    fit = item.area_eff.value * np.exp(slope * away)
    width = 1.96 * item.u_slope * np.abs(away) if item.model == "slope" else np.zeros_like(away)
    below = np.hypot(1 - item.area_eff.low / item.area_eff.value, width)
    above = np.hypot(item.area_eff.high / item.area_eff.value - 1, width)
    axes.fill_between(
        re, fit * (1 - below) * MM2, fit * (1 + above) * MM2, color=colour, alpha=0.16, linewidth=0
    )
    axes.plot(re, fit * MM2, color=colour, linewidth=0.7)


def _marks(axes: Axes, readings: Sequence[Reading], side: str) -> None:
    lines = sorted({reading.lines for reading in readings})
    for reading in readings:
        at = (reading.re, reading.area_eff * MM2)
        if not reading.used:
            axes.plot(*at, marker="x", color=style.LEFT_OUT, markersize=3.4, markeredgewidth=0.8)
            continue
        hollow = lines.index(reading.lines) % 2 == 1
        axes.plot(
            *at,
            marker=style.MARK[side],
            markersize=3.0 if side == "fuel" else 3.4,
            markerfacecolor=style.GROUND if hollow else style.SIDE[side],
            markeredgecolor=style.SIDE[side],
            markeredgewidth=0.7,
        )
    for run in sorted({reading.run for reading in readings}):
        own = sorted((item for item in readings if item.run == run), key=lambda item: item.re)
        stroke = style.LINE[lines.index(own[0].lines) % len(style.LINE)]
        axes.plot(
            [item.re for item in own],
            [item.area_eff * MM2 for item in own],
            color=style.LEFT_OUT if not any(item.used for item in own) else style.SIDE[side],
            linewidth=0.35,
            linestyle=stroke,
        )


def _scale(axes: Axes, item: Characteristic, readings: Sequence[Reading]) -> None:
    from matplotlib.ticker import FuncFormatter, MaxNLocator, NullFormatter

    re = [*item.re_span, *(reading.re for reading in readings)]
    axes.set_xlim(min(re) / 1.08, max(re) * 1.08)
    area = [item.area_eff.low, item.area_eff.high, *(reading.area_eff for reading in readings)]
    room = 0.12 * (max(area) - min(area))
    axes.set_ylim((min(area) - room) * MM2, (max(area) + room) * MM2)
    axes.yaxis.set_major_locator(MaxNLocator(nbins=4, steps=[1, 2, 5, 10]))
    low, high = axes.get_xlim()
    axes.set_xticks(_round_numbers(low, high))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value / 1e3:g}·10³"))
    axes.xaxis.set_minor_formatter(NullFormatter())


def _round_numbers(low: float, high: float, most: int = 5) -> list[float]:
    """Ticks of a logarithmic axis that may span less than a decade: the coarsest steps that give three."""
    for steps in ((1,), (1, 3), (1, 2, 5), (1, 1.5, 2, 3, 4, 6, 8), tuple(k / 4 for k in range(4, 40))):
        ticks = [
            step * 10.0**power
            for power in range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
            for step in steps
            if low <= step * 10.0**power <= high
        ]
        if len(ticks) >= 3:
            return ticks[:: -(-len(ticks) // most)]
    return ticks


def _labels(axes: Axes, readings: Sequence[Reading], side: str, *, height: float) -> None:
    """Each run by name at the right, in the order of its last reading."""
    runs = sorted({reading.run for reading in readings})
    if not runs:
        return
    last = [max((item for item in readings if item.run == run), key=lambda item: item.re) for run in runs]
    low, high = axes.get_ylim()
    gap = (high - low) * 2.9 / (height - 14.0)
    heights = style.apart([item.area_eff * MM2 for item in last], gap, low, high)
    right = axes.get_xlim()[1]
    for item, at in zip(last, heights, strict=True):
        colour = style.SIDE[side] if item.used else style.LEFT_OUT
        axes.annotate(
            f"{item.run}, {'+'.join(item.lines)}" if item.lines else item.run,
            xy=(item.re, item.area_eff * MM2),
            xytext=(right * 1.01, at),
            va="center",
            ha="left",
            color=colour,
            fontproperties=style.font(size=style.SMALL),
            annotation_clip=False,
            arrowprops={"arrowstyle": "-", "linewidth": 0.3, "color": style.RULE, "shrinkA": 0, "shrinkB": 3},
        )


def _row(reading: Reading) -> tuple[str, ...]:
    return (
        reading.run,
        " + ".join(reading.lines) or "–",
        format_value(reading.re, dimension="ratio", unit="1", digits=3),
        format_value(reading.cav, dimension="ratio", unit="1", digits=2),
        format_interval(reading.area_eff, 2 * reading.u, dimension="area"),
        "yes" if reading.used else f"no: {reading.why or 'run left out'}",
    )
