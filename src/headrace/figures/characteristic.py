"""Effective area against Reynolds number of one characteristic: readings, fit, 95 % band. Start at `draw`.

Scaled by what counts. Readings that were left out and lie beyond that scale are crosses on its edge, and named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from headrace.chain.models import MODELS
from headrace.figures import style
from headrace.records.readings import Characteristic, ModelSeen, Reading
from headrace.units import format_interval, format_value

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MM2 = 1e6
THOUSAND = 1e3
HEAD = ("run", "lines", "Re", "K", "effective area", "in the fit")
LEFT, RIGHT, TOP, BOTTOM = 9.0, 16.0, 5.5, 8.0
"""Margins around the axes. [mm]"""
LABEL, STRIP = 2.7, 3.3
"""Height of a line of the smallest type, and of the strip that it needs by itself. [mm]"""
FILLS = (("full", "filled"), ("none", "open"), ("bottom", "half"))
"""How marks tell supply lines apart, in the order of their names."""
NEAR = 1.25
"""What does not count for the scale is still drawn where it lies when that widens Re by no more than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """What the axes span: Re, and area [mm2] with strips above or below it for what is said at the edges."""

    re: tuple[float, float]
    area: tuple[float, float]
    above: bool = False
    below: bool = False
    strip: float = 0.0
    most: int = 4

    def with_strips(self, *, above: bool, below: bool, height: float) -> _Scale:
        """The same with strips as high as a line of type, on axes of that height [mm], and as many ticks as fit."""
        band = max(height - STRIP * (above + below), STRIP)
        strip = (self.area[1] - self.area[0]) * STRIP / band
        return replace(self, above=above, below=below, strip=strip, most=max(2, min(4, int(band / 4.0))))

    def inside(self, reading: Reading) -> bool:
        return (
            self.re[0] <= reading.re <= self.re[1] and self.area[0] <= reading.area_eff * MM2 <= self.area[1]
        )

    def at(self, reading: Reading) -> tuple[float, float]:
        """Where a reading is drawn: in its place, or on the edge next to it."""
        return (
            float(np.clip(reading.re, *self.re)),
            float(np.clip(reading.area_eff * MM2, *self.area)),
        )


def draw(
    characteristic: Characteristic,
    readings: Sequence[Reading],
    *,
    side: str,
    re_hot: float | None = None,
    width: float = 120.0,
    height: float = 70.0,
) -> style.Drawing:
    """Draws one characteristic with its readings.

    Args:
        characteristic: what is carried to the engine. readings: of that stream and state, used or not.
        side: "ox", "fuel" or "film"; picks colour and mark. re_hot: Reynolds number in the engine, if known.
        width, height: of the drawing. [mm]
    """
    readings = [item if item.run in characteristic.runs else replace(item, used=False) for item in readings]
    lines = sorted({item.lines for item in readings})
    with style.settings():
        figure = style.blank(width=width, height=height)
        axes = style.frame(figure, left=LEFT, bottom=BOTTOM, right=RIGHT, top=TOP)
        axes.set_xscale("log")
        scale = _scale(characteristic, readings, re_hot)
        gone = [item for item in readings if not scale.inside(item)]
        under = bool(gone) and re_hot is None and all(item.area_eff * MM2 < scale.area[1] for item in gone)
        scale = scale.with_strips(
            above=bool(gone) and not under, below=under or re_hot is not None, height=height - TOP - BOTTOM
        )
        _curve(axes, characteristic, style.SIDE[side])
        _marks(axes, readings, lines, side, scale)
        _ticks(axes, scale)
        _labels(axes, [item for item in readings if scale.inside(item)], side, height=height)
        _outside(axes, gone, scale, below=under)
        if re_hot is not None:
            _engine(axes, re_hot, scale)
        style.name_axis(axes, along="x", words="Reynolds number", symbol="Re", unit="10³")
        style.name_axis(axes, along="y", words="Effective area", symbol="E", unit="mm²")
        style.finish(axes)
        text = style.svg(figure)
    return style.Drawing(
        svg=text,
        caption=_caption(characteristic, readings, lines),
        head=HEAD,
        rows=tuple(_row(item) for item in readings),
    )


def _caption(
    characteristic: Characteristic, readings: Sequence[Reading], lines: Sequence[tuple[str, ...]]
) -> str:
    parts = [f"{'constant' if characteristic.model == 'constant' else 'sloped'} E, 95 % band"]
    if characteristic.rivals:
        words = " and ".join(MODELS[one.name].words for one in characteristic.rivals)
        parts.append(f"dashed: {words}, not told apart")
    named = [
        f"{'+'.join(line)} {FILLS[place % len(FILLS)][1]}"
        for place, line in enumerate(lines)
        if line and any(item.used and item.lines == line for item in readings)
    ]
    if named:
        parts.append(f"line {', '.join(named)}")
    if not all(item.used for item in readings):
        parts.append("× left out")
    return f"{characteristic.key}: {'; '.join(parts)}."


def _curve(axes: Axes, item: Characteristic, colour: str) -> None:
    re = np.geomspace(*item.re_span, 60)
    fit = item.area_eff.value * np.exp(_ln_ratio(item.carried, re))
    width = 1.96 * item.carried.u * np.abs(_along(item.carried, re))
    below = np.hypot(1 - item.area_eff.low / item.area_eff.value, width)
    above = np.hypot(item.area_eff.high / item.area_eff.value - 1, width)
    axes.fill_between(
        re, fit * (1 - below) * MM2, fit * (1 + above) * MM2, color=colour, alpha=0.16, linewidth=0
    )
    axes.plot(re, fit * MM2, color=colour, linewidth=0.7)
    for rival in item.rivals:
        other = item.area_eff.value * np.exp(_ln_ratio(rival, re))
        axes.plot(re, other * MM2, color=colour, linewidth=0.5, linestyle=(0, (4, 3)))


def _along(model: ModelSeen, re: np.ndarray) -> np.ndarray:
    """What the model's coefficient multiplies."""
    return MODELS[model.name].basis(re, model.re_ref)


def _ln_ratio(model: ModelSeen, re: np.ndarray) -> np.ndarray:
    """ln of E over its value at the mean of the readings."""
    return np.asarray(model.coefficient * _along(model, re))


def _marks(
    axes: Axes, readings: Sequence[Reading], lines: Sequence[tuple[str, ...]], side: str, scale: _Scale
) -> None:
    for run in sorted({item.run for item in readings}):
        own = sorted(
            (item for item in readings if item.run == run and scale.inside(item)), key=lambda item: item.re
        )
        if len(own) > 1:
            axes.plot(
                [item.re for item in own],
                [item.area_eff * MM2 for item in own],
                color=style.SIDE[side] if any(item.used for item in own) else style.LEFT_OUT,
                linewidth=0.35,
                linestyle=style.LINE[lines.index(own[0].lines) % len(style.LINE)],
                zorder=2,
            )
    for place, line in enumerate(lines):
        used = [scale.at(item) for item in readings if item.used and item.lines == line]
        if used:
            axes.plot(
                *zip(*used, strict=True),
                linestyle="none",
                marker=style.MARK[side],
                markersize=2.6 if side == "fuel" else 3.0,
                fillstyle=FILLS[place % len(FILLS)][0],
                markerfacecoloralt=style.GROUND,
                color=style.SIDE[side],
                markeredgewidth=0.6,
                zorder=3,
            )
    gone = [scale.at(item) for item in readings if not item.used]
    if gone:
        axes.plot(
            *zip(*gone, strict=True),
            linestyle="none",
            marker="x",
            color=style.LEFT_OUT,
            markersize=3.0,
            markeredgewidth=0.7,
            clip_on=False,
            zorder=2.5,
        )


def _scale(item: Characteristic, readings: Sequence[Reading], re_hot: float | None) -> _Scale:
    used = [reading for reading in readings if reading.used]
    re = [*item.re_span, *(reading.re for reading in used)]
    near = [min(re) / NEAR, max(re) * NEAR]
    re += [reading.re for reading in readings if near[0] <= reading.re <= near[1]]
    ends = min(re), max(re)
    if re_hot is not None and ends[0] / NEAR <= re_hot <= ends[1] * NEAR:
        ends = min(ends[0], re_hot), max(ends[1], re_hot)
    area = [reading.area_eff for reading in used]
    for end in item.re_span:
        at = np.asarray(end)
        fit = float(np.exp(_ln_ratio(item.carried, at)))
        width = 1.96 * item.carried.u * abs(float(_along(item.carried, at)))
        area += [
            item.area_eff.low * fit - item.area_eff.value * width,
            item.area_eff.high * fit + item.area_eff.value * width,
        ]
    low, high = min(area) * MM2, max(area) * MM2
    room = 0.08 * (high - low) or 0.01 * abs(high)
    pad = max(1.04, (ends[1] / ends[0]) ** 0.06)
    return _Scale(re=(ends[0] / pad, ends[1] * pad), area=(low - room, high + room))


def _ticks(axes: Axes, scale: _Scale) -> None:
    """Limits and round numbers; a strip is kept free above or below for what is said at the edges."""
    from matplotlib.ticker import FuncFormatter, NullFormatter, NullLocator

    axes.set_xlim(*scale.re)
    low, high = scale.area
    axes.set_ylim(low - (scale.strip if scale.below else 0.0), high + (scale.strip if scale.above else 0.0))
    axes.set_yticks(_even(low, high, most=scale.most))
    axes.set_xticks(_round_numbers(*scale.re))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value / THOUSAND:.10g}"))


def _even(low: float, high: float, *, most: int) -> list[float]:
    """Round numbers between two ends, evenly apart: two at least, and as few as `most` where that can be."""
    from matplotlib.ticker import MaxNLocator

    for bins in range(most, 12):
        values = MaxNLocator(nbins=bins, steps=[1, 2, 5, 10]).tick_values(low, high)
        ticks = [float(value) for value in values if low <= value <= high]
        if len(ticks) >= 2:
            break
    return ticks[:: -(-len(ticks) // most)] if len(ticks) > most + 1 else ticks


def _round_numbers(low: float, high: float, most: int = 4) -> list[float]:
    """Ticks of a logarithmic axis that may span less than a decade: at least two, round, and few."""
    if high < 4 * low:
        return _even(low, high, most=most)
    for steps in ((1,), (1, 3), (1, 2, 5)):
        ticks = [
            step * 10.0**power
            for power in range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
            for step in steps
            if low <= step * 10.0**power <= high
        ]
        if len(ticks) >= 2:
            break
    return ticks[:: -(-len(ticks) // most)]


def _labels(axes: Axes, readings: Sequence[Reading], side: str, *, height: float) -> None:
    """Runs by name at the right, at the height of their last reading; neighbours share a line of type."""
    low, high = axes.get_ylim()
    gap = (high - low) * LABEL / (height - TOP - BOTTOM)
    last = [
        max((item for item in readings if item.run == run), key=lambda item: item.re)
        for run in sorted({item.run for item in readings})
    ]
    groups: list[list[Reading]] = []
    for item in sorted(last, key=lambda item: (not item.used, item.area_eff)):
        near = groups and groups[-1][0].used == item.used and len(groups[-1]) < 2
        if near and (item.area_eff - groups[-1][0].area_eff) * MM2 < gap:
            groups[-1].append(item)
        else:
            groups.append([item])
    wanted = [float(np.mean([item.area_eff * MM2 for item in group])) for group in groups]
    right = axes.get_xlim()[1]
    for group, at in zip(groups, style.apart(wanted, gap, low, high), strict=True):
        colour = style.SIDE[side] if group[0].used else style.LEFT_OUT
        for item in group:
            _say(
                axes,
                "",
                (item.re, item.area_eff * MM2),
                xytext=(right, at),
                arrowprops={
                    "arrowstyle": "-",
                    "linewidth": 0.3,
                    "color": style.RULE,
                    "shrinkA": 0,
                    "shrinkB": 2,
                },
            )
        _say(axes, ", ".join(item.run for item in group), (right, at), 2.5, 0, ha="left", color=colour)


def _outside(axes: Axes, gone: Sequence[Reading], scale: _Scale, *, below: bool) -> None:
    """Names the runs whose readings lie beyond the scale, over its upper edge or under its lower one."""
    if not gone:
        return
    runs = ", ".join(sorted({item.run for item in gone}))
    edge, up = (scale.area[0], -6.2) if below else (scale.area[1], 6.2)
    _say(axes, f"{runs}: left out, off scale", (scale.re[0], edge), 2, up, color=style.LEFT_OUT)


def _engine(axes: Axes, re_hot: float, scale: _Scale) -> None:
    """The engine's Reynolds number: a tick where it lies, or an arrow out of the edge it lies beyond."""
    low, high = scale.re
    foot = axes.get_ylim()[0]
    words = f"engine {format_value(re_hot / THOUSAND, dimension='ratio', unit='1', digits=3 if re_hot >= 1e5 else 2)}"
    middle = foot + scale.strip / 2
    if low <= re_hot <= high:
        axes.plot([re_hot, re_hot], [foot, foot + scale.strip], color=style.INK, linewidth=0.8)
        late = np.log(re_hot / low) > np.log(high / low) / 2
        _say(axes, words, (re_hot, middle), -3 if late else 3, 0, ha="right" if late else "left")
        return
    over = re_hot > high
    edge, inward = (high, -1) if over else (low, 1)
    arrow: dict[str, Any] = {
        "arrowstyle": "->",
        "linewidth": 0.6,
        "color": style.INK,
        "shrinkA": 0,
        "shrinkB": 0,
        "mutation_scale": 5,
    }
    _say(axes, "", (edge, middle), 11.0 * inward, 0, arrowprops=arrow)
    _say(axes, words, (edge, middle), 13.0 * inward, 0, ha="right" if over else "left")


def _say(
    axes: Axes,
    words: str,
    at: tuple[float, float],
    right: float = 0.0,
    up: float = 0.0,
    *,
    xytext: tuple[float, float] | None = None,
    ha: str = "left",
    color: str = style.INK,
    arrowprops: dict[str, Any] | None = None,
) -> None:
    """Small words at a place, moved by points, or with a leader to `xytext`."""
    axes.annotate(
        words,
        xy=at,
        xytext=(right, up) if xytext is None else xytext,
        textcoords="offset points" if xytext is None else "data",
        va="center",
        ha=ha,
        color=color,
        fontproperties=style.font(size=style.SMALL),
        annotation_clip=False,
        arrowprops=arrowprops,
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
