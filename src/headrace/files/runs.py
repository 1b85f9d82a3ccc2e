"""runs/<id>/run.toml and its raw file to a `RunGiven`."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from headrace.errors import Problem, QuantityError
from headrace.files.build import said_by
from headrace.files.cache import Cache
from headrace.files.document import Document
from headrace.files.needs import needs
from headrace.files.schema.fields import Number, number_of
from headrace.files.schema.instruments import MEASURES
from headrace.files.schema.run import HandTable, RunTable, TotalTable
from headrace.files.traces import Told, read_trace
from headrace.files.validate import quantity_problem
from headrace.records.given import (
    Bench,
    Flow,
    HandReading,
    Instrument,
    Origin,
    RunGiven,
    Stated,
    Total,
    Trace,
    WindowGiven,
)
from headrace.units import format_value

BEYOND = 0.02
"""Share of its span by which a reading may lie beyond the ends of an instrument's range. Common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """What a run is read against: the bench (None when it could not be read), every instrument that could, and the
    raw files that were read before."""

    bench: Bench | None
    instruments: Mapping[str, Instrument]
    cache: Cache


def read_run(
    run: str, folder: Path, document: Document, table: RunTable, around: Around, told: Told
) -> tuple[RunGiven | None, dict[str, str]]:
    """One run, and the hash of its raw file by path; None when something of it is wrong or open."""
    hashes: dict[str, str] = {}
    before = len(told.problems), len(told.questions)
    trace: Trace | None = None
    if table.file is not None:
        trace, sha256 = read_trace(folder, document, table, around.instruments, told, around.cache)
        if sha256:
            hashes[f"runs/{run}/{table.file}"] = sha256
    origin = trace.origin if trace else Origin(file=document.file, sha256=document.sha256)
    told.problems += _spans(document, table, trace)
    told.problems += needs(document, table, around.bench)
    hand = tuple(_hand(run, document, table.hand, around.instruments, told.problems))
    total = _total(run, document, table.total, around.bench, told.problems) if table.total else None
    if before != (len(told.problems), len(told.questions)) or around.bench is None:
        return None, hashes
    window = table.window
    return RunGiven(
        id=run,
        kind=table.kind,
        method=table.method,
        date=table.date,
        flows=tuple(
            Flow(circuits=tuple(one.circuits), lines=tuple(one.lines), p_tap=one.p_tap, p_back=one.p_back)
            for one in table.flow
        ),
        trace=trace,
        ambient=said_by(table.ambient, f"{document.file}, ambient"),
        water_temperature=table.water_temperature
        and said_by(table.water_temperature, f"{document.file}, water_temperature"),
        hand=hand,
        total=total,
        minus=table.total.minus if table.total else None,
        tare_before=table.tare.before,
        tare_after=table.tare.after,
        tare_at_pressure=table.tare.at_pressure,
        window=WindowGiven(start=window.start, end=window.end, reason=window.reason) if window else None,
        excluded=table.exclude.reason if table.exclude else None,
        origin=origin,
        notices=tuple(told.notices),
    ), hashes


def _spans(document: Document, table: RunTable, trace: Trace | None) -> Iterator[Problem]:
    """Spans of time that lie outside the trace, or need one."""
    spans = {
        ("tare", "before"): table.tare.before,
        ("tare", "after"): table.tare.after,
        ("tare", "at_pressure"): table.tare.at_pressure,
        ("window",): (table.window.start, table.window.end) if table.window else None,
    }
    if table.file is None:
        for path, span in spans.items():
            if span is not None:
                yield document.problem(
                    path, "a span of time", "none: the run has no raw file", "leave it out"
                )
    if trace is None:
        return
    first, last = float(trace.time.min()), float(trace.time.max())
    for path, span in spans.items():
        if span is not None and not (span[1] > first and span[0] < last and span[1] <= last + 1e-9):
            yield document.problem(path, f"{span[0]:g} s to {span[1]:g} s",
                                   f"a span inside the trace, {first:g} s to {last:g} s",
                                   "times count from the first row of the raw file")  # fmt: skip


def _hand(
    run: str, document: Document, tables: list[HandTable], instruments: Mapping[str, Instrument],
    problems: list[Problem],
) -> Iterator[HandReading]:  # fmt: skip
    """Values read by a person, each in the SI unit of its instrument."""
    for index, one in enumerate(tables):
        instrument = instruments.get(one.instrument)
        if instrument is None:
            continue
        measure = MEASURES[instrument.measures]
        value = _read(document, ("hand", index, "value"), one.value, measure.number, problems)
        if value is not None and not _within(instrument, value):
            low, high = (
                format_value(end, dimension=measure.dimension, kind=measure.kind, digits=4)
                for end in (instrument.low, instrument.high)
            )
            problems.append(document.problem(
                ("hand", index, "value"), f'"{one.value}"',
                f"a reading of {one.instrument}, whose range is {low} to {high}",
                "check unit and decimal mark, or the range in bench.toml",
            ))  # fmt: skip
        division = instrument.division
        if one.division is not None:
            division = _read(
                document, ("hand", index, "division"), one.division, measure.step_number, problems
            )
        elif division is None:
            problems.append(document.problem(
                ("hand", index, "division"), "nothing", f"the scale division by which {one.instrument} was read",
                f'division = "{measure.example[2]}", here or with the instrument',
            ))  # fmt: skip
        if value is not None:
            yield HandReading(
                instrument=one.instrument, moment=one.moment, value=value,
                time=one.time.value if one.time else None, u_time=one.time.u if one.time else 0.0,
                division=division, reader=one.reader,
                origin=f"{document.file}, hand reading {index + 1} of {run}, {one.instrument}",
            )  # fmt: skip


def _within(instrument: Instrument, value: float) -> bool:
    """Whether an instrument can show a value; a needle may rest a little beyond the end of its scale."""
    slack = BEYOND * instrument.span
    return instrument.low - slack <= value <= instrument.high + slack


def _read(
    document: Document, path: tuple[str | int, ...], text: str, number: Number, problems: list[Problem]
) -> float | None:
    try:
        value = number.read(text)
    except QuantityError as error:
        problems.append(quantity_problem(document, path, error))
        return None
    return number_of(value)


def _total(
    run: str, document: Document, table: TotalTable, bench: Bench | None, problems: list[Problem]
) -> Total | None:
    """Mass or volume of the whole run. From a sight tube the section's doubt stays apart: other runs share it."""
    origin = f"{document.file}, total"
    volume = table.volume and said_by(table.volume, f"{origin}, volume")
    section_u_rel = 0.0
    if table.vessel and table.level_before and table.level_after:
        vessel = bench.vessels.get(table.vessel) if bench else None
        if vessel is None:
            return None
        if vessel.section is None:
            problems.append(document.problem(("total", "vessel"), f'"{vessel.id}", which has no section',
                                             "a vessel with its section in bench.toml",
                                             'section = "0.283 m2 ± 0.5 %"'))  # fmt: skip
            return None
        section, before, after = vessel.section, table.level_before, table.level_after
        held, drawn = vessel.volume, section.value * abs(before.value - after.value)
        if drawn > held.value + 2 * held.u:
            found = format_value(drawn, dimension="volume", unit="m3", digits=3)
            whole = format_value(held.value, dimension="volume", unit="m3", digits=3)
            problems.append(document.problem(("total", "level_after"), f"{found} of water between the two levels",
                                             f'no more than vessel "{vessel.id}" holds, {whole}',
                                             "check the levels here, section and volume in bench.toml"))  # fmt: skip
        volume = Stated(
            value=drawn,
            u=section.value * (before.u**2 + after.u**2) ** 0.5,
            dist="normal", origin=f"{origin}, levels of {vessel.id}", text=f"{before.text} to {after.text}",
        )  # fmt: skip
        section_u_rel = section.u / section.value
    return Total(
        mass=table.mass and said_by(table.mass, f"{origin}, mass"),
        volume=volume,
        duration=table.duration and said_by(table.duration, f"{origin}, duration"),
        line=table.line,
        instrument=table.instrument,
        vessel=table.vessel,
        section_u_rel=section_u_rel,
        origin=f"{origin} of {run}",
    )
