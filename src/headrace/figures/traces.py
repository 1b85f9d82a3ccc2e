"""A whole run over time: pressures, drops, flow and effective area, with window, phases and findings. Start at `draw`.

What lies outside the window, and all of a run that was left out, is grey; findings that have a place in time are
marked with their letter.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.figures import style
from headrace.figures.panel import Panel, extent, room, ticks
from headrace.records.given import Instrument
from headrace.records.readings import Reading, RunResult, Window

Array = NDArray[np.float64]

PANEL, BETWEEN, FOOT, LEFT, RIGHT = 19.0, 7.5, 9.0, 12.0, 20.0
"""Height of a panel, room above each, below the last, left and right. [mm]"""
LABEL = 2.6
"""Height of a line of the smallest type. [mm]"""
MOST = 400
"""Points of a line, at most."""
ROWS = 10
"""Rows of the table, at most."""
ASIDE = 0.008
"""Share of the record by which a letter stands beside its line, where there is no room above it."""
DIGITS = 4
SEEN = 5e-4
"""Share of its span to which a single value of a channel is told."""

KINDS: tuple[tuple[str, str, str, str, float], ...] = (
    ("gauge", "Gauge pressure", "p", "bar(g)", 1e-5),
    ("abs", "Absolute pressure", "p", "bar(a)", 1e-5),
    ("drop", "Pressure drop", "Δp", "bar", 1e-5),
    ("mass", "Mass", "m", "kg", 1.0),
)
"""What an instrument measures, with words, symbol, printed unit and factor from SI. Others are told in the table."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A finding with a place in time: its letter, when it begins and (if it lasts) ends [s], its severity."""

    letter: str
    start: float
    end: float | None
    severity: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Trace:
    label: str
    time: Array
    values: Array  # as printed
    side: str | None
    least: float = 0.0  # what its instrument can tell apart, as printed
    window: Window | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Panel:
    words: str
    symbol: str
    unit: str
    traces: tuple[_Trace, ...]
    window: Window | None = None  # scales the panel, for E
    readings: tuple[Reading, ...] = ()


def draw(
    result: RunResult,
    *,
    instruments: Mapping[str, Instrument],
    sides: Mapping[str, str],
    taps: Mapping[str, str],
    marks: Sequence[Mark] = (),
    width: float = 172.0,
) -> style.Drawing | None:
    """Draws every panel of a run on one time; None when nothing was logged.

    Args:
        result: the reduced run. instruments: of the bench, by tag. sides: "ox", "fuel" or "film" by stream.
        taps: stream by the tag that reads its tap. marks: findings to be marked. width: [mm]
    """
    panels = list(_panels(result, instruments, sides, taps))
    if not panels:
        return None
    height = FOOT + len(panels) * (PANEL + BETWEEN)
    span = _span(panels)
    until = max((window.end for window in result.windows.values()), default=None)
    with style.settings():
        figure = style.blank(width=width, height=height)
        for place, panel in enumerate(panels):
            foot = height - (place + 1) * (PANEL + BETWEEN)
            frame = Panel(figure=figure, left=LEFT, bottom=foot, width=width - LEFT - RIGHT, height=PANEL, x=span,
                          y=_range(panel))  # fmt: skip
            taken = frame.name("y", words=panel.words, symbol=panel.symbol, unit=panel.unit) + 1.0
            _windows(frame, result, names=place == 0, taken=taken)
            _lines(frame, panel, panel_end=until, gone=result.excluded is not None)
            for mark in marks:
                _mark(frame, mark, letter=place == 0, taken=taken)
            last = place == len(panels) - 1
            frame.scale(xs=ticks(*span, most=9), ys=ticks(*frame.y), along=last)
            if last:
                frame.name("x", words="Time", symbol="t", unit="s")
        text = style.svg(figure)
    head, rows = _table(result, panels)
    return style.Drawing(svg=text, caption=_caption(result, marks), head=head, rows=rows)


def _panels(
    result: RunResult,
    instruments: Mapping[str, Instrument],
    sides: Mapping[str, str],
    taps: Mapping[str, str],
) -> Iterator[_Panel]:
    time = result.channels.time if result.channels is not None else np.empty(0)
    channels = result.channels.values if result.channels is not None else {}
    for kind, words, symbol, unit, factor in KINDS:
        traces = tuple(
            _Trace(
                label=tag,
                time=time,
                values=values * factor,
                side=sides.get(taps.get(tag, "")),
                least=SEEN * instruments[tag].span * factor,
            )
            for tag, values in channels.items()
            if tag in instruments and instruments[tag].measures == kind and np.any(np.isfinite(values))
        )
        if traces:
            yield _Panel(words=words, symbol=symbol, unit=unit, traces=traces)
    flows = tuple(
        _Trace(label=stream, time=one.time, values=one.m_dot, side=sides.get(stream))
        for stream, one in result.series.items()
        if np.any(np.isfinite(one.m_dot))
    )
    if flows:
        yield _Panel(words="Flow", symbol="ṁ", unit="kg/s", traces=flows)
    for stream, one in result.series.items():
        window = result.windows.get(stream)
        trace = _Trace(
            label=stream, time=one.time, values=one.area_eff * 1e6, side=sides.get(stream), window=window
        )
        readings = tuple(item for item in result.readings if item.stream == stream)
        if np.any(np.isfinite(trace.values)):
            yield _Panel(words="Effective area", symbol="E", unit="mm²", traces=(trace,), window=window,
                         readings=readings)  # fmt: skip


def _span(panels: Sequence[_Panel]) -> tuple[float, float]:
    times = [trace.time for panel in panels for trace in panel.traces]
    return float(min(np.nanmin(time) for time in times)), float(max(np.nanmax(time) for time in times))


def _range(panel: _Panel) -> tuple[float, float]:
    """E is scaled by what it does in its window; pressures and flows by all that was logged."""
    window, trace = panel.window, panel.traces[0]
    if window is not None:
        inside = trace.values[
            (trace.time >= window.start) & (trace.time <= window.end) & np.isfinite(trace.values)
        ]
        seen = [*inside, *(reading.area_eff * 1e6 for reading in panel.readings)]
        if seen:
            low, high = float(np.percentile(seen, 0.5)), float(np.percentile(seen, 99.5))
            apart = 0.5 * max(high - low, 1e-2 * abs(high))
            return low - apart, high + apart
    low = min(float(np.nanmin(trace.values)) for trace in panel.traces)
    high = max(float(np.nanmax(trace.values)) for trace in panel.traces)
    return room(low, high)


def _windows(frame: Panel, result: RunResult, *, names: bool, taken: float) -> None:
    """The part that counts on a tint; phases parted by thin lines, named where there is room right of `taken` [mm]."""
    for window in result.windows.values():
        frame.tint((window.start, window.end), None, facecolor=style.RULE, alpha=0.35, zorder=1.0)
        if window.phases:
            frame.upright(*(start for _, start, _ in window.phases), color=style.RULE, linewidth=0.4,
                          linestyle=(0, (2, 2)))  # fmt: skip
        frame.upright(window.start, window.end, color=style.INK, linewidth=0.5)
        for name, start, end in window.phases if names else ():
            wide = float(frame.across(end) - frame.across(start))
            middle = float(frame.across((start + end) / 2))
            if wide > extent(name, style.SMALL) + 0.6 and middle - extent(name, style.SMALL) / 2 > taken:
                _say(frame, name, (start + end) / 2, up=0.6)
        if names and not window.phases:
            _say(frame, "window", (window.start + window.end) / 2, up=0.6)
        names = False  # streams of one run flow together: said once


def _say(frame: Panel, words: str, at: float, *, up: float, color: str = style.QUIET) -> None:
    """Words above the panel, by so much [mm]."""
    place = float(frame.across(at)), frame.bottom + frame.height + up
    frame.words(words, place, ha="center", color=color)


def _level(trace: _Trace, at: float | None) -> float:
    """Where a trace is told at: its value at the end of the window, or the last that it has."""
    known = np.flatnonzero(np.isfinite(trace.values))
    if known.size == 0:
        return 0.0
    near = known[-1] if at is None else known[np.argmin(np.abs(trace.time[known] - at))]
    return float(np.median(trace.values[known][(known >= near - 3) & (known <= near + 3)]))


def _lines(frame: Panel, panel: _Panel, *, panel_end: float | None, gone: bool) -> None:
    others = 0
    ends: list[tuple[float, str, str]] = []
    for trace in panel.traces:
        known = style.SIDE.get(trace.side or "")
        colour = style.LEFT_OUT if gone else known or style.INK
        dashes = style.LINE[0] if known else style.LINE[1 + others % (len(style.LINE) - 1)]
        others += known is None
        step = max(int(np.ceil(trace.time.size / MOST)), 1)
        time, values = trace.time[::step], trace.values[::step]
        if trace.window is None or gone:
            frame.line(time, values, color=colour, linewidth=0.6, linestyle=dashes)
        else:
            inside = (time >= trace.window.start) & (time <= trace.window.end)
            frame.line(time, np.where(inside, np.nan, values), color=style.LEFT_OUT, linewidth=0.4)
            frame.line(time, np.where(inside, values, np.nan), color=colour, linewidth=0.6)
        ends.append((_level(trace, panel_end), trace.label, colour))
    _readings(frame, panel)
    low, high = frame.y
    gap = (high - low) * LABEL / PANEL
    wanted = [min(max(value, low), high) for value, _, _ in ends]
    for at, (_, label, colour) in zip(style.apart(wanted, gap, low, high), ends, strict=True):
        place = frame.left + frame.width + 1.0, float(frame.up(at))
        frame.words(label, place, va="centre", color=colour)


def _readings(frame: Panel, panel: _Panel) -> None:
    side = panel.traces[0].side or "film"
    for used in (False, True):
        some = [reading for reading in panel.readings if reading.used is used]
        if some:
            frame.line([one.t for one in some], [one.area_eff * 1e6 for one in some], linestyle="none",
                       marker=style.MARK[side] if used else "x", markersize=4.0, zorder=3,
                       color=style.SIDE[side] if used else style.LEFT_OUT,
                       markeredgecolor=style.GROUND if used else style.LEFT_OUT,
                       markeredgewidth=0.4 if used else 0.8)  # fmt: skip


def _mark(frame: Panel, mark: Mark, *, letter: bool, taken: float) -> None:
    colour = style.GRAVE.get(mark.severity, style.INK)
    frame.upright(mark.start, color=colour, linewidth=0.9, linestyle=(0, (4, 1.5)))
    if mark.end is not None and mark.end > mark.start:
        frame.tint((mark.start, mark.end), None, facecolor=colour, alpha=0.12)
    if letter:
        over = float(frame.across(mark.start)) > taken
        _say(frame, mark.letter, mark.start + (0.0 if over else ASIDE * (frame.x[1] - frame.x[0])),
             up=3.4 if over else -2.6, color=colour)  # fmt: skip


def _caption(result: RunResult, marks: Sequence[Mark]) -> str:
    parts = ["all channels as logged, corrected by certificate, zeros not taken off"]
    if result.windows:
        parts.append("tinted: the window; grey: what does not count")
    if any(item.used for item in result.readings):
        parts.append("filled marks: readings")
    if marks:
        parts.append(f"{', '.join(mark.letter for mark in marks)}: findings, see below")
    return f"Run {result.run} over time; {'; '.join(parts)}."


def _table(
    result: RunResult, panels: Sequence[_Panel]
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """A few moments of every trace, and in which phase they lie."""
    traces = [(panel, trace) for panel in panels for trace in panel.traces]
    base = traces[0][1].time
    at = [float(base[int(index)]) for index in np.linspace(0, base.size - 1, min(ROWS, base.size))]
    head = (
        "time\N{NO-BREAK SPACE}(s)",
        "phase",
        *(f"{panel.symbol} {trace.label} ({panel.unit})" for panel, trace in traces),
    )
    columns = [_told(trace, at) for _, trace in traces]
    rows = tuple(
        (f"{moment:.2f}", _phase(result, moment), *told) for moment, *told in zip(at, *columns, strict=True)
    )
    return head, rows


def _phase(result: RunResult, moment: float) -> str:
    for window in result.windows.values():
        for name, start, end in window.phases:
            if start <= moment < end:
                return name
        if window.start <= moment <= window.end:
            return "window"
    return "no\N{NO-BREAK SPACE}flow" if result.windows else "–"


def _told(trace: _Trace, at: Sequence[float]) -> list[str]:
    """Values to the place of the fourth digit of the largest, so that a column lines up."""
    most = float(np.nanpercentile(np.abs(trace.values), 95))
    most = max(most, 10 ** (DIGITS - 1) * trace.least)
    places = min(max(DIGITS - 1 - int(np.floor(np.log10(most))) if most > 0 else DIGITS, 0), 6)
    near = [float(trace.values[int(np.argmin(np.abs(trace.time - moment)))]) for moment in at]
    near = [round(value, places) + 0.0 for value in near]  # no zero with a minus
    return [f"{value:.{places}f}".replace("-", "−") if np.isfinite(value) else "–" for value in near]
