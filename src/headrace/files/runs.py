"""runs/<id>/run.toml and its raw file to a `RunGiven`."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from headrace.errors import InputError, Problem, QuantityError
from headrace.files.build import said_by
from headrace.files.cache import Cache, sha256_of
from headrace.files.catches import read_catches
from headrace.files.document import Document
from headrace.files.filmed import with_films
from headrace.files.joined import read_joined
from headrace.files.meaning import doubts_of_circuit
from headrace.files.needs import needs
from headrace.files.schema.fields import Number, number_of
from headrace.files.schema.instruments import MEASURES
from headrace.files.schema.run import AlsoTable, HandTable, RunTable, TotalTable
from headrace.files.traces import Told, ask, sealed
from headrace.files.validate import quantity_problem
from headrace.jobs.day.supply import Feeds, Supplied, contradictions, supplied
from headrace.notices import Notice
from headrace.records.given import (
    Bench,
    Catches,
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
from headrace.records.ledger import Ledger
from headrace.units import format_value

BEYOND = 0.02
"""Share of its span by which a reading may lie beyond the ends of an instrument's range. Common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """What a run is read against: the bench (None when it could not be read), every instrument that could, and the
    raw files that were read before. keep: the trace stays in memory, else it is read again when wanted. feeds: vessels
    behind each run; ledger_broken: there is a ledger.toml, but it must be mended first. circuits: ids in article.toml.
    """

    bench: Bench | None
    instruments: Mapping[str, Instrument]
    cache: Cache
    keep: bool = True
    ledger: Ledger | None = None
    feeds: Feeds = field(default_factory=dict)
    ledger_broken: bool = False
    circuits: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ToRead:
    """One run that is to be read. table: None where its run.toml has faults or is not complete; told: those."""

    run: str
    document: Document
    table: RunTable | None
    around: Around
    told: Told

    @property
    def folder(self) -> Path:
        """The run's own."""
        return self.around.cache.root / "runs" / self.run


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredTrace:
    """The trace of a run that was read without fault, to be read again."""

    reading: ToRead

    def load(self) -> Trace:
        """The trace.

        Raises:
            InputError: the raw file is no longer what it was.
        """
        one, told = self.reading, Told()
        assert one.table is not None
        trace = None
        if one.table.file is not None:
            trace, _ = read_joined(
                one.folder, one.document, one.table, one.around.instruments, told, one.around.cache
            )
        trace = with_films(one.run, one.document, one.table, one.around.instruments, trace, told.problems)
        if trace is None:
            raise InputError(tuple(told.problems) or (one.document.problem(
                ("file",), "a raw file that changed while it was being read", "the file as it was", "try again"
            ),))  # fmt: skip
        return trace


def carry_out(reading: ToRead) -> tuple[RunGiven | None, dict[str, str], Told]:
    """Read one run; what is told of it, told before included."""
    if reading.table is not None:
        record, hashes = read_run(reading)
        return record, hashes, reading.told
    return None, _raw_file(reading), reading.told


def _raw_file(reading: ToRead) -> dict[str, str]:
    """The raw file of a run that cannot be read yet: is it the one that was brought in, and what does it ask."""
    name = reading.document.data.get("file")
    path = reading.folder / str(name)
    if not isinstance(name, str) or path.parent.name != reading.run or not path.is_file():
        return {}
    where = f"runs/{reading.run}/{name}"
    sha256 = sha256_of(path)
    if sealed(path, where, sha256, reading.told):
        ask(path, where, reading.document, reading.told)
    return {where: sha256}


def _other_circuits(run: str, table: RunTable, circuits: tuple[str, ...]) -> Iterator[Notice]:
    """Doubts where a file or its sheet is named after a circuit that the run has no flow of."""
    own = [one for flow in table.flow for one in flow.circuits]
    files: list[RunTable | AlsoTable] = [table, *table.also]
    for one in files:
        if one.file is not None:
            yield from doubts_of_circuit(f"runs/{run}/{one.file}", one.logger.table, own, circuits)


def read_run(reading: ToRead) -> tuple[RunGiven | None, dict[str, str]]:
    """One run, and the hash of its raw file by path; None when something of it is wrong or open."""
    run, folder, document, told = reading.run, reading.folder, reading.document, reading.told
    table, around = reading.table, reading.around
    assert table is not None
    hashes: dict[str, str] = {}
    before = len(told.problems), len(told.questions)
    trace: Trace | None = None
    catches: Catches | None = None
    origin = Origin(file=document.file, sha256=document.sha256)
    if table.catch is not None:
        catches, found = read_catches(folder, document, table, around.instruments, told, around.cache)
        origin = found or origin
        hashes.update({found.file: found.sha256} if found else {})
    elif table.file is not None:
        trace, found_hashes = read_joined(folder, document, table, around.instruments, told, around.cache)
        hashes.update(found_hashes)
        origin = trace.origin if trace else origin
    told.notices += _other_circuits(run, table, around.circuits)
    trace = with_films(run, document, table, around.instruments, trace, told.problems)
    told.problems += _spans(document, table, trace)
    said = supplied(around.ledger, around.bench, run, around.feeds)
    told.problems += needs(
        document, table, around.bench, warm=bool(said.water_temperature) or around.ledger_broken
    )
    ambient = table.ambient and said_by(table.ambient, f"{document.file}, ambient")
    ambient = ambient or said.ambient
    if ambient is None and not around.ledger_broken:
        told.problems.append(_no_barometer(document, run))
    hand = tuple(_hand(run, document, table.hand, around.instruments, told.problems))
    total = (
        _total(run, document, table.total, around.bench, said, told.problems) if table.total else said.total
    )
    if before != (len(told.problems), len(told.questions)) or around.bench is None or ambient is None:
        return None, hashes
    window = table.window
    record = RunGiven(
        id=run,
        kind=table.kind,
        method=table.method,
        date=table.date,
        flows=tuple(
            Flow(circuits=tuple(one.circuits), lines=tuple(one.lines), p_tap=one.p_tap, p_back=one.p_back)
            for one in table.flow
        ),
        trace=trace if around.keep else None,
        stored=None if around.keep or trace is None else StoredTrace(reading=replace(reading, told=Told())),
        ambient=ambient,
        water_temperature=said_by(table.water_temperature, f"{document.file}, water_temperature")
        if table.water_temperature
        else said.water_temperature,
        air_temperature=said_by(table.air_temperature, f"{document.file}, air_temperature")
        if table.air_temperature
        else said.air_temperature,
        hand=hand,
        total=total,
        catches=catches,
        calibrates=table.calibrates,
        minus=table.total.minus if table.total else None,
        tare_before=table.tare.before,
        tare_after=table.tare.after,
        tare_at_pressure=table.tare.at_pressure,
        window=WindowGiven(start=window.start, end=window.end, reason=window.reason) if window else None,
        excluded=table.exclude.reason if table.exclude else None,
        origin=origin,
        notices=tuple(told.notices),
    )
    return replace(record, notices=(*record.notices, *contradictions(record, said))), hashes


def _no_barometer(document: Document, run: str) -> Problem:
    return document.problem(
        ("ambient",), "nothing", f"barometer, here or in ledger.toml with an event of run {run}",
        'ambient = "1009 mbar(a) ± 1 mbar"',
    )  # fmt: skip


def _spans(document: Document, table: RunTable, trace: Trace | None) -> Iterator[Problem]:
    """Spans of time that lie outside the trace, or need one."""
    spans = {
        ("tare", "before"): table.tare.before,
        ("tare", "after"): table.tare.after,
        ("tare", "at_pressure"): table.tare.at_pressure,
        ("window",): (table.window.start, table.window.end) if table.window else None,
    }
    if table.file is None and not table.filmed:
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
    run: str,
    document: Document,
    table: TotalTable,
    bench: Bench | None,
    said: Supplied,
    problems: list[Problem],
) -> Total | None:
    """Mass or volume of the whole run. From a sight tube the section's doubt stays apart: other runs share it."""
    origin = f"{document.file}, total"
    volume = table.volume and said_by(table.volume, f"{origin}, volume")
    section_u_rel = 0.0
    if table.vessel and not table.level_before and not table.level_after:
        if said.total is None or said.total.vessel != table.vessel:
            problems.append(document.problem(
                ("total", "level_before"), "nothing",
                f'levels of "{table.vessel}" before and after, here or in ledger.toml around this run',
                'level_before = "1.20 m ± 1 mm"',
            ))  # fmt: skip
            return None
        volume, section_u_rel = said.total.volume, said.total.section_u_rel
        origin = said.total.origin
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
