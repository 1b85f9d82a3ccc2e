"""Runs: each with its traces, readings, distance from what is carried, zeros, closure, findings and origin."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from headrace.figures import residuals, traces
from headrace.notices import Notice, spelled
from headrace.paper.report.content import ReportContent
from headrace.paper.report.evidence import mark
from headrace.paper.report.parts import Cell, Figure, Link, Marked, Table, anchor, figure, split, table
from headrace.paper.report.sections.doubts import told
from headrace.paper.report.words import NONE, barometer, measured, shifted, temperature
from headrace.records.answers import Estimate
from headrace.records.given import RunGiven
from headrace.records.readings import Characteristic, Reading, RunResult, Window
from headrace.units import format_range, format_value, printed

READINGS = (
    "circuit", "at (s)", "Re", "K", "drop Δp", "flow ṁ", "effective area E, k = 2", "off the characteristic, k = 2",
    "Cd", "lines of the file", "counts",
)  # fmt: skip
MOST = 0.99
"""Share of a phase above which it is said to lie in the window."""
READ, MEANT = 1e-3, 1e-4
"""Share of its span to which a single value of a channel, and the mean of a zero, are told."""
FILMED = {"parallax": "parallax up to", "frames": "frames read to within"}
"""Sources of error that only a gauge on film has, with their words."""
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def build(content: ReportContent) -> Mapping[str, Any]:
    """An overview of all runs, then every run by itself, those without a result too."""
    runs = content.campaign.runs
    return {
        "overview": table(
            "All runs, with the middle one of their readings",
            (
                "run",
                "day",
                "method",
                "circuit",
                "window",
                "readings",
                "effective area E, k = 2",
                "K",
                "closure",
            ),
            [row for run in runs.values() for row in _overview(content, run)],
        ),
        "runs": [_run(content, run) for run in runs.values()],
    }


def _overview(content: ReportContent, given: RunGiven) -> list[tuple[Cell, ...]]:
    name: Cell = Link(words=given.id, to=anchor("run", given.id))
    result = content.reduced.runs.get(given.id)
    if result is None or not (result.windows or result.readings):
        return [(name, given.date.isoformat(), given.method, NONE, NONE, "not reduced", NONE, NONE, NONE)]
    closure = NONE
    if result.closure is not None:
        ratio = result.closure.ratio
        closure = str(printed(ratio.value, dimension="ratio", unit="%",
                              expanded=max(ratio.high - ratio.value, ratio.value - ratio.low)))  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for stream in dict.fromkeys((*result.windows, *(one.stream for one in result.readings))):
        own = [one for one in result.readings if one.stream == stream]
        window = result.windows.get(stream)
        middle = own[len(own) // 2] if own else None
        count = "left out" if given.excluded else f"{sum(one.used for one in own)} of {len(own)}"
        rows.append((
            name, given.date.isoformat(), given.method,
            Marked(words=stream, side="left-out" if given.excluded else content.sides.get(stream, "film")),
            f"{window.start:.2f} to {window.end:.2f} s" if window is not None else NONE,
            count, _area(middle) if middle is not None else NONE,
            f"{middle.cav:.2f}" if middle is not None else NONE, closure.replace("-", "−"),
        ))  # fmt: skip
    return rows


def _area(reading: Reading) -> Cell:
    shown = printed(reading.area_eff, dimension="area", expanded=2 * reading.u)
    return split(shown.number, f"±{shown.doubt}", shown.unit)


def _run(content: ReportContent, given: RunGiven) -> dict[str, Any]:
    result = content.reduced.runs.get(given.id)
    findings = [
        told(content, notice, letter=LETTERS[place % len(LETTERS)])
        for place, notice in enumerate(content.of_run(given.id))
    ]
    parts: dict[str, Any] = {
        "id": given.id,
        "anchor": anchor("run", given.id),
        "excluded": given.excluded,
        "facts": _facts(given, result) + _filmed(content, result),
        "findings": findings,
        "traces": None,
        "residuals": None,
        "tables": [],
        "origin": _origin(content, given, result),
        "reduced": result is not None and bool(result.readings),
        "method": given.method,
    }
    if result is not None:
        parts["traces"] = _traces(content, given, result)
        own = _readings(content, result)
        parts["residuals"] = _residuals(content, given, result, own)
        if own is not None and parts["residuals"] is None:
            parts["tables"].append(own)
        parts["tables"] += [
            one for one in (_closure(result), _zeros(content, result), _phases(result)) if one is not None
        ]
    by_hand = _by_hand(content, given)
    if by_hand is not None:
        parts["tables"].append(by_hand)
    caught = _caught(content, given)
    if caught is not None:
        parts["tables"].append(caught)
    return parts


def _facts(given: RunGiven, result: RunResult | None) -> list[tuple[str, str]]:
    flows = "; ".join(
        f"{' + '.join(flow.circuits)} by line {' + '.join(flow.lines) or NONE}, tap {flow.p_tap}"
        + (f", against {flow.p_back}" if flow.p_back is not None else "")
        for flow in given.flows
    )
    facts = [
        ("Day", given.date.isoformat()),
        ("Liquid", "water" if given.kind == "water" else given.kind),
        ("Method", given.method + (f", less the short run {given.minus}" if given.minus else "")),
        ("Flow", flows or NONE),
        ("Barometer", barometer(given.ambient.value)),
        ("Water, typed", temperature(given.water_temperature)),
    ]
    if given.calibrates is not None:
        facts.append(("Calibrates", f"meter {given.calibrates} in place, by the total of this run"))
    if given.tare_at_pressure is not None:
        start, end = given.tare_at_pressure
        facts.append(("Zero under pressure", f"{start:.2f} to {end:.2f} s, at rest with the valve shut"))
    if result is not None:
        for stream, window in result.windows.items():
            facts.append((f"Window, {stream}", f"{window.start:.2f} to {window.end:.2f} s, {window.chosen}"))
    return [(words, value) for words, value in facts if value != NONE]


def _filmed(content: ReportContent, result: RunResult | None) -> list[tuple[str, str]]:
    """Gauges read off film or photographs, as their sources of error tell."""
    if result is None:
        return []
    measures = content.campaign.bench.instruments
    met = {name for one in result.readings for name in one.sources}
    told: dict[str, list[str]] = {}
    for one in content.reduced.sources:
        tag, _, what = one.name.removeprefix(f"{result.run}.").rpartition(".")
        tag = tag.rpartition(".")[2]
        if one.name in met and what in FILMED and tag in measures:
            half = shifted(one.u * math.sqrt(3), measures[tag].measures)
            told.setdefault(tag, []).append(f"{FILMED[what]} {half}")
    return [("Read off film", "; ".join(f"{tag}: {', '.join(parts)}" for tag, parts in told.items()))] * bool(
        told
    )


def _traces(content: ReportContent, given: RunGiven, result: RunResult) -> Figure | None:
    taps = {flow.p_tap: "+".join(flow.circuits) for flow in given.flows}
    for circuit in content.campaign.article.circuits.values():  # a neighbour's gauge shows its side, too
        for run in content.campaign.runs.values():
            for flow in run.flows:
                if flow.circuits == (circuit.id,):
                    taps.setdefault(flow.p_tap, circuit.id)
    notices = content.of_run(given.id)
    marks = [
        found
        for place, notice in enumerate(notices)
        if (found := mark(notice, LETTERS[place % len(LETTERS)])) is not None
    ]
    drawn = traces.draw(
        result, instruments=content.campaign.bench.instruments, sides=content.sides, taps=taps, marks=marks
    )
    if drawn is None:
        return None
    name = anchor("traces", given.id)
    return figure(name, drawn, alt=_seen(result, notices), data="A few moments of these traces")


def _residuals(
    content: ReportContent, given: RunGiven, result: RunResult, readings: Table | None
) -> Figure | None:
    carried = content.carried(result)
    drawn = residuals.draw(given.id, result.readings, carried, sides=content.sides)
    if drawn is None:
        return None
    off = [
        100 * (one.area_eff / residuals.expected(carried[one.stream], one.re) - 1)
        for one in result.readings
        if one.stream in carried and one.re > 0
    ]
    seen = f"Readings lie between {min(off):+.2f} % and {max(off):+.2f} % from the characteristic."
    return figure(anchor("residuals", given.id), drawn, alt=seen.replace("-", "−"), data=readings)


def _seen(result: RunResult, notices: tuple[Notice, ...]) -> str:
    parts = []
    for stream, series in result.series.items():
        window = result.windows.get(stream)
        if window is None:
            continue
        inside = (series.time >= window.start) & (series.time <= window.end) & np.isfinite(series.dp)
        if np.any(inside):
            first, last = (
                format_value(float(value), dimension="pressure", kind="drop", digits=3)
                for value in (series.dp[inside][0], series.dp[inside][-1])
            )
            parts.append(f"In the window the drop of {stream} goes from {first} to {last}.")
    if notices:
        parts.append(f"{len(notices)} findings bear on this run; those with a place in time are marked.")
    return " ".join(parts) or "Channels of the run over time."


def _phases(result: RunResult) -> Any:
    rows = [
        (stream, name, f"{start:.2f}", f"{end:.2f}", _within(window, start, end))
        for stream, window in result.windows.items()
        for name, start, end in window.phases
    ]
    return table("Phases", ("circuit", "phase", "from (s)", "to (s)", "in the window"), rows)


def _within(window: Window, start: float, end: float) -> str:
    """How much of a phase lies in the window."""
    share = (min(end, window.end) - max(start, window.start)) / (end - start) if end > start else 0.0
    return "counts" if share > MOST else "counts in part" if share > 1 - MOST else "left out"


def _readings(content: ReportContent, result: RunResult) -> Table | None:
    carried = content.carried(result)
    rows = [
        (
            one.stream, f"{one.t:.2f}", spelled(one.re, 3), f"{one.cav:.2f}",
            format_value(one.dp, dimension="pressure", kind="drop"),
            format_value(one.m_dot, dimension="mass_flow"),
            _area(one), _off(one, carried.get(one.stream)), f"{one.cd:.3f}" if one.cd is not None else NONE,
            _lines_of(one), _counts(one, result),
        )
        for one in result.readings
    ]  # fmt: skip
    return table("Readings", READINGS, rows)


def _off(one: Reading, item: Characteristic | None) -> str:
    if item is None or not one.re > 0:
        return NONE
    base = residuals.expected(item, one.re)
    shown = printed(one.area_eff / base - 1, dimension="ratio", unit="%", expanded=2 * one.u / base)
    return f"{shown.number} ±{shown.doubt} %".replace("-", "−")


def _counts(one: Reading, result: RunResult) -> str:
    if result.excluded is not None:
        return "left out"
    return "yes" if one.used else f"no: {one.why or 'left out'}"


def _lines_of(one: Reading) -> str:
    first, last = one.origin.lines
    own = "whole file" if (first, last) == (0, 0) else f"{first} to {last}"
    others = [
        f"{also.file.rpartition('/')[2]} {also.lines[0]} to {also.lines[1]}"
        for also in one.origin.also
        if also.lines != (0, 0)
    ]
    return "; ".join((own, *others))


def _zeros(content: ReportContent, result: RunResult) -> Any:
    instruments = content.campaign.bench.instruments
    steps = {tag: one.span for tag, one in instruments.items() if one.span > 0}
    values = result.channels.values if result.channels is not None else {}
    rows = []
    under = any(zero.at_pressure is not None for zero in result.tares.values())
    for tag in dict.fromkeys((*values, *result.tares)):
        measures = instruments[tag].measures if tag in instruments else ""
        seen = values.get(tag)
        ends: tuple[float | None, float | None] = (None, None)
        if seen is not None and np.any(np.isfinite(seen)):
            ends = float(np.nanmin(seen)), float(np.nanmax(seen))
        zero = result.tares.get(tag)
        taken = (None, None, None) if zero is None else (zero.before, zero.after, zero.at_pressure)
        moved = zero.after - zero.before if zero is not None and zero.after is not None else None
        read, mean = (share * steps[tag] if tag in steps else None for share in (READ, MEANT))
        said = [measured(one, measures, least=read) for one in ends]
        said += [measured(one, measures, least=mean) for one in taken]
        rows.append((tag, *(said if under else said[:-1]), shifted(moved, measures, least=mean)))
    head = ("channel", "least", "most", "zero before", "zero after", *(["zero under pressure"] if under else []),
            "zero moved by")  # fmt: skip
    return table("Channels and their zeros", head, rows)


def _closure(result: RunResult) -> Any:
    one = result.closure
    if one is None:
        return None
    ratio = one.ratio
    shown = printed(ratio.value, dimension="ratio", unit="%", expanded=(ratio.high - ratio.low) / 2)
    row = (
        f"meter against {one.witness}",
        format_value(one.metered, dimension="mass"),
        format_value(one.witnessed, dimension="mass"),
        str(shown).replace("-", "−"),
        _percents(ratio),
    )
    head = ("of", "meter says", "witness says", "meter over witness, less 1", "interval, 95 %")
    return table("Closure: two witnesses of the same water", head, [row])


def _percents(one: Estimate) -> str:
    """An interval of a ratio in per cent."""
    return format_range(one.low, one.high, dimension="ratio", unit="%").replace("-", "−")


def _by_hand(content: ReportContent, given: RunGiven) -> Any:
    known = dict(content.campaign.bench.instruments)
    rows: list[tuple[Cell, ...]] = [
        (
            one.instrument,
            one.moment or NONE,
            f"{one.time:.2f} s" if one.time is not None else NONE,
            measured(one.value, known[one.instrument].measures if one.instrument in known else ""),
            one.reader or NONE,
            one.origin or NONE,
        )
        for one in given.hand
    ]
    total = given.total
    if total is not None:
        for words, stated, dimension in (
            ("mass", total.mass, "mass"), ("volume", total.volume, "volume"), ("duration", total.duration, "time")
        ):  # fmt: skip
            if stated is not None:
                shown = stated.text or format_value(stated.value, dimension=dimension)
                rows.append(
                    (f"total {words}", "whole run", NONE, shown, NONE, stated.origin or total.origin or NONE)
                )
    return table("Read or typed by hand", ("what", "moment", "time", "value", "reader", "written in"), rows)


def _caught(content: ReportContent, given: RunGiven) -> Table | None:
    """Catches of a run by bucket, as the instruments showed them."""
    caught = given.catches
    if caught is None:
        return None
    known = content.campaign.bench.instruments
    tap = given.flows[0].p_tap
    measures = known[tap].measures if tap in known else "gauge"
    temps = caught.temp if caught.temp is not None else [None] * len(caught.mass)
    rows = [
        (
            str(number), str(int(group) + 1), format_value(float(mass), dimension="mass"),
            format_value(float(duration), dimension="time"), measured(float(shown), measures),
            measured(None if temp is None else float(temp), "temperature"),
        )
        for number, (group, mass, duration, shown, temp) in enumerate(
            zip(caught.group, caught.mass, caught.duration, caught.indicated, temps, strict=True), 1
        )
    ]  # fmt: skip
    return table("Catches by bucket, as the instruments showed them",
                 ("catch", "repeats", "net mass", "time", f"{tap} showed", "water"), rows)  # fmt: skip


def _origin(content: ReportContent, given: RunGiven, result: RunResult | None) -> Any:
    spans: dict[str, tuple[int, int]] = {}
    for reading in result.readings if result is not None else ():
        for one in (reading.origin, *reading.origin.also):
            first, last = one.lines
            if last:
                low, high = spans.get(one.file, (first, last))
                spans[one.file] = min(first, low), max(last, high)
    rows = [
        (file, digest, f"readings from lines {spans[file][0]} to {spans[file][1]}" if file in spans else "whole file")
        for file, digest in content.campaign.inputs.items()
        if file.startswith(f"runs/{given.id}/")
    ]  # fmt: skip
    return table("Origin", ("file", "sha256", "used"), rows)
