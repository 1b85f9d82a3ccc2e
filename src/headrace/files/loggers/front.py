"""Families that are a table once each line is put right: a front turns lines, the delimited reader reads them.

A front gives one line for each line of the file, so that line numbers hold, or says why a line is no record. Numbers,
headings, time, order and drop-outs are judged by the reader behind it. Start at `Front`, then `FrontedParser`.
"""

import codecs
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple, Protocol

from headrace.files.loggers.base import (
    DELIMITERS,
    NO_ANSWERS,
    Answers,
    Aside,
    BadLine,
    Blank,
    Dialect,
    Event,
    Header,
    Heading,
    Item,
    Question,
    Rows,
    Segment,
    Step,
    Unreadable,
)
from headrace.files.loggers.delimited import LONGEST, SNIFFED, DelimitedParser, look_by, read_by, spread
from headrace.files.loggers.encoding import sniff_encoding
from headrace.files.loggers.family import Logger

TEXT_KEPT = 120
SAMPLE = 1000
"""Lines from which a front learns how the file is built."""


class Refused(NamedTuple):
    """A line that is damaged, and why."""

    reason: str


class Beside(NamedTuple):
    """A sound line that is not for the rows, and what it is."""

    what: str


class Restart(NamedTuple):
    """A line of a heading met again: the logger began anew."""


class Skip(NamedTuple):
    """A line of the headings, or an empty one."""


Turned = str | Refused | Beside | Restart | Skip


class Front(Protocol):
    """What one family knows of one file.

    heading: lines to put above the first; the first of them stands for a `Restart`. delimiter: key of
    `DELIMITERS`, of the turned lines. separator: how the file itself separates, for people; "" for both: as the reader
    behind finds it.
    certain: every turned line is proved whole, the last too. changes: what is settled for the reader behind.
    notes: are asked for at the end, when all lines have passed.
    """

    heading: tuple[str, ...]
    delimiter: str
    separator: str
    certain: bool
    questions: tuple[Question, ...]

    def changes(self) -> Mapping[str, object]:
        """Answers for the reader behind, by field."""
        ...

    def notes(self) -> tuple[str, ...]:
        """Sentences for a reader."""
        ...

    def turn(self, line: str, _number: int, /) -> Turned:
        """The line, with its number, as a row of fields, or what else it is."""
        ...


Make = Callable[[Sequence[str], Answers], Front]
"""From the first lines and the answers; may raise `Unreadable`."""


class FrontedParser:
    """Push parser: bytes to lines, each turned by the front, read by a delimited parser, told by the file's lines."""

    def __init__(
        self, make: Callable[[Sequence[str], Answers], Front], answers: Answers = NO_ANSWERS
    ) -> None:
        self.make, self.answers = make, answers
        self.lines = 0
        self.closed = False
        self._head = b""
        self._rest = ""
        self._front: Front | None = None
        self._inner: DelimitedParser | None = None
        self._instead: dict[int, BadLine | Aside] = {}

    @property
    def dialect(self) -> Dialect | None:
        """How the file is written, once that is known."""
        if self._inner is None or self._inner.dialect is None or self._front is None:
            return None
        found = self._inner.dialect
        lines = max(found.header_lines - len(self._front.heading), 0)
        return replace(
            found,
            encoding=self._encoding,
            line_end=self._line_end,
            delimiter=self._front.separator or found.delimiter,
            header_lines=lines,
            headings=tuple(text.strip() for text in self._top[:lines] if text.strip()),
        )

    @property
    def questions(self) -> tuple[Question, ...]:
        """What the bytes leave open."""
        asked = self._front.questions if self._front is not None else ()
        return (*asked, *(self._inner.questions if self._inner is not None else ()))

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences for a reader."""
        said = self._front.notes() if self._front is not None else ()
        return (*said, *(self._inner.notes if self._inner is not None else ()))

    def feed(self, data: bytes) -> Iterator[Event]:
        """Rows one by one, and events, that the bytes so far make certain."""
        return spread(self.feed_blocks(data))

    def close(self) -> Iterator[Event]:
        """What was held back."""
        return spread(self.close_blocks())

    def feed_blocks(self, data: bytes) -> Iterator[Item]:
        """As `feed`, with consecutive rows as arrays."""
        if self.closed:
            raise ValueError("the parser is closed")
        if self._inner is None:
            self._head += data
            if len(self._head) < SNIFFED:
                return
            self._open(whole=False)
            data, self._head = self._head, b""
        yield from self._more(data)

    def close_blocks(self) -> Iterator[Item]:
        """As `close`, with consecutive rows as arrays."""
        if self._inner is None:
            self._open(whole=True)
            data, self._head = self._head, b""
            yield from self._more(data)
        assert self._inner is not None
        yield from self._more(b"", final=True)
        if self._rest:
            turned = self._turn(self._rest.rstrip("\r"), last=True)
            self._rest = ""
            yield from self._back(self._inner.feed_blocks(turned.encode()))
        yield from self._back(self._inner.close_blocks())
        self.closed = True

    def _open(self, *, whole: bool) -> None:
        head = self._head[:SNIFFED]
        self._encoding = self.answers.encoding or sniff_encoding(
            head, whole=whole and len(self._head) <= SNIFFED
        )
        text = codecs.getincrementaldecoder(self._encoding)("replace").decode(head)
        self._line_end = "\n" if "\n" in text or "\r" not in text else "\r"
        lines = text.split(self._line_end)
        if len(lines) > 1 and (not lines[-1] or not whole):
            lines.pop()
        self._top = [line.rstrip("\r") for line in lines[:SAMPLE]]
        self._front = front = self.make(self._top, self.answers)
        given = self.answers.header_line
        changes = {
            "encoding": "utf-8",
            "delimiter": front.delimiter or self.answers.delimiter,
            "family": None,
            "table": None,
            "header_line": given and given + len(front.heading),
            **front.changes(),
        }
        self._inner = DelimitedParser(replace(self.answers, **changes))  # type: ignore[arg-type]  # by field name
        self._extra = len(front.heading)
        self._decoder = codecs.getincrementaldecoder(self._encoding)("replace")
        above = "".join(line + "\n" for line in front.heading)
        list(self._inner.feed_blocks(above.encode()))

    def _more(self, data: bytes, *, final: bool = False) -> Iterator[Item]:
        assert self._inner is not None
        text = self._rest + self._decoder.decode(data, final)
        *lines, self._rest = text.split(self._line_end)
        if len(self._rest) > LONGEST:
            raise Unreadable("a line is longer than a million characters",
                             try_="look whether this is a table of text")  # fmt: skip
        turned = "".join(self._turn(line.rstrip("\r")) + "\n" for line in lines)
        yield from self._back(self._inner.feed_blocks(turned.encode("utf-8", "replace")))

    def _turn(self, line: str, *, last: bool = False) -> str:
        """The line for the reader behind: empty where something else is told in its place."""
        assert self._front is not None
        self.lines += 1
        turned = self._front.turn(line, self.lines) if line.strip() else Skip()
        match turned:
            case str():
                return turned + "\n" if last and self._front.certain else turned
            case Refused(reason):
                reason = "truncated last line" if last else reason
                self._instead[self.lines] = BadLine(self.lines, reason, line[:TEXT_KEPT])
            case Beside(what):
                self._instead[self.lines] = Aside(self.lines, what, line[:TEXT_KEPT])
            case Restart():
                return self._front.heading[0]  # the reader behind knows a heading met again
        return "\n" if last else ""

    def _back(self, items: Iterable[Item]) -> Iterator[Item]:
        """Items of the reader behind, with the line numbers of the file and what was told in place of lines."""
        for item in items:
            match item:
                case Header(lines, names, units):
                    above = [n for n in sorted(self._instead) if n <= lines - self._extra]
                    yield Header(max(lines - self._extra, 0) - len(above), names, units)
                    yield from [self._instead.pop(n) for n in above]
                case Blank(line):
                    yield self._instead.pop(line - self._extra, Blank(line - self._extra))
                case Rows():
                    own = item.lines > self._extra
                    if own.any():
                        yield Rows(item.lines[own] - self._extra, item.time[own], item.values[own])
                case BadLine() | Aside() | Heading() | Segment() | Step():
                    yield item._replace(line=item.line - self._extra)


def fronted(
    *,
    title: str,
    suffixes: tuple[str, ...],
    claims: Callable[[bytes, str], bool],
    make: Make,
) -> Logger:
    """The registry's entry of a family that is a front."""
    return Logger(
        title=title, suffixes=suffixes, claims=claims,
        look=lambda source, answers: look_by(FrontedParser(make, answers), source),
        read=lambda source, answers: read_by(FrontedParser(make, answers), source),
        open_parser=lambda answers: FrontedParser(make, answers),
    )  # fmt: skip


def sample_lines(head: bytes, most: int = 200) -> list[str]:
    """The first filled lines of the first bytes as text, for claiming; [] where they are no text."""
    try:
        encoding = sniff_encoding(head)
    except Unreadable:
        return []
    text = codecs.getincrementaldecoder(encoding)("replace").decode(head)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if len(lines) > 1 and len(head) >= SNIFFED:
        lines.pop()
    return [line for line in lines if line.strip()][:most]


def cell(text: str) -> str:
    """A text that may stand in one field of a turned line."""
    return " ".join(text.replace('"', " ").split())


DELIMITER_OF: Mapping[str, str] = MappingProxyType({sign: key for key, sign in DELIMITERS.items()})
