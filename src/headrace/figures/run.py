"""One stream of one run over time: drop, flow and effective area, with the window that counts. Start at `draw`."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from headrace.figures import style
from headrace.records.readings import Reading, RunResult, Window
from headrace.units import format_interval, format_value

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEAD = ("from", "to", "drop", "flow", "effective area", "in the fit")
PANELS = (
    ("dp", "Drop", "Δp", "bar", 1e-5),
    ("m_dot", "Flow", "ṁ", "kg/s", 1.0),
    ("area_eff", "Area", "E", "mm²", 1e6),
)
"""Field of the series, its words, symbol, printed unit and factor from SI."""


def draw(
    result: RunResult, stream: str, *, side: str, width: float = 150.0, height: float = 100.0
) -> style.Drawing:
    """Draws the three traces of a stream, one above the other on one time.

    Args:
        result: the reduced run. stream: which of its streams. side: "ox", "fuel" or "film". width, height: [mm]
    Raises:
        KeyError: the run has no such stream.
    """
    series, window = result.series[stream], result.windows[stream]
    readings = [item for item in result.readings if item.stream == stream]
    with style.settings():
        figure = style.blank(width=width, height=height)
        foot, between = 10.0, 6.5
        tall = (height - foot - len(PANELS) * between) / len(PANELS)
        first: Axes | None = None
        for place, (field, words, symbol, unit, factor) in enumerate(PANELS):
            top = between + place * (tall + between)
            axes = style.frame(
                figure, left=11.0, right=5.0, top=top, bottom=height - top - tall, sharex=first
            )
            first = first or axes
            values = getattr(series, field) * factor
            axes.plot(series.time, values, color=style.SIDE[side], linewidth=0.6)
            _window(axes, window, names=place == 0)
            _room(axes, series.time, values, window)
            if field == "area_eff":
                _slices(axes, readings, side)
            style.name_axis(axes, along="y", words=words, symbol=symbol, unit=unit)
            if place < len(PANELS) - 1:
                axes.tick_params(labelbottom=False)
        style.name_axis(axes, along="x", words="Time", symbol="t", unit="s")
        for axes in figure.axes:
            style.finish(axes)
        text = style.svg(figure)
    span = f"{window.start:.2f} s to {window.end:.2f} s, {window.chosen}"
    caption = f"Run {result.run}, {stream}: the window {span}."
    return style.Drawing(svg=text, caption=caption, head=HEAD, rows=tuple(_rows(window, readings)))


def _window(axes: Axes, window: Window, *, names: bool) -> None:
    axes.axvspan(window.start, window.end, facecolor=style.RULE, alpha=0.35, linewidth=0)
    for at in (window.start, window.end):
        axes.axvline(at, color=style.INK, linewidth=0.5)
    if names:
        axes.annotate(
            "window",
            xy=(window.start, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(2, -2),
            textcoords="offset points",
            va="top",
            ha="left",
            color=style.QUIET,
            fontproperties=style.font(size=style.SMALL),
        )


def _room(axes: Axes, time: np.ndarray, values: np.ndarray, window: Window) -> None:
    """Scales by what happens in the window, so that a spike at opening does not flatten the rest."""
    inside = values[(time >= window.start) & (time <= window.end) & np.isfinite(values)]
    if inside.size:
        low, high = float(np.min(inside)), float(np.max(inside))
        room = 0.35 * max(high - low, 1e-2 * abs(high))
        axes.set_ylim(low - room, high + room)


def _slices(axes: Axes, readings: Iterable[Reading], side: str) -> None:
    for item in readings:
        axes.plot(
            item.t,
            item.area_eff * 1e6,
            marker=style.MARK[side] if item.used else "x",
            markersize=3.4,
            color=style.SIDE[side] if item.used else style.LEFT_OUT,
            markeredgecolor=style.GROUND if item.used else style.LEFT_OUT,
            markeredgewidth=0.5 if item.used else 0.8,
        )


def _rows(window: Window, readings: list[Reading]) -> Iterable[tuple[str, ...]]:
    times = [item.t for item in readings]
    edges = [window.start, *((a + b) / 2 for a, b in itertools.pairwise(times)), window.end]
    for place, item in enumerate(readings):
        yield (
            f"{edges[place]:.2f} s",
            f"{edges[place + 1]:.2f} s",
            format_value(item.dp, dimension="pressure", kind="drop"),
            format_value(item.m_dot, dimension="mass_flow"),
            format_interval(item.area_eff, 2 * item.u, dimension="area"),
            "yes" if item.used else f"no: {item.why}",
        )
