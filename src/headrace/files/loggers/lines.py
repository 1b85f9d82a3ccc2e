"""Lines of a known dialect into records, headings, blanks and refusals: quickly where they are clean.

Clean lines are read column by column; a line with anything odd is read alone. Both ways give the same events. What a
record's neighbours say about it (time order, drop-outs) is judged later, in `order`. Start at `LineReader.read`.
"""

import re
from collections.abc import Iterator, Sequence
from math import isnan, nan

import numpy as np

from headrace.files.loggers.base import (
    DELIMITERS,
    MARKS,
    BadLine,
    Blank,
    Dialect,
    Floats,
    Heading,
    Ints,
    Item,
    Rows,
)
from headrace.files.loggers.headings import same_heading
from headrace.files.loggers.numbers import NumberForm, is_loose_number, tail_shape
from headrace.files.loggers.split import Splitter
from headrace.files.loggers.timeforms import is_time_text, reader

ODD = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
TEXT_KEPT = 120
RECORD_REASONS = frozenset(
    {"too few fields", "too many fields", "not a number", "control bytes", "unbalanced quotes"}
)

Parsed = tuple[float, list[float]]


class LineReader:
    """Reads the lines below the headings. `fast=False` reads every line alone (for tests)."""

    def __init__(self, dialect: Dialect, *, fast: bool = True) -> None:
        self.dialect, self.fast = dialect, fast
        self.form = NumberForm(MARKS[dialect.decimal], MARKS.get(dialect.thousands, ""))
        self.splitter = Splitter(dialect.delimiter, dialect.pairs)
        self.count = len(dialect.names)
        self.numbers = [place for place, kind in enumerate(dialect.kinds) if kind == "number"]
        self.words = [place for place, kind in enumerate(dialect.kinds) if kind == "words"]
        self.axis = dialect.time
        self.time_text = reader(self.axis) if self.axis.columns and self.axis.form != "elapsed" else None
        self.checked = [p for p in self.numbers if not (self.time_text and p in self.axis.columns)]
        self.headings = frozenset(dialect.headings)
        self.endings = tuple(
            text for text in dialect.headings if len(text) > 4 and re.search(r"[^\W\d]", text)
        )
        cells = [title.strip().lower() for title in dialect.titles]
        self.titles = cells if dialect.name_line is not None else []
        self.tick = 0  # records since the logger started, when only a rate gives the time

    # -- many lines -------------------------------------------------------------------------------------------------

    def read(self, lines: Sequence[str], first: int) -> Iterator[Item]:
        """Items of these lines, in order; `first` is the line number of the first."""
        mark = DELIMITERS[self.dialect.delimiter] if self.dialect.delimiter != "spaces" else None
        quick = self.fast and mark != "" and not self.dialect.pairs
        run: list[str] = []
        start = first
        width, strip_nul = self.dialect.width, self.dialect.strip_nul
        for number, text in enumerate(lines, first):
            line = text.replace("\x00", "") if strip_nul else text
            if quick and '"' not in line:
                fields = line.split(mark)
                if len(fields) == width:
                    if not run:
                        start = number
                    run += fields
                    continue
            if run:
                yield from self._block(run, start, lines, first)
                run = []
            yield self.one(text, number)
        if run:
            yield from self._block(run, start, lines, first)

    def _block(self, fields: list[str], start: int, lines: Sequence[str], first: int) -> Iterator[Item]:
        """Consecutive lines of the right field count, column by column; those that do not parse, one by one."""
        width = self.dialect.width
        total = len(fields) // width
        values = np.full((total, self.count), nan)
        good = np.ones(total, dtype=bool)
        whole = lines[start - first : start - first + total]
        if ODD.search("\n".join(whole)):
            good &= [
                not ODD.search(line.replace("\x00", "") if self.dialect.strip_nul else line) for line in whole
            ]
        for place in self.numbers:
            column = np.array(self.form.read_column(fields[place::width]), dtype=np.float64)
            values[:, place] = column
            good &= np.isfinite(column)
        for place in self.words:
            values[:, place] = np.array(self.form.read_column(fields[place::width]), dtype=np.float64)
        if width > self.count and any(
            map(str.strip, (t for p in range(self.count, width) for t in fields[p::width]))
        ):
            good[:] = False
        time = np.full(total, nan)
        if self.time_text:
            texts = zip(*(fields[place::width] for place in self.axis.columns), strict=True)
            read = self.time_text
            time = np.array([read(" ".join(parts)) for parts in texts], dtype=np.float64)
            good &= np.isfinite(time)
        elif self.axis.columns:
            time = values[:, self.axis.columns[0]] * self.axis.scale
        edges = np.flatnonzero(np.diff(np.concatenate(([False], good, [False])).astype(np.int8)))
        place = 0
        for begin, end in edges.reshape(-1, 2):
            for odd in range(place, begin):
                yield self.one(lines[start + odd - first], start + odd)
            yield self._rows(start + int(begin), time[begin:end], values[begin:end])
            place = int(end)
        for odd in range(place, total):
            yield self.one(lines[start + odd - first], start + odd)

    def _rows(self, line: int, time: Floats, values: Floats) -> Rows:
        return self.rows(np.arange(line, line + len(time), dtype=np.int64), time, values)

    def rows(self, lines: Ints, time: Floats, values: Floats) -> Rows:
        """Accepted records, with the time that a rate gives them where no column is a clock."""
        size = len(lines)
        if self.axis.rate is not None:
            time = (self.tick + np.arange(size)) / self.axis.rate
            self.tick += size
        return Rows(lines, time, values)

    # -- one line ---------------------------------------------------------------------------------------------------

    def one(self, text: str, number: int) -> Item:
        """The item of one line."""
        line = text.replace("\x00", "") if self.dialect.strip_nul else text
        if not line.strip(" \t\x0c\x1a"):
            return Blank(number)
        parsed = "control bytes" if ODD.search(line) else self._parse(line)
        if not isinstance(parsed, str):
            return self._rows(number, np.array([parsed[0]]), np.array([parsed[1]]))
        if self.is_heading(line):
            self.tick = 0
            return Heading(number)
        if parsed in RECORD_REASONS:
            self.tick += 1
        return BadLine(number, parsed, line[:TEXT_KEPT])

    def _parse(self, line: str) -> Parsed | str:
        """Time and values of a record, or the reason why it is none."""
        fields = self.splitter.split(line)
        if fields is None:
            return "unbalanced quotes"
        least = self.count if self.dialect.loose else self.dialect.width
        filled = [text for text in fields if text]
        if not filled:
            return "empty record"
        if not any(is_loose_number(text) or is_time_text(text) for text in filled):
            return "text between data"
        if len(fields) < least:
            return "too few fields"
        if len(fields) > self.count and any(fields[self.count :]):
            return "too many fields"
        values = [nan] * self.count
        for place in self.numbers:
            value = self.form.read(fields[place])
            if value is None:
                if place in self.axis.columns:
                    return "time unreadable"
                return "not a number"
            values[place] = value
        for place in self.words:
            word = self.form.read(fields[place])
            values[place] = nan if word is None else word
        time = nan
        if self.time_text:
            stamp = self.time_text(" ".join(fields[place] for place in self.axis.columns))
            if stamp is None:
                return "time unreadable"
            time = stamp
        elif self.axis.columns:
            time = values[self.axis.columns[0]] * self.axis.scale
        if self.axis.columns and isnan(time):
            return "time missing"
        return time, values

    def is_heading(self, line: str) -> bool:
        """True when the line repeats one of the lines above the data, junk before it allowed."""
        bare = line.strip()
        if bare in self.headings:
            return True
        if not self.titles:
            return False
        printable = ODD.sub("", bare)
        if printable.endswith(self.endings):
            return True
        cells = [cell.lower() for cell in self.splitter.split(printable) or []]
        return same_heading(self.titles, cells)

    def last(self, text: str, number: int) -> Item:
        """The item of a last line that has no line end: its last field may be cut."""
        item = self.one(text, number)
        if isinstance(item, BadLine) and item.reason in (
            "too few fields",
            "not a number",
            "unbalanced quotes",
        ):
            return item._replace(reason="truncated last line")
        if not isinstance(item, Rows):
            return item
        fields = self.splitter.split(text.replace("\x00", "")) or []
        cut = self.dialect.width > self.count and not self.dialect.loose and len(fields) < self.dialect.width
        tail = self.dialect.last_tail
        if tail is not None and len(fields) >= self.count:
            shape = tail_shape(fields[self.count - 1])
            cut = cut or shape is None or len(shape) < len(tail)
        return BadLine(number, "truncated last line", text[:TEXT_KEPT]) if cut else item
