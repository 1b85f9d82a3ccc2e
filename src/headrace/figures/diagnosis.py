"""Effective area against Re, K and 1/Δp in one drawing: which of the three explains its trend. Start at `draw`.

The same readings three times, with the marks of `figures.characteristic`. The panel of the cause carries its curve.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from headrace.figures import style
from headrace.figures.characteristic import FILLS, MM2, THOUSAND
from headrace.figures.panel import Panel, room, ticks
from headrace.records.readings import Cause, Characteristic, Reading
from headrace.units import format_interval, format_value

BAR = 1e5
HEAD = ("run", "lines", "Re", "K", "1/Δp", "effective area", "in the fit")
LEFT, RIGHT, TOP, BOTTOM, BETWEEN = 9.0, 3.0, 5.5, 8.0, 5.0
"""Margins around the three panels, and between them. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Panel:
    """One abscissa: what it shows, in which printed unit, whether it is logarithmic."""

    field: str
    words: str
    symbol: str
    unit: str
    logarithmic: bool

    def of(self, reading: Reading) -> float:
        return {"re": reading.re / THOUSAND, "cav": reading.cav, "per_dp": BAR / reading.dp}[self.field]


PANELS = (
    _Panel(field="re", words="Reynolds", symbol="Re", unit="10³", logarithmic=True),
    _Panel(field="cav", words="Cavitation", symbol="K", unit="", logarithmic=False),
    _Panel(field="per_dp", words="Inverse drop", symbol="1/Δp", unit="1/bar", logarithmic=False),
)


def draw(
    characteristic: Characteristic,
    readings: Sequence[Reading],
    *,
    side: str,
    width: float = 165.0,
    height: float = 58.0,
) -> style.Drawing:
    """Draws one characteristic's readings against the three suspects of a trend.

    Args:
        characteristic: with its `cause`, if the cause test was made. readings: of that stream and state, used or not.
        side: "ox", "fuel" or "film"; picks colour and mark. width, height: of the drawing. [mm]
    """
    own = [item if item.run in characteristic.runs else replace(item, used=False) for item in readings]
    own = [item for item in own if item.dp > 0 and np.isfinite(item.area_eff)]
    lines = sorted({item.lines for item in own})
    wide = (width - LEFT - RIGHT - 2 * BETWEEN) / len(PANELS)
    with style.settings():
        figure = style.blank(width=width, height=height)
        span = _span(characteristic, own)
        for place, panel in enumerate(PANELS):
            frame = Panel(
                figure=figure, left=LEFT + place * (wide + BETWEEN), bottom=BOTTOM, width=wide,
                height=height - TOP - BOTTOM, x=_reach(panel, own), y=span, logarithmic=panel.logarithmic,
            )  # fmt: skip
            _mean(frame, characteristic, style.SIDE[side])
            _marks(frame, panel, own, lines, side)
            curve = _cause(panel, characteristic, own)
            if curve is not None:
                frame.line(*curve, color=style.INK, linewidth=0.7, zorder=2.2)
            frame.scale(xs=ticks(*frame.x), ys=ticks(*span), beside=place == 0)
            frame.name("x", words=panel.words, symbol=panel.symbol, unit=panel.unit)
            if place == 0:
                frame.name("y", words="Effective area", symbol="E", unit="mm²")
        text = style.svg(figure)
    return style.Drawing(
        svg=text,
        caption=_caption(characteristic, own, lines),
        head=HEAD,
        rows=tuple(_row(item) for item in own),
    )


def _caption(item: Characteristic, readings: Sequence[Reading], lines: Sequence[tuple[str, ...]]) -> str:
    parts = ["the same readings against Re, K and 1/Δp"]
    named = [f"{'+'.join(line)} {FILLS[place % len(FILLS)][1]}" for place, line in enumerate(lines) if line]
    if named:
        parts.append(f"line {', '.join(named)}")
    if not all(reading.used for reading in readings):
        span = _span(item, readings)
        off = any(not span[0] <= reading.area_eff * MM2 <= span[1] for reading in readings)
        parts.append("× left out, at the edge where off the scale" if off else "× left out")
    if item.cause is not None:
        parts.append(f"cause: {item.cause.why}")
    return f"{item.key}: {'; '.join(parts)}."


def _span(item: Characteristic, readings: Sequence[Reading]) -> tuple[float, float]:
    """Scale of the area [mm2]: the readings that count and the band, with room."""
    used = [reading.area_eff for reading in readings if reading.used]
    areas = [item.area_eff.low, item.area_eff.high, *used]
    low, high = min(areas) * MM2, max(areas) * MM2
    room = 0.08 * (high - low) or 0.01 * abs(high)
    return low - room, high + room


def _mean(frame: Panel, item: Characteristic, colour: str) -> None:
    frame.tint(None, (item.area_eff.low * MM2, item.area_eff.high * MM2), facecolor=colour, alpha=0.12)
    frame.level(item.area_eff.value * MM2, color=colour, linewidth=0.5)


def _marks(
    frame: Panel, panel: _Panel, readings: Sequence[Reading], lines: Sequence[tuple[str, ...]], side: str
) -> None:
    for run in sorted({item.run for item in readings}):
        own = sorted((item for item in readings if item.run == run), key=lambda item: item.t)
        frame.line(
            *_at(panel, own, frame.y),
            color=style.SIDE[side] if any(item.used for item in own) else style.LEFT_OUT,
            linewidth=0.35,
            linestyle=style.LINE[lines.index(own[0].lines) % len(style.LINE)],
            zorder=2,
        )
    for place, line in enumerate(lines):
        some = [item for item in readings if item.used and item.lines == line]
        if some:
            frame.line(
                *_at(panel, some, frame.y), linestyle="none", marker=style.MARK[side], color=style.SIDE[side],
                markersize=2.6 if side == "fuel" else 3.0, fillstyle=FILLS[place % len(FILLS)][0],
                markerfacecoloralt=style.GROUND, markeredgewidth=0.6, zorder=3,
            )  # fmt: skip
    gone = [item for item in readings if not item.used]
    if gone:
        frame.line(*_at(panel, gone, frame.y), clip=False, linestyle="none", marker="x", color=style.LEFT_OUT,
                   markersize=3.0, markeredgewidth=0.7, zorder=2.5)  # fmt: skip


def _at(
    panel: _Panel, readings: Sequence[Reading], span: tuple[float, float]
) -> tuple[list[float], list[float]]:
    """Where readings are drawn: in their place, or on the edge next to it."""
    areas = [float(np.clip(item.area_eff * MM2, *span)) for item in readings]
    return [panel.of(item) for item in readings], areas


def _cause(
    panel: _Panel, item: Characteristic, readings: Sequence[Reading]
) -> tuple[np.ndarray, np.ndarray] | None:
    """The curve of the cause found, in its own panel, through the middle of the readings."""
    cause = item.cause
    wanted = {"reynolds": "re", "cavitation": "cav", "zero error": "per_dp"}
    readings = [reading for reading in readings if reading.run in item.runs]
    if cause is None or wanted.get(cause.verdict) != panel.field or len(readings) < 2:
        return None
    x = np.array([panel.of(reading) for reading in readings])
    y = np.log(np.array([reading.area_eff * MM2 for reading in readings]))
    along = np.linspace(x.min(), x.max(), 80)
    shift = float(np.mean(y - _shape(cause, x)))
    return along, np.exp(shift + _shape(cause, along))


def _shape(cause: Cause, x: np.ndarray) -> np.ndarray:
    """ln E over the abscissa of the cause, up to a constant."""
    if cause.verdict == "reynolds":
        return np.asarray((cause.slope or 0.0) * np.log(x))
    if cause.verdict == "cavitation":
        return np.asarray(0.5 * np.log(np.minimum(x, cause.onset or np.inf)))
    return np.asarray(0.5 * np.log1p(-(cause.zero or 0.0) / BAR * x))


def _reach(panel: _Panel, readings: Sequence[Reading]) -> tuple[float, float]:
    values = [panel.of(item) for item in readings]
    low, high = (min(values), max(values)) if values else (1.0, 2.0)
    if panel.logarithmic:
        pad = max(1.03, (high / low) ** 0.06)
        return low / pad, high * pad
    return room(low, high, 0.06)


def _row(reading: Reading) -> tuple[str, ...]:
    return (
        reading.run,
        " + ".join(reading.lines) or "–",
        format_value(reading.re, dimension="ratio", unit="1", digits=3),
        format_value(reading.cav, dimension="ratio", unit="1", digits=2),
        f"{BAR / reading.dp:.3g} 1/bar",
        format_interval(reading.area_eff, 2 * reading.u, dimension="area"),
        "yes" if reading.used else f"no: {reading.why or 'run left out'}",
    )
