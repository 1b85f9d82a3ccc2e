"""What the readings of one run are off from the characteristic that is carried, with their doubt. Start at `draw`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from headrace.figures import style
from headrace.figures.panel import POINT, Panel, room, ticks
from headrace.records.readings import Characteristic, Reading

HEAD = ("circuit", "at", "reading over characteristic, less 1", "± (k = 2)", "counts")
PERCENT = 100.0
ASIDE = 0.08
"""Streams of one run are drawn beside each other. [s]"""
CAP, LABEL = 1.2 * POINT, 2.6
"""Half width of a bar's caps; height of a line of the smallest type. [mm]"""


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
    streams = list(dict.fromkeys(item.stream for item in told))
    with style.settings():
        figure = style.blank(width=width, height=height)
        panel = Panel(figure=figure, left=12.0, bottom=9.0, width=width - 32.0, height=height - 16.0,
                      x=_times(told, streams), y=_span(told, characteristics))  # fmt: skip
        panel.level(0.0, color=style.INK, linewidth=0.5)
        for place, stream in enumerate(streams):
            own = [item for item in told if item.stream == stream]
            _points(panel, own, characteristics[stream], sides.get(stream, "film"), place)
        _names(panel, [characteristics[stream] for stream in streams], sides)
        panel.scale(xs=ticks(*panel.x, most=8), ys=ticks(*panel.y, most=5))
        panel.name("x", words="Time", symbol="t", unit="s")
        panel.name("y", words="Reading over characteristic, less 1", symbol="", unit="%")
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


def _band(item: Characteristic) -> tuple[float, float]:
    area = item.area_eff
    return PERCENT * (area.low / area.value - 1), PERCENT * (area.high / area.value - 1)


def _times(told: Sequence[Reading], streams: Sequence[str]) -> tuple[float, float]:
    times = [item.t + streams.index(item.stream) * ASIDE for item in told]
    return room(min(times), max(times), 0.06)


def _span(told: Sequence[Reading], characteristics: Mapping[str, Characteristic]) -> tuple[float, float]:
    ends = [0.0]
    for item in told:
        value, half = _off(item, characteristics[item.stream])
        noise = PERCENT * 2 * item.noise
        ends += [value - max(half, noise), value + max(half, noise), *_band(characteristics[item.stream])]
    return room(min(ends), max(ends))


def _points(panel: Panel, own: Sequence[Reading], item: Characteristic, side: str, place: int) -> None:
    colour = style.SIDE[side]
    panel.tint(None, _band(item), facecolor=colour, alpha=0.12)
    for used in (False, True):
        some = [reading for reading in own if reading.used is used]
        if not some:
            continue
        paint = colour if used else style.LEFT_OUT
        at = np.array([reading.t for reading in some]) + place * ASIDE
        value, half = np.array([_off(reading, item) for reading in some]).T
        noise = PERCENT * 2 * np.array([reading.noise for reading in some])
        panel.bars(at, value - half, value + half, cap=CAP, color=paint, linewidth=0.5)
        panel.bars(at, value - noise, value + noise, color=paint, linewidth=2.0)
        panel.line(at, value, clip=False, color=paint, linestyle="none", markersize=3.0,
                   marker=style.MARK[side] if used else "x")  # fmt: skip


def _names(panel: Panel, items: Sequence[Characteristic], sides: Mapping[str, str]) -> None:
    """Each characteristic beside the edge of its band, kept apart."""
    gap = LABEL * (panel.y[1] - panel.y[0]) / panel.height
    wanted = [_band(item)[1 if place == 0 else 0] for place, item in enumerate(items)]
    for item, at in zip(items, style.apart(wanted, gap, *panel.y), strict=True):
        panel.words(item.key, (panel.left + panel.width + 1.0, float(panel.up(at))), va="centre",
                    color=style.SIDE[sides.get(item.stream, "film")])  # fmt: skip


def _row(item: Reading, characteristic: Characteristic) -> tuple[str, ...]:
    value, half = _off(item, characteristic)
    return (
        characteristic.key, f"{item.t:.2f} s", f"{value:+.2f} %".replace("-", "−"), f"{half:.2f} %",
        "yes" if item.used else f"no: {item.why or 'left out'}",
    )  # fmt: skip
