"""A run's raw file to a `Trace` in SI: hash checked, read with the answers of run.toml, columns mapped to instruments.

Gauge stays gauge. A column without a unit, or whose unit contradicts its instrument, is refused. Start at `read_raw`.
"""

import json
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from pydantic import ValidationError

from headrace.errors import InputError, Problem, QuantityError
from headrace.files import loggers
from headrace.files.build import said_by
from headrace.files.cache import Cache
from headrace.files.document import Document
from headrace.files.loggers.base import DELIMITERS, Answers, Question, QuestionsOpen, Unreadable
from headrace.files.loggers.delimited import Record
from headrace.files.loggers.report import segment_question
from headrace.files.meaning import doubts_of_column, twins
from headrace.files.plain import plain
from headrace.files.schema.fields import meant, shown
from headrace.files.schema.instruments import MEASURES
from headrace.files.schema.run import AlsoTable, ChannelTable, LoggerTable, RunTable
from headrace.files.validate import quantity_problem
from headrace.notices import Notice, Severity
from headrace.records.given import Array, Instrument, Origin, Stated, Trace
from headrace.units import UNITS, Dimension, Kind, find_unit, to_si

EXAMPLES = {Dimension.PRESSURE: "bar", Dimension.TEMPERATURE: "degC", Dimension.CURRENT: "mA"}
OPEN = "?"
NUMBERED = ("segment", "header_line")
"""Keys of [logger] whose answer is a bare number."""

KINDS = {"drop": Kind.DROP, "gauge": Kind.GAUGE, "abs": Kind.ABS}


@dataclass(slots=True, kw_only=True)
class Told:
    """What is told of a run on the way: faults, open questions, notices."""

    problems: list[Problem] = field(default_factory=list)
    questions: list[Problem] = field(default_factory=list)
    notices: list[Notice] = field(default_factory=list)


def sealed_hash(path: Path) -> str | None:
    """The hash written beside a raw file, None where there is none; "" when that file holds no hash."""
    sidecar = path.with_name(path.name + ".sha256")
    try:
        text = plain(sidecar).read_text(encoding="ascii", errors="replace")
    except FileNotFoundError:
        return None
    except OSError:
        return ""
    match = re.match(r"\s*([0-9a-fA-F]{64})\b", text)
    return match[1].lower() if match else ""


def answers_of(table: LoggerTable) -> Answers:
    """The [logger] table as the reader takes it; a delimiter may be given as itself.

    Raises:
        InputError: a word that the reader does not know.
    """
    values = table.model_dump()
    signs = {sign: name for name, sign in DELIMITERS.items() if sign} | {" ": "spaces", "\\t": "tab"}
    if values["delimiter"] in signs:
        values["delimiter"] = signs[values["delimiter"]]
    if values["names"] is not None:
        values["names"] = tuple(values["names"])
    return Answers(**values)


def row_by_row(table: LoggerTable) -> Answers:
    """The answers for a table whose rows are no moments of one clock."""
    return replace(answers_of(table), time_column="none", sample_rate=1.0)


def logger_key(key: str) -> str:
    """The key of run.toml for an answer that the reader asks for."""
    return "logger." + key.rpartition(".")[2]


def typed(question: Question) -> tuple[str, ...]:
    """The candidates of a question as they are written in run.toml: `"60 s"`, `"comma"`, `2`."""
    number = question.key.rpartition(".")[2] in NUMBERED
    return tuple(one if number else json.dumps(one, ensure_ascii=False) for one in question.candidates)


@dataclass(frozen=True, slots=True, kw_only=True)
class RawFile:
    """One raw file as read. channels: its columns in SI, by tag of their instruments; whole: none is missing."""

    record: Record
    channels: Mapping[str, Array]
    origin: Origin
    bad: int
    whole: bool
    pulses: frozenset[str]  # tags whose column counts
    skews: Mapping[str, Stated] = field(default_factory=dict)  # by tag, where the run states them


def trace_of(raw: RawFile) -> Trace:
    """The record of a run that has this raw file alone."""
    return Trace(time=raw.record.time, channels=raw.channels, lines=raw.record.lines, origin=raw.origin, bad=raw.bad,
                 segments=raw.record.breaks, pulses=raw.pulses, skews=raw.skews)  # fmt: skip


def read_raw(
    folder: Path,
    document: Document,
    table: RunTable | AlsoTable,
    instruments: Mapping[str, Instrument],
    told: Told,
    cache: Cache,
) -> tuple[RawFile | None, str]:
    """One raw file of a run and its hash; document: the part of run.toml that speaks of it."""
    record, where, sha256 = raw_record(folder, document, table, told, cache, answers_of)
    if record is None:
        return None, sha256
    report = record.report
    question = segment_question(report) if table.logger.segment is None else None
    if question is not None:
        with _telling(where, document, told):
            raise QuestionsOpen((question,))
        return None, sha256
    channels = {}
    mapped: dict[str, str] = {}
    pulses: set[str] = set()
    skews: dict[str, Stated] = {}
    for name, channel in table.channels.items():
        values = _channel(record, document, name, channel, instruments, told)
        if values is not None:
            channels[channel.instrument] = values
            place = column_place(record, name)
            assert place is not None
            mapped[report.dialect.names[place]] = channel.instrument
            stored = record.columns[report.dialect.names[place]]
            told.notices += doubts_of_column(where, name, instruments[channel.instrument], stored, values)
            if channel.pulses:
                pulses.add(channel.instrument)
            if channel.skew is not None:
                skews[channel.instrument] = said_by(channel.skew, f"{document.file}, skew of {name}")
    told.notices.extend(twins(where, record, mapped))
    bad = sum(report.bad_counts.values())
    if bad:
        counts = ", ".join(f"{count} {reason}" for reason, count in report.bad_counts.items())
        told.notices.append(Notice(
            code="lines-refused", severity=Severity.INFO, about=where, facts=(("lines_refused", float(bad)),),
            text=f"{where}: {bad} of {report.lines.total} lines are not used ({counts}).",
            try_="look at them with `bring --look`",
        ))  # fmt: skip
    origin = Origin(file=where, sha256=sha256, lines=(int(record.lines[0]), int(record.lines[-1])))
    whole = len(channels) == len(table.channels)
    return RawFile(record=record, channels=channels, origin=origin, bad=bad, whole=whole,
                   pulses=frozenset(pulses), skews=skews), sha256  # fmt: skip


def raw_record(
    folder: Path,
    document: Document,
    table: RunTable | AlsoTable,
    told: Told,
    cache: Cache,
    answers_by: Callable[[LoggerTable], Answers],
) -> tuple[Record | None, str, str]:
    """What the raw file of one run holds (None: told why it cannot be used), where it is, and its hash."""
    assert table.file is not None
    path = folder / table.file
    if Path(table.file).name != table.file or not path.is_file():
        names = sorted(one.name for one in folder.iterdir() if one.suffix not in (".toml", ".sha256"))
        told.problems.append(document.problem(("file",), shown(table.file), "a raw file in the folder of the run",
                                              meant(table.file, names)))  # fmt: skip
        return None, "", ""
    where = f"{document.file.rpartition('/')[0]}/{table.file}"
    record, sha256 = None, ""
    with _telling(where, document, told):
        answers = answers_by(table.logger)
        sha256 = cache.sha256(where, answers)
        if sealed(path, where, sha256, told):
            record = cache.read(where, answers, sha256)
    return record, where, sha256


def sealed(path: Path, where: str, sha256: str, told: Told) -> bool:
    """False, with a problem that names both hashes, when a raw file is not the one that was brought in."""
    expected = sealed_hash(path)
    if expected is None:
        told.notices.append(Notice(
            code="raw-file-unsealed", severity=Severity.DOUBT, about=where,
            text=f"{where} has no sha256 beside it, so a change of its bytes would not be seen.",
            try_=f'write "{sha256}  {path.name}" into {path.name}.sha256; `bring` does it by itself',
        ))  # fmt: skip
        return True
    if expected == sha256:
        return True
    told.problems.append(Problem(
        file=where, line=None, key="", found=f"bytes with sha256 {sha256}",
        expected=f"the bytes that were brought in, sha256 {expected or 'unreadable'} (in {path.name}.sha256)",
        try_="put the original file back; raw files are never edited",
    ))  # fmt: skip
    return False


def ask(path: Path, where: str, document: Document, told: Told) -> None:
    """Tell what a raw file leaves open, for a run.toml that is not complete enough to read the file by."""
    given = document.data.get("logger", {})
    try:
        table = LoggerTable.model_validate(given)
    except ValidationError:
        return  # told with the other faults of run.toml
    if not any(value == OPEN for value in given.values()):
        with _telling(where, document, told):
            answers = row_by_row(table) if "catch" in document.data else answers_of(table)
            if questions := loggers.look(path, answers).questions:
                raise QuestionsOpen(questions)


@contextmanager
def _telling(where: str, document: Document, told: Told) -> Iterator[None]:
    """What a reader refuses, told with the key of run.toml that settles it."""
    try:
        yield
    except QuestionsOpen as error:
        table = "also.logger" if document.under else "logger"
        for question in error.questions:
            key = logger_key(question.key)
            choices = ", ".join(typed(question))
            told.questions.append(document.problem(
                tuple(key.split(".")), f"{where}: {question.text}", f"an answer{': ' + choices if choices else ''}",
                f"write {key.removeprefix('logger.')} under [{table}] in run.toml",
            ))  # fmt: skip
    except Unreadable as error:
        told.problems.append(Problem(file=where, line=None, key="", found=error.reason,
                                     expected="a table of numbers", try_=error.problems[0].try_))  # fmt: skip
    except InputError as error:
        told.problems += [
            document.problem(tuple(logger_key(one.key).split(".")), one.found, one.expected, one.try_)
            for one in error.problems
        ]


def column_place(record: Record, name: str) -> int | None:
    """Place of a column by its name, or by its heading as written where only one reads so."""
    dialect = record.report.dialect
    if name in dialect.names:
        return dialect.names.index(name)
    same = [place for place, title in enumerate(dialect.titles) if title.strip() == name.strip()]
    return same[0] if len(same) == 1 else None


def _channel(
    record: Record,
    document: Document,
    name: str,
    channel: ChannelTable,
    instruments: Mapping[str, Instrument],
    told: Told,
) -> Array | None:
    """One column in the SI unit of its instrument."""
    path = ("channels", name)
    dialect = record.report.dialect
    place = column_place(record, name)
    if place is None:
        names = ", ".join(f'"{one}"' for one in dialect.names)
        told.problems.append(document.problem(path, f'column "{name}"', f"a column of the raw file: {names}",
                                              meant(name, dialect.names)))  # fmt: skip
        return None
    instrument = instruments.get(channel.instrument)
    if instrument is None:
        return None  # told as a dangling pointer or with its own table
    values = record.columns[dialect.names[place]]
    if not np.isfinite(values).any():
        told.problems.append(document.problem(path, f'column "{name}", which holds no number', "numbers",
                                              "look at it with `bring --look`"))  # fmt: skip
        return None
    if channel.pulses:
        return _counted(record, document, path, name, values, instrument, channel.unit, told)
    text = channel.unit if channel.unit is not None else dialect.units[place]
    key = (*path, "unit") if channel.unit is not None else path
    fault = misfit(instrument, name, text)
    if fault is not None:
        (told.questions if text is None else told.problems).append(quantity_problem(document, key, fault))
        return None
    hit = find_unit(text or "", raw_dimension(instrument))
    assert hit is not None
    told.notices.extend(_against_heading(document, record, name, place, channel.unit, instrument))
    return _scaled(np.asarray(to_si(values, hit[0])), instrument)


def _scaled(si: Array, instrument: Instrument) -> Array:
    """What an instrument stores, in SI of that, to what it measures."""
    if instrument.signal is None:
        return si
    low, high = instrument.signal
    return instrument.low + (si - low) * ((instrument.high - instrument.low) / (high - low))


PULSE_UNITS = (None, "", "1", "pulses", "pulse", "counts", "count", "imp")


def _counted(
    record: Record, document: Document, path: tuple[str, str], name: str, values: Array, instrument: Instrument,
    unit: str | None, told: Told,
) -> Array | None:  # fmt: skip
    """Pulses per row as a frequency, then as what the instrument measures; a fault where it stores no frequency."""
    if raw_dimension(instrument) is not Dimension.FREQUENCY or unit not in PULSE_UNITS:
        found = f"{instrument.tag}, which stores {raw_dimension(instrument).replace('_', ' ')}"
        told.problems.append(document.problem(
            (*path, "pulses"), found if unit in PULSE_UNITS else f'pulses in "{unit}"',
            "an instrument that gives a frequency, and no unit of the column",
            f'measures = "frequency" for {instrument.tag}, or its `signal` in Hz',
        ))  # fmt: skip
        return None
    counts = values[np.isfinite(values)]
    if np.any(counts < 0) or np.any(counts != np.floor(counts)):
        told.problems.append(document.problem(
            (*path, "pulses"), f'column "{name}", which holds other than whole numbers of 0 or more',
            "pulses counted since the row before", "leave `pulses` out where the column is a frequency already",
        ))  # fmt: skip
        return None
    return _scaled(per_second(record.time, values, record.breaks), instrument)


def per_second(time: Array, counts: Array, breaks: tuple[int, ...] = ()) -> Array:
    """Frequency at each row out of the pulses since the row before [Hz]; NaN at either end and beside a restart.

    The pulses of this row and the next over the time of both: what is counted belongs to the middle of its interval.

    >>> per_second(np.arange(4.0), np.array([0.0, 4.0, 6.0, 8.0]))
    array([nan,  5.,  7., nan])
    """
    out = np.full(time.size, np.nan)
    if time.size < 3:
        return out
    both = time[2:] - time[:-2]
    with np.errstate(invalid="ignore", divide="ignore"):
        out[1:-1] = np.where(both > 0, (counts[1:-1] + counts[2:]) / both, np.nan)
    for place in breaks:
        out[max(place - 1, 0) : place + 1] = np.nan
    return out


def _against_heading(
    document: Document,
    record: Record,
    name: str,
    place: int,
    unit: str | None,
    instrument: Instrument,
) -> Iterator[Notice]:
    """A doubt where run.toml states another unit, or another kind of pressure, than the raw file's own heading."""
    heading = record.report.dialect.units[place]
    said = find_unit(heading or "", raw_dimension(instrument)) if unit is not None and heading else None
    stated = find_unit(unit or "", raw_dimension(instrument))
    if said is None or stated is None:
        return
    kind = KINDS.get(instrument.measures)
    if said[0] != stated[0] or (instrument.signal is None and said[1] not in (None, kind)):
        yield Notice(
            code="unit-against-heading", severity=Severity.DOUBT, about=f'{document.file}, column "{name}"',
            text=f'Column "{name}" is taken in "{unit}", as {document.file} says; the raw file says "{heading}".',
            try_=f"find out which is true; where the file is right, leave `unit` out of {document.file}",
        )  # fmt: skip


def misfit(instrument: Instrument, name: str, text: str | None) -> QuantityError | None:
    """Why a column in this unit (None: unstated) cannot be what this instrument gave, or None where it can."""
    dimension = raw_dimension(instrument)
    words = dimension.replace("_", " ")
    if text is None and dimension is not Dimension.COUNT:
        example = EXAMPLES.get(dimension, UNITS[dimension][0].name)
        return QuantityError(
            f'column "{name}", whose heading names no unit',
            f"its unit of {words}",
            f'"{name}" = {{ instrument = "{instrument.tag}", unit = "{example}" }}',
        )
    hit = find_unit(text or "", dimension)
    if hit is None:
        stores = "stores by its `signal`" if instrument.signal else f"measures ({instrument.measures})"
        return QuantityError(
            f'column "{name}" in "{text}"',
            f"a unit of {words}, which {instrument.tag} {stores}",
            f"mend {instrument.tag} in {instrument.origin.split(',')[0]}, or say the unit of the column",
        )
    kind = hit[1]
    if kind is not None and kind is not KINDS.get(instrument.measures):
        return QuantityError(
            f'column "{name}" in "{text}", which says {kind.value}',
            f"{instrument.measures}, which {instrument.tag} measures",
            f"mend `measures` of {instrument.tag}, or map another column",
        )
    return None


def unit_asked(
    document: Document, path: tuple[str | int, ...], instruments: Mapping[str, Instrument]
) -> Problem | None:
    """An open unit of a column, asked in a unit in which its instrument may be logged; None for other questions."""
    match path:
        case ("channels", str(name), "unit"):
            channel = document.data["channels"][name]
            instrument = instruments.get(str(channel.get("instrument")))
            fault = misfit(instrument, name, None) if instrument is not None else None
            return quantity_problem(document, path, fault) if fault is not None else None
    return None


def raw_dimension(instrument: Instrument) -> Dimension:
    """What the logger's numbers of an instrument are: its signal, or what it measures."""
    if instrument.signal is None:
        return Dimension(MEASURES[instrument.measures].dimension)
    return next(
        dimension
        for dimension in (Dimension.CURRENT, Dimension.VOLTAGE, Dimension.VOLTAGE_RATIO, Dimension.FREQUENCY,
                          Dimension.COUNT)
        if UNITS[dimension][0].name == instrument.signal_unit
    )  # fmt: skip
