"""What every logger reader shares: the events it gives, the dialect it found, the answers it takes.

A reader is a push parser: bytes go in, events come out, so the same code reads a finished file and follows a
growing one. Nothing here reads bytes. Start at `Dialect`, then at `Rows`, the event that carries data.
"""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from headrace.errors import InputError, Problem

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

KEY = "logger."  # the table of run.toml that holds the answers
DELIMITERS: Mapping[str, str] = {
    "comma": ",",
    "semicolon": ";",
    "tab": "\t",
    "pipe": "|",
    "spaces": " ",
    "none": "",
}
MARKS: Mapping[str, str] = {"point": ".", "comma": ","}
TIME_UNITS = (
    *("s", "ms", "us", "ns", "min", "h", "epoch s", "epoch ms", "epoch us", "epoch ns"),
    *("iso", "date and clock", "clock", "12-hour clock", "mm:ss", "hhmmss"),
)


class Unreadable(InputError):  # noqa: N818 - the tree's names say what is, not that it is an error
    """The bytes are not a table that this reader can read; `reason` says why in plain words."""

    def __init__(self, reason: str, *, file: str = "", try_: str = "") -> None:
        self.reason = reason
        super().__init__(
            (
                Problem(
                    file=file,
                    line=None,
                    key="",
                    found=reason,
                    expected="a delimited table of numbers",
                    try_=try_,
                ),
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One thing the bytes do not settle. `key` of run.toml answers it with one of `candidates`."""

    code: str
    text: str
    candidates: tuple[str, ...]
    key: str


class QuestionsOpen(InputError):  # noqa: N818 - as above
    """The file has two readings; `questions` lists what must be answered before a number is used."""

    def __init__(self, questions: tuple[Question, ...], *, file: str = "") -> None:
        self.questions = questions
        super().__init__(
            tuple(
                Problem(
                    file=file,
                    line=None,
                    key=question.key,
                    found=question.text,
                    expected="an answer"
                    + (f": {', '.join(question.candidates)}" if question.candidates else ""),
                    try_=f"write {question.key} into run.toml",
                )
                for question in questions
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What run.toml may settle. None = let the bytes say, or ask.

    family: key of `LOGGERS`, in place of the one that claims the file. table: the sheet, group or kind of sentence,
    where a file holds several tables.
    encoding: a text encoding name. delimiter: key of `DELIMITERS`, or the character itself. decimal: "point" or
    "comma". thousands: "comma", "point" or "" (none). header_line: number of the line with the names, 0 = none.
    names: column names, one per field, used in place of the file's. time_column: name or 1-based number, or a date
    and a clock column as "Date + Time"; "none" = no column is a clock. time_unit: one of `TIME_UNITS`.
    time_fraction: "decimal" or "ms" (digits after the seconds). time_wrap: period after which the time starts
    again at 0 [s]; 0 = it never does. day_first: order of an all-number date; date_order "ymd", "dmy", "mdy" says the
    same and more. sample_rate: rows per second [Hz], when no column is a clock. segment: which
    run of the logger is meant, counted from 1, where its clock began anew. scaling: what to do with a scale that
    stands beside stored numbers: "applied" (to them) or "stored" (they are taken as they are).
    """

    family: str | None = None
    table: str | None = None
    encoding: str | None = None
    delimiter: str | None = None
    decimal: str | None = None
    thousands: str | None = None
    header_line: int | None = None
    names: tuple[str, ...] | None = None
    time_column: str | int | None = None
    time_unit: str | None = None
    time_fraction: str | None = None
    time_wrap: float | None = None
    day_first: bool | None = None
    date_order: str | None = None
    sample_rate: float | None = None
    segment: int | None = None
    scaling: str | None = None

    def __post_init__(self) -> None:
        for name, marks in (("delimiter", DELIMITERS), ("decimal", MARKS), ("thousands", MARKS)):
            spelled = {mark: key for key, mark in marks.items() if mark}.get(getattr(self, name))
            if spelled is not None:
                object.__setattr__(self, name, spelled)
        allowed: dict[str, tuple[str, ...]] = {
            "delimiter": tuple(DELIMITERS),
            "decimal": tuple(MARKS),
            "thousands": ("", *MARKS),
            "time_unit": TIME_UNITS,
            "time_fraction": ("decimal", "ms"),
            "date_order": ("ymd", "dmy", "mdy"),
            "scaling": ("applied", "stored"),
        }
        faults = [
            (name, repr(getattr(self, name)), "one of " + ", ".join(map(repr, choices)))
            for name, choices in allowed.items()
            if getattr(self, name) not in (None, *choices)
        ]
        if self.sample_rate is not None and not 0 < self.sample_rate < float("inf"):
            faults.append(("sample_rate", repr(self.sample_rate), "a rate above 0 Hz"))
        if self.time_wrap is not None and not 0 <= self.time_wrap < float("inf"):
            faults.append(("time_wrap", repr(self.time_wrap), "a period in seconds, or 0"))
        if self.encoding is not None:
            try:
                "".encode(self.encoding)
            except LookupError:
                faults.append(("encoding", repr(self.encoding), "a text encoding such as utf-8 or latin-1"))
        if faults:
            raise InputError(
                tuple(
                    Problem(file="", line=None, key=KEY + name, found=found, expected=expected, try_="")
                    for name, found, expected in faults
                )
            )


NO_ANSWERS = Answers()


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeAxis:
    """How the time of a row is read.

    columns: the column, or date and clock (and AM/PM) columns, 0-based; () when a rate or nothing gives the time.
    form: key of `timeforms.FORMS`, or "rate" or "none". unit: as reported. base: whole seconds since 1970 that are
    taken off an absolute time, so that a float keeps its microseconds. order: of an all-number date.
    step: typical step in the sample [s]. period: the time starts again after so long [s]. zone: UTC offset known.
    """

    columns: tuple[int, ...] = ()
    form: str = "none"
    unit: str | None = None
    scale: float = 1.0
    base: int = 0
    order: str = "ymd"
    fraction: str = "decimal"
    step: float | None = None
    period: float | None = None
    zone: bool = False
    rate: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """How the bytes of one file are written; enough to read the rest of it, and to go into JSON.

    names, units, kinds: one per column ("number", "words", "time", "text", "empty"). titles: the headings as written.
    width: fields on a data line, trailing separators included; loose: some lines leave those out.
    pairs: the comma is delimiter and decimal mark at once. strip_nul: NUL bytes stand in most lines.
    last_tail: what follows the mark in the last field, as `tail_shape` writes it, when it never varies.
    headings: lines above the data.
    """

    encoding: str
    delimiter: str
    decimal: str
    header_lines: int
    names: tuple[str, ...]
    units: tuple[str | None, ...]
    kinds: tuple[str, ...]
    titles: tuple[str, ...]
    time: TimeAxis
    thousands: str = ""
    width: int = 0
    loose: bool = False
    pairs: bool = False
    strip_nul: bool = False
    line_end: str = "\n"
    last_tail: str | None = None
    name_line: int | None = None
    headings: tuple[str, ...] = field(default=(), repr=False)

    def as_dict(self) -> dict[str, Any]:
        """Plain dict of plain values, fit for JSON."""
        return asdict(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Dialect":
        """The dialect that `as_dict` wrote, also after a journey through JSON."""
        known: dict[str, Any] = {item.name: data[item.name] for item in fields(cls) if item.name in data}
        axis: dict[str, Any] = known.pop("time")
        time = TimeAxis(**{**axis, "columns": tuple(axis["columns"])})
        plain: dict[str, Any] = {
            key: tuple(item) if isinstance(item, list) else item for key, item in known.items()
        }
        return cls(time=time, **plain)


class Row(NamedTuple):
    """One accepted record. time [s] (on the axis of the dialect), values in the file's own units, NaN = missing."""

    line: int
    time: float
    values: tuple[float, ...]


class Rows(NamedTuple):
    """Consecutive accepted records, as arrays: line numbers, times [s], values (record, column)."""

    lines: Ints
    time: Floats
    values: Floats


class Header(NamedTuple):
    """The lines above the data, once, with the names found there."""

    lines: int
    names: tuple[str, ...]
    units: tuple[str | None, ...]


class Heading(NamedTuple):
    """A line of the heading met again between data lines."""

    line: int


class Segment(NamedTuple):
    """From the next row on a new segment runs: the logger was restarted."""

    line: int
    why: str


class BadLine(NamedTuple):
    """A line that is not used, with the reason and the beginning of its text."""

    line: int
    reason: str
    text: str


class Aside(NamedTuple):
    """A sound line that is not for the rows: another table's, a footer's; what it is, and the beginning of its text."""

    line: int
    what: str
    text: str


class Blank(NamedTuple):
    """An empty line."""

    line: int


class Step(NamedTuple):
    """The time steps back by `seconds` and goes on from there, or rolls over (`why`)."""

    line: int
    why: str
    seconds: float


Item = Rows | Header | Heading | Segment | BadLine | Aside | Blank | Step
Event = Row | Header | Heading | Segment | BadLine | Aside | Blank | Step


class Parser(Protocol):
    """Bytes in, events out. `questions` and `notes` are known once the dialect is; `lines` counts the lines so far."""

    @property
    def dialect(self) -> Dialect | None:
        """How the file is written, once that is known."""
        ...

    @property
    def questions(self) -> tuple[Question, ...]:
        """What the bytes leave open."""
        ...

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences for a reader."""
        ...

    @property
    def lines(self) -> int:
        """Lines so far."""
        ...

    def feed_blocks(self, data: bytes) -> Iterator[Item]:
        """As `feed`, with consecutive rows as arrays."""
        ...

    def close_blocks(self) -> Iterator[Item]:
        """As `close`, with consecutive rows as arrays."""
        ...

    def feed(self, data: bytes) -> Iterator[Event]:
        """Events that the bytes so far make certain."""
        ...

    def close(self) -> Iterator[Event]:
        """Events of what was held back, the unfinished last line included."""
        ...
