"""What was understood of a logger file: counted as it is read, kept for people, programs and run.toml.

Every line of the file is in exactly one count of `Lines`. Start at `Understanding`; `Tally` fills it.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from itertools import combinations, pairwise
from math import isfinite
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from headrace.files.loggers.base import (
    KEY,
    Aside,
    BadLine,
    Blank,
    Dialect,
    Floats,
    Header,
    Heading,
    Item,
    Question,
    Rows,
    Segment,
    Step,
)
from headrace.files.loggers.timeforms import stamp_text
from headrace.files.loggers.wild import Watch, Wild

BAD_KEPT = 1000
ABOVE_SHOWN = 12
NO_NUMBERS: Mapping[str, str] = MappingProxyType({
    "text": "text, or a side table", "words": "words only", "empty": "empty", "time": "a time that is not the clock",
})  # fmt: skip
GAP = 5.0  # typical steps that make a gap


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """Where every line went."""

    total: int
    header: int
    rows: int
    bad: int
    blank: int
    headings: int
    aside: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnReport:
    """One column: values in the file's own unit, None where there is no number; missing counts accepted rows."""

    name: str
    unit: str | None
    first: float | None
    last: float | None
    min: float | None
    max: float | None
    missing: int
    used: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SegmentReport:
    """One run of the logger: lines, rows, time span [s], and why it begins."""

    first_line: int
    last_line: int
    rows: int
    first: float | None
    last: float | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeReport:
    """The clock. first, last [s] (since 1970 for dates, since midnight for clocks); rate [Hz]; counts.

    start: the first moment as text, when the file says it.
    """

    column: str | None
    unit: str | None
    first: float | None
    last: float | None
    rate: float | None
    gaps: int
    repeats: int
    backward_steps: int
    start: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Understanding:
    """All that `look` says of a file.

    `notes` are sentences for a reader; `questions` must be answered first; `family` is a key of `LOGGERS`. bad: lines
    refused, by number and reason; aside: sound lines that are not for the rows, by number and what they are. wild:
    values that stand alone among their neighbours, the first hundred; wild_counts: of every column.
    """

    dialect: Dialect
    columns: tuple[ColumnReport, ...]
    rows: int
    segments: tuple[SegmentReport, ...]
    bad_lines: tuple[tuple[int, str], ...]
    bad_counts: dict[str, int]
    time: TimeReport
    questions: tuple[Question, ...]
    notes: tuple[str, ...]
    lines: Lines
    family: str = "delimited"
    aside_lines: tuple[tuple[int, str], ...] = ()
    aside_counts: dict[str, int] = field(default_factory=dict)
    wild: tuple[Wild, ...] = ()
    wild_counts: dict[str, int] = field(default_factory=dict)

    @property
    def dropped(self) -> tuple[tuple[str, str], ...]:
        """Columns that give no numbers, and why."""
        kinds = dict(zip(self.dialect.names, self.dialect.kinds, strict=False))
        return tuple((one.name, NO_NUMBERS.get(kinds.get(one.name, ""), "no number in any row"))
                     for one in self.columns if not one.used)  # fmt: skip


class Tally:
    """Counts events; never keeps the data."""

    def __init__(self, dialect: Dialect) -> None:
        self.dialect = dialect
        size = len(dialect.names)
        self.rows = self.blank = self.headings = self.header = self.rolls = 0
        self.bad: Counter[str] = Counter()
        self.aside: Counter[str] = Counter()
        self.aside_lines: list[tuple[int, str]] = []
        self.bad_lines: list[tuple[int, str]] = []
        self.count = np.zeros(size, dtype=np.int64)
        self.low, self.high = np.full(size, np.inf), np.full(size, -np.inf)
        self.first, self.last = np.full(size, np.nan), np.full(size, np.nan)
        self.segments: list[dict[str, Any]] = []
        self.why = "start of file"
        self.new = True
        self.time_first: float | None = None
        self.time_last: float | None = None
        self.gaps = self.repeats = self.backward = 0
        self.run = 0.0  # seconds of the steps that are no gaps, and the rows that they cover
        self.covered = self.tail = 0  # tail: rows that share the latest stamp
        self.usual, self.usual_run = 0, 0.0  # steps near the typical one, and their seconds
        self.twins: list[tuple[int, int]] | None = None
        self.watch = Watch(dialect)

    def add(self, item: Item) -> None:
        """Count one item."""
        if isinstance(item, Rows):
            self._rows(item)
        elif isinstance(item, BadLine):
            self.bad[item.reason] += 1
            if len(self.bad_lines) < BAD_KEPT:
                self.bad_lines.append((item.line, item.reason))
        elif isinstance(item, Aside):
            self.aside[item.what] += 1
            if len(self.aside_lines) < BAD_KEPT:
                self.aside_lines.append((item.line, item.what))
        elif isinstance(item, Segment):
            self.watch.restart()
            self.new, self.why = True, item.why
        elif isinstance(item, Blank):
            self.blank += 1
        elif isinstance(item, Heading):
            self.headings += 1
        elif isinstance(item, Header):
            self.header = item.lines
        elif isinstance(item, Step):
            self.backward += item.why == "steps back"
            self.rolls += item.why == "rolls over"

    def _rows(self, rows: Rows) -> None:
        self.watch.add(rows)
        self.rows += len(rows.lines)
        if np.isfinite(rows.values.sum()):  # no hole anywhere: the usual case, and the quick one
            self.count += len(rows.lines)
            self.low = np.fmin(self.low, rows.values.min(axis=0))
            self.high = np.fmax(self.high, rows.values.max(axis=0))
            self.first = np.where(np.isnan(self.first), rows.values[0], self.first)
            self.last = rows.values[-1].copy()
        else:
            self._with_holes(rows.values)
        self._compare(rows.values)
        self._times(rows.time)
        if self.new:
            self.segments.append(
                {"first_line": int(rows.lines[0]), "rows": 0, "first": rows.time[0], "why": self.why}
            )
            self.new = False
        self.segments[-1]["rows"] += len(rows.lines)
        self.segments[-1]["last_line"] = int(rows.lines[-1])
        self.segments[-1]["last"] = rows.time[-1]

    def _with_holes(self, values: Floats) -> None:
        there = np.isfinite(values)
        self.count += there.sum(axis=0)
        self.low = np.fmin(self.low, np.where(there, values, np.inf).min(axis=0))
        self.high = np.fmax(self.high, np.where(there, values, -np.inf).max(axis=0))
        for place in np.flatnonzero(there.any(axis=0)):
            column = values[there[:, place], place]
            if np.isnan(self.first[place]):
                self.first[place] = column[0]
            self.last[place] = column[-1]

    def _compare(self, values: Floats) -> None:
        """Which columns were the same in all rows so far; a column that stands still has no twin."""
        if self.twins is None:
            numbers = [p for p, kind in enumerate(self.dialect.kinds) if kind == "number"]
            moving = [p for p in numbers if len(values) > 2 and np.ptp(values[:, p]) > 0]
            self.twins = list(combinations(moving, 2))
        self.twins = [
            (a, b) for a, b in self.twins if np.array_equal(values[:, a], values[:, b], equal_nan=True)
        ]

    def _times(self, time: Floats) -> None:
        if not np.isfinite(time[0]):
            return
        if self.time_first is None:
            self.time_first = float(time[0])
        before = time[:1] if self.new or self.time_last is None else np.array([self.time_last])
        steps = np.diff(np.concatenate((before, time)))
        if self.new or self.time_last is None:
            steps = steps[1:]
        step = self.dialect.time.step
        wide = steps > GAP * step if step else np.zeros(len(steps), dtype=bool)
        self.gaps += int(wide.sum())
        self.repeats += int((steps == 0).sum())
        usual = steps[np.abs(steps - step) <= 0.5 * step] if step else steps[:0]
        self.usual += len(usual)
        self.usual_run += float(usual.sum())
        self._covered(steps, wide, begins=self.new or self.time_last is None)
        self.time_last = float(time[-1])

    def _covered(self, steps: Floats, wide: NDArray[np.bool_], *, begins: bool) -> None:
        """Rows of each stamp, and the step that follows them, unless it is a gap or goes back."""
        self.tail = 1 if begins else self.tail
        changes = np.flatnonzero(steps)
        if not changes.size:
            self.tail += len(steps)
            return
        sizes = np.diff(changes, prepend=-self.tail)
        sizes[0] = self.tail + changes[0]
        onward = (steps[changes] > 0) & ~wide[changes]
        self.covered += int(sizes[onward].sum())
        self.run += float(steps[changes][onward].sum())
        self.tail = len(steps) - int(changes[-1])

    def understanding(
        self, questions: tuple[Question, ...], notes: tuple[str, ...], total: int
    ) -> Understanding:
        """The report so far, with what the sniffing left open."""
        dialect = self.dialect
        self.watch.close()
        columns = tuple(
            ColumnReport(
                name=name,
                unit=dialect.units[place],
                first=_plain(self.first[place]),
                last=_plain(self.last[place]),
                min=_plain(self.low[place]),
                max=_plain(self.high[place]),
                missing=0 if dialect.kinds[place] == "time" else self.rows - int(self.count[place]),
                used=bool(self.count[place]) or place in dialect.time.columns,
            )
            for place, name in enumerate(dialect.names)
        )
        segments = tuple(
            SegmentReport(**{**item, "first": _plain(item["first"]), "last": _plain(item["last"])})
            for item in self.segments
        )
        extra = [f"the clock rolls over {self.rolls} time(s)"] if self.rolls else []
        extra += [
            f"columns '{dialect.names[a]}' and '{dialect.names[b]}' hold the same values in every row"
            for a, b in self.twins or ()
        ]
        lines = Lines(
            total=total,
            header=self.header,
            rows=self.rows,
            bad=sum(self.bad.values()),
            blank=self.blank,
            headings=self.headings,
            aside=sum(self.aside.values()),
        )
        return Understanding(
            dialect=dialect,
            columns=columns,
            rows=self.rows,
            segments=segments,
            bad_lines=tuple(self.bad_lines),
            bad_counts=dict(self.bad),
            aside_lines=tuple(self.aside_lines),
            aside_counts=dict(self.aside),
            wild=tuple(self.watch.found),
            wild_counts=dict(self.watch.counts),
            time=self._time(),
            questions=(*questions, *self._wrap_question(segments)),
            notes=(*notes, *extra),
            lines=lines,
        )

    def _time(self) -> TimeReport:
        axis = self.dialect.time
        first, last = self.time_first, self.time_last
        rate = axis.rate
        if rate is None and self.usual and not self.repeats:
            rate = self.usual / self.usual_run
        elif rate is None and self.run > 0:
            rate = self.covered / self.run
        return TimeReport(
            column=" + ".join(self.dialect.names[place] for place in axis.columns) or None,
            unit=axis.unit,
            first=None if first is None else first + axis.base,
            last=None if last is None else last + axis.base,
            rate=rate,
            gaps=self.gaps,
            repeats=self.repeats,
            backward_steps=self.backward,
            start=None if first is None else stamp_text(axis, first),
        )

    def _wrap_question(self, segments: tuple[SegmentReport, ...]) -> tuple[Question, ...]:
        """Time that falls from just under a minute (or an hour) to zero, again and again, may only wrap."""
        axis = self.dialect.time
        if axis.form != "elapsed" or axis.period is not None or len(segments) < 2:
            return ()
        if any(item.why != "time restarts" for item in segments[1:]):
            return ()
        ends, starts = [item.last for item in segments[:-1]], [item.first for item in segments[1:]]
        slack = 1.5 * (axis.step or 0.0)
        for period in (60.0, 3600.0):
            if all(end is not None and period - slack <= end <= period for end in ends) and all(
                start is not None and 0 <= start <= slack for start in starts
            ):
                text = f"the time starts again at 0 each {period:g} s: it may wrap, or the logger restarted"
                options = (f"{period:g} s", "0 s")
                return (Question(code="time-wraps", text=text, candidates=options, key=KEY + "time_wrap"),)
        return ()


def segment_question(report: Understanding) -> Question | None:
    """Which run of the logger is meant, where its clock began anew so that two of them cover the same time."""
    again = any(
        after.first is not None and before.last is not None and after.first < before.last
        for before, after in pairwise(report.segments)
    )
    if not again or any(one.key == KEY + "time_wrap" for one in report.questions):
        return None
    spans = "; ".join(
        f"{number}: lines {one.first_line} to {one.last_line}, {(one.last or 0.0) - (one.first or 0.0):.3g} s"
        for number, one in enumerate(report.segments, 1)
    )
    return Question(
        code="segments",
        text=f"the clock began anew, so the file holds {len(report.segments)} runs of the logger ({spans}); "
        "which of them is this run",
        candidates=tuple(str(number) for number in range(1, len(report.segments) + 1)),
        key=KEY + "segment",
    )


def _plain(value: Any) -> float | None:
    number = float(value)
    return number if isfinite(number) else None


def json_of(understanding: Understanding) -> dict[str, Any]:
    """The report as plain values for `bring --look FILE --json`; no NaN, no infinity."""
    dialect = understanding.dialect
    time = asdict(understanding.time)
    return {
        "family": understanding.family,
        "rows": understanding.rows,
        "segments": [asdict(item) for item in understanding.segments],
        "bad_lines": [{"line": line, "reason": reason} for line, reason in understanding.bad_lines],
        "bad_counts": dict(understanding.bad_counts),
        "aside_lines": [{"line": line, "what": what} for line, what in understanding.aside_lines],
        "aside_counts": dict(understanding.aside_counts),
        "wild": [asdict(item) for item in understanding.wild],
        "wild_counts": dict(understanding.wild_counts),
        "lines": asdict(understanding.lines),
        "dropped": [{"name": name, "why": why} for name, why in understanding.dropped],
        "above": list(dialect.headings[:ABOVE_SHOWN]),
        "columns": [asdict(item) for item in understanding.columns],
        "time": {key: value for key, value in time.items() if key != "start"},
        "dialect": {
            "encoding": dialect.encoding,
            "delimiter": dialect.delimiter,
            "decimal": dialect.decimal,
            "thousands": dialect.thousands or None,
            "header_lines": dialect.header_lines,
        },
        "questions": [
            asdict(item) | {"candidates": list(item.candidates)} for item in understanding.questions
        ],
    }
