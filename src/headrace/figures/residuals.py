"""What the readings of one run are off from the characteristic that is carried, with their doubt. Start at `draw`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from headrace.figures import style
from headrace.records.readings import Characteristic, Reading

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEAD = ("circuit", "at", "reading over characteristic, less 1", "± (k = 2)", "counts")
PERCENT = 100.0
ASIDE = 0.08
"""Streams of one run are drawn beside each other. [s]"""


def expected(characteristic: Characteristic, re: float) -> float:
    """Effective area that the characteristic gives at a Reynolds number [m2]."""
    slope = 0.0 if characteristic.model == "constant" else characteristic.slope_seen
    return float(characteristic.area_eff.value * np.exp(slope * np.log(re / characteristic.re_ref)))


def draw(
    run: str,
    readings: Sequence[Reading],
    characteristics: Mapping[str, Characteristic],
    *,
    sides: Mapping[str, str],
    width: float = 172.0,
    height: float = 40.0,
) -> style.Drawing | None:
    """Draws the readings of a run as their distance from what is carried; None when nothing is carried to hold against.

    Args:
        run: its id. readings: of it. characteristics: by the stream of a reading. sides: by stream. width, height: [mm]
    """
    told = [item for item in readings if item.stream in characteristics and item.re > 0]
    if not told:
        return None
    with style.settings():
        figure = style.blank(width=width, height=height)
        axes = style.frame(figure, left=12.0, right=20.0, top=7.0, bottom=9.0)
        axes.axhline(0.0, color=style.INK, linewidth=0.5)
        for place, stream in enumerate(dict.fromkeys(item.stream for item in told)):
            own = [item for item in told if item.stream == stream]
            _points(axes, own, characteristics[stream], sides.get(stream, "film"), place)
        axes.margins(x=0.06)
        style.name_axis(axes, along="x", words="Time", symbol="t", unit="s")
        style.name_axis(axes, along="y", words="Reading over characteristic, less 1", symbol="", unit="%")
        axes.locator_params(axis="y", nbins=5)
        style.finish(axes)
        text = style.svg(figure)
    return style.Drawing(
        svg=text,
        caption=f"Run {run}: readings against the characteristic carried. Thin bars: all doubt, k = 2; thick bars: "
        "scatter alone; band: 95 % of the characteristic.",
        head=HEAD,
        rows=tuple(_row(item, characteristics[item.stream]) for item in told),
    )


def _off(item: Reading, characteristic: Characteristic) -> tuple[float, float]:
    base = expected(characteristic, item.re)
    return PERCENT * (item.area_eff / base - 1), PERCENT * 2 * item.u / base


def _points(axes: Axes, own: Sequence[Reading], item: Characteristic, side: str, place: int) -> None:
    area, colour = item.area_eff, style.SIDE[side]
    band = PERCENT * (area.low / area.value - 1), PERCENT * (area.high / area.value - 1)
    axes.axhspan(*band, facecolor=colour, alpha=0.12, linewidth=0)
    axes.annotate(item.key, xy=(1.0, band[1] if place == 0 else band[0]), xycoords=("axes fraction", "data"),
                  xytext=(3, 0), textcoords="offset points", va="center", ha="left", color=colour,
                  annotation_clip=False, fontproperties=style.font(size=style.SMALL))  # fmt: skip
    for reading in own:
        value, half = _off(reading, item)
        paint = colour if reading.used else style.LEFT_OUT
        at = reading.t + place * ASIDE
        axes.errorbar(at, value, yerr=half, color=paint, linewidth=0.5, capsize=1.2, capthick=0.5)
        axes.errorbar(at, value, yerr=PERCENT * 2 * reading.noise, color=paint, linewidth=2.0,
                      marker=style.MARK[side] if reading.used else "x", markersize=3.0)  # fmt: skip


def _row(item: Reading, characteristic: Characteristic) -> tuple[str, ...]:
    value, half = _off(item, characteristic)
    return (
        characteristic.key, f"{item.t:.2f} s", f"{value:+.2f} %".replace("-", "−"), f"{half:.2f} %",
        "yes" if item.used else f"no: {item.why or 'left out'}",
    )  # fmt: skip
