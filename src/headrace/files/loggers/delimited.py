"""Delimited text of loggers: bytes in, rows and events out; whole files and growing ones by the same code.

The first bytes are held until they suffice to know the dialect; from then on memory is bounded by one chunk. A file
with two readings is read in one of them only to be shown: `read` refuses it until run.toml has answered.
Start at `look`, `read`, `open_parser`.
"""

import codecs
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import accumulate
from pathlib import Path

import numpy as np

from headrace.errors import InputError, Problem
from headrace.files.loggers.base import (
    KEY,
    NO_ANSWERS,
    Answers,
    Dialect,
    Event,
    Floats,
    Header,
    Ints,
    Item,
    Parser,
    Question,
    QuestionsOpen,
    Row,
    Rows,
    Unreadable,
)
from headrace.files.loggers.dialect import Sniffed, sniff
from headrace.files.loggers.encoding import sniff_encoding
from headrace.files.loggers.foreign import OtherTables
from headrace.files.loggers.lines import LineReader
from headrace.files.loggers.order import DropOuts, TimeOrder
from headrace.files.loggers.quick import Quick, lines_are_bytes
from headrace.files.loggers.report import Tally, Understanding
from headrace.files.loggers.timeforms import stamp_text

SNIFFED = 262144  # bytes that decide the dialect
CHUNK = 1 << 22
LONGEST = 1 << 20  # characters without a line end that no table has


class DelimitedParser:
    """Push parser of one file. Give a dialect to skip the sniffing; else the first bytes decide.

    `questions` and `notes` are known once the dialect is; `lines` counts the lines so far.
    """

    def __init__(
        self, answers: Answers = NO_ANSWERS, dialect: Dialect | None = None, *, fast: bool = True
    ) -> None:
        self.answers, self.dialect, self.fast = answers, dialect, fast
        self.questions: tuple[Question, ...] = ()
        self.notes: tuple[str, ...] = ()
        self.lines = 0
        self.closed = False
        self._head = b""
        self._rest = ""
        self._kept = b""
        self._decoder: codecs.IncrementalDecoder | None = None
        if dialect is not None:
            self._open(dialect)

    def feed(self, data: bytes) -> Iterator[Event]:
        """Rows one by one, and events, that the bytes so far make certain."""
        return spread(self.feed_blocks(data))

    def close(self) -> Iterator[Event]:
        """What was held back; a record cut off at the end is a bad line."""
        return spread(self.close_blocks())

    def feed_blocks(self, data: bytes) -> Iterator[Item]:
        """As `feed`, with consecutive rows as arrays."""
        if self.closed:
            raise ValueError("the parser is closed")
        if self._decoder is None:
            self._head += data
            if len(self._head) < SNIFFED:
                return
            self._sniff(whole=False)
            data, self._head = self._head, b""
        yield from self._judge(self._text(data))

    def close_blocks(self) -> Iterator[Item]:
        """As `close`, with consecutive rows as arrays."""
        if self._decoder is None:
            self._sniff(whole=True)
            data, self._head = self._head, b""
            yield from self._judge(self._text(data))
        assert self._decoder is not None
        yield from self._judge(self._text(b"", final=True))
        self._rest += self._kept.decode(self._encoding, "replace")
        if self._rest:
            last = self._rest.rstrip("\r") if self._line_end == "\n" else self._rest
            yield from self._judge(self._lines([last], ended=last != self._rest))
            if last == self._rest and self.dialect is not None and self.dialect.last_tail is None:
                self.notes += ("the last line has no end: its last value may have lost digits",)
            self._rest = ""
        if self._unopened:
            yield from self._header()
        yield from self._drops.push(self._order.push(self._others.close()))
        for item in self._order.close():
            yield from self._drops.push((item,))
        yield from self._drops.close()
        self.closed = True

    def _sniff(self, *, whole: bool) -> None:
        head = self._head[:SNIFFED]
        encoding = self.answers.encoding or sniff_encoding(head, whole=whole and len(self._head) <= SNIFFED)
        text = codecs.getincrementaldecoder(encoding)("replace").decode(head)
        line_end = "\n" if "\n" in text or "\r" not in text else "\r"
        lines = text.split(line_end)
        if len(lines) > 1 and (not lines[-1] or not whole):
            lines.pop()
        found: Sniffed = sniff(
            [line.rstrip("\r") for line in lines], encoding=encoding, line_end=line_end, answers=self.answers
        )
        self.questions, self.notes = found.questions, found.notes
        self._open(found.dialect)

    def _open(self, dialect: Dialect) -> None:
        self.dialect = dialect
        self._decoder = codecs.getincrementaldecoder(dialect.encoding)("replace")
        self._line_end = dialect.line_end
        self._bytewise = lines_are_bytes(dialect)
        self._encoding = "utf-8" if dialect.encoding == "utf-8-sig" else dialect.encoding
        self._reader = LineReader(dialect, fast=self.fast)
        self._quick = Quick.of(self._reader)
        self._others, self._order, self._drops = OtherTables(dialect), TimeOrder(dialect), DropOuts(dialect)
        self._unopened = True

    def _text(self, data: bytes, *, final: bool = False) -> Iterator[Item]:
        assert self._decoder is not None
        if self._bytewise:
            yield from self._whole_lines(data)
            return
        text = self._rest + self._decoder.decode(data, final)
        *lines, self._rest = text.split(self._line_end)
        _not_endless(self._rest)
        if self._line_end == "\n":
            lines = [line.rstrip("\r") for line in lines]
        yield from self._lines(lines, ended=True)

    def _whole_lines(self, data: bytes) -> Iterator[Item]:
        """As `_text`, for bytes that need decoding only where they are no plain numbers."""
        assert self.dialect is not None
        data = self._kept + data
        if not self.lines and self.dialect.encoding == "utf-8-sig":
            data = data.removeprefix(codecs.BOM_UTF8)
        cut = data.rfind(b"\n") + 1
        block, self._kept = data[:cut], data[cut:]
        _not_endless(self._kept)
        place = 0
        while self.lines < self.dialect.header_lines and place < len(block):
            end = block.index(b"\n", place)
            yield from self._lines([self._line(block[place:end])], ended=True)
            place = end + 1
        block = block[place:]
        if not block:
            return
        if self._unopened:
            yield from self._header()
        quick = self._quick.items(block, self.lines + 1) if self._quick is not None else None
        if quick is None:
            yield from self._lines([self._line(line) for line in block[:-1].split(b"\n")], ended=True)
        else:
            self.lines += quick[0]
            yield from quick[1]

    def _line(self, data: bytes) -> str:
        return data.decode(self._encoding, "replace").rstrip("\r")

    def _header(self) -> Iterator[Item]:
        assert self.dialect is not None
        self._unopened = False
        yield Header(min(self.lines, self.dialect.header_lines), self.dialect.names, self.dialect.units)

    def _lines(self, lines: list[str], *, ended: bool) -> Iterator[Item]:
        assert self.dialect is not None
        first = self.lines + 1
        self.lines += len(lines)
        skip = max(self.dialect.header_lines - (first - 1), 0)
        if self._unopened and self.lines >= self.dialect.header_lines:
            yield from self._header()
        lines = lines[skip:]
        if not ended and lines:
            yield self._reader.last(lines[0], first + skip)
        else:
            yield from self._reader.read(lines, first + skip)

    def _judge(self, items: Iterable[Item]) -> Iterator[Item]:
        return self._drops.push(self._order.push(self._others.push(items)))


def _not_endless(rest: str | bytes) -> None:
    if len(rest) > LONGEST:
        raise Unreadable(
            "a line is longer than a million characters", try_="look whether this is a table of text"
        )


def spread(items: Iterable[Item]) -> Iterator[Event]:
    """Blocks of rows as rows one by one; everything else as it is."""
    for item in items:
        if isinstance(item, Rows):
            for line, time, values in zip(
                item.lines.tolist(), item.time.tolist(), item.values.tolist(), strict=True
            ):
                yield Row(line, time, tuple(values))
        else:
            yield item


def open_parser(answers: Answers = NO_ANSWERS, *, dialect: Dialect | None = None) -> DelimitedParser:
    """A parser for one file: by its dialect when known, else by its first bytes and the answers."""
    return DelimitedParser(answers, dialect)


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """The data of one file.

    time: seconds from the first row. start: that first moment as text, when the file says it. t0: the same in seconds
    since 1970 (as if UTC when `dialect.time.zone` is False), None without a date. columns: by name, in the file's own
    units, NaN where missing. lines: line number of each row. breaks: places of the rows that begin a segment.
    """

    time: Floats
    start: str | None
    t0: float | None
    columns: dict[str, Floats]
    lines: Ints
    breaks: tuple[int, ...]
    report: Understanding


def chunks(source: bytes | str | Path) -> Iterator[bytes]:
    """The bytes of a source, piece by piece.

    Raises:
        Unreadable: the file cannot be opened.
    """
    if isinstance(source, bytes):
        yield from (source[place : place + CHUNK] for place in range(0, len(source), CHUNK))
        return
    try:
        with Path(source).open("rb") as handle:
            while chunk := handle.read(CHUNK):
                yield chunk
    except OSError as fault:
        raise Unreadable(f"the file cannot be opened ({fault.strerror})", file=Path(source).name) from fault


def _run(
    source: bytes | str | Path,
    parser: Parser,
    keep: Callable[[Rows], None] | None,
    copy: Callable[[bytes], None] | None = None,
) -> Understanding:
    tally: Tally | None = None

    def count(items: list[Item]) -> None:
        nonlocal tally
        for item in items:
            if tally is None:
                assert parser.dialect is not None
                tally = Tally(parser.dialect)
            tally.add(item)
            if keep is not None and isinstance(item, Rows):
                keep(item)

    name = "" if isinstance(source, bytes) else Path(source).name
    try:
        with ThreadPoolExecutor(1) as beside:  # counts one piece while the next is read
            counted = beside.submit(count, [])
            for chunk in chunks(source):
                if copy is not None:
                    copy(chunk)
                items = list(parser.feed_blocks(chunk))
                counted.result()
                counted = beside.submit(count, items)
            items = list(parser.close_blocks())
            counted.result()
        count(items)
        assert tally is not None
        if not tally.rows and not parser.questions:
            raise Unreadable("no line of the file is an acceptable record (zero rows)")
    except Unreadable as fault:
        raise Unreadable(fault.reason, file=name, try_=fault.problems[0].try_) from None
    found = tally.understanding(parser.questions, parser.notes, parser.lines)
    clocks = {found.dialect.names[place] for place in found.dialect.time.columns}
    if not found.questions and not any(one.used and one.name not in clocks for one in found.columns):
        raise Unreadable("no column holds numbers besides the clock", file=name,
                         try_="look at the file; export it as delimited text")  # fmt: skip
    return found


def look(source: bytes | str | Path, answers: Answers = NO_ANSWERS) -> Understanding:
    """What a file holds and how it was understood; nothing is kept or written.

    Raises:
        Unreadable: no table can be found in it; the reason says why.

    >>> look(b"t (s),p (bar)\\n0.0,1.5\\n0.1,1.6\\n").rows
    2
    """
    return look_by(DelimitedParser(answers), source)


def look_by(
    parser: Parser,
    source: bytes | str | Path,
    keep: Callable[[Rows], None] | None = None,
    copy: Callable[[bytes], None] | None = None,
) -> Understanding:
    """`look` through a parser that is still unused.

    keep: is given each block of rows, and copy: the bytes as they are read, for whoever stores them.
    """
    return _run(source, parser, keep, copy)


def read(source: bytes | str | Path, answers: Answers = NO_ANSWERS) -> Record:
    """The numbers of a file.

    Raises:
        Unreadable: no table can be found in it.
        QuestionsOpen: the bytes leave a question that run.toml must answer first.
    """
    return read_by(DelimitedParser(answers), source)


def read_by(parser: Parser, source: bytes | str | Path) -> Record:
    """`read` through a parser that is still unused."""
    blocks: list[Rows] = []
    report = _run(source, parser, blocks.append)
    if report.questions:
        raise QuestionsOpen(report.questions, file="" if isinstance(source, bytes) else Path(source).name)
    time = np.concatenate([block.time for block in blocks])
    values = np.concatenate([block.values for block in blocks])
    lines = np.concatenate([block.lines for block in blocks])
    first = float(time[0])
    start, t0 = beginning(report, first)
    return Record(
        time=time - first,
        start=start,
        t0=t0,
        columns={name: values[:, place].copy() for place, name in enumerate(report.dialect.names)},
        lines=lines,
        breaks=breaks(report),
        report=report,
    )


def of_segment(record: Record, segment: int) -> Record:
    """The rows of one run of the logger, counted from 1; its time counts from its own first row.

    Raises:
        InputError: the file has no such segment.
    """
    known = record.report.segments
    if not 1 <= segment <= len(known):
        expected = f"a number from 1 to {len(known)}: the file has so many"
        raise InputError((Problem(file="", line=None, key=KEY + "segment", found=str(segment), expected=expected,
                                  try_=""),))  # fmt: skip
    one = known[segment - 1]
    first, last = np.searchsorted(record.lines, (one.first_line, one.last_line + 1))
    rows = slice(int(first), int(last))
    begins = float(record.time[rows.start])
    return replace(
        record,
        time=record.time[rows] - begins,
        start=None if begins else record.start,
        t0=None if record.t0 is None else record.t0 + begins,
        columns={name: column[rows] for name, column in record.columns.items()},
        lines=record.lines[rows],
        breaks=(),
    )


def beginning(report: Understanding, first: float) -> tuple[str | None, float | None]:
    """`Record.start` and `Record.t0` of a file whose first row has this time on its dialect's axis [s]."""
    axis = report.dialect.time
    return stamp_text(axis, first), axis.base + first if axis.form in ("stamp", "epoch") else None


def breaks(report: Understanding) -> tuple[int, ...]:
    """`Record.breaks`."""
    return tuple(accumulate(segment.rows for segment in report.segments[:-1]))
