"""Rows that stand under other headings than the file's, or in a footer: refused, for their columns are not known.

A line of words in mid-file is a message when the clock goes on after it, and the heading of another table when it
shares names with the file's headings, or has as many words as there are columns and the clock does not go on.
Start at `OtherTables`.
"""

import re
from collections.abc import Iterable, Iterator

import numpy as np

from headrace.files.loggers.base import BadLine, Blank, Dialect, Heading, Item, Rows
from headrace.files.loggers.numbers import is_loose_number
from headrace.files.loggers.order import ENOUGH, JUMP
from headrace.files.loggers.split import Splitter

NEAR = 2.5
"""Typical steps within which the clock goes on after words, where only a few rows are left."""

SUMMARY = re.compile(
    r"\b(?:averages?|means?|summary|results?|totals?|statistics|std|median|max|min|report|mittelwerte?)\b",
    re.IGNORECASE,
)
UNDER = "under other headings"
FOOTER = "footer"


class OtherTables:
    """Lets the rows of the file's own table pass. Holds back at most a few rows after a line of words."""

    def __init__(self, dialect: Dialect) -> None:
        self.splitter = Splitter(dialect.delimiter, dialect.pairs)
        self.count = len(dialect.names)
        self.titles = {title.strip().lower() for title in dialect.titles if re.search(r"[^\W\d]", title)}
        self.clock = bool(dialect.time.columns)
        self.period = dialect.time.period
        self.jump = JUMP * dialect.time.step if dialect.time.step else float("inf")
        self.near = NEAR * dialect.time.step if dialect.time.step else float("inf")
        self.prev: float | None = None
        self.passed = self.blanks = 0
        self.most = self.near
        self.under = self.armed = self.weak = False
        self.held: list[Item] = []

    def push(self, items: Iterable[Item]) -> Iterator[Item]:
        """Items that these make certain."""
        for item in items:
            match item:
                case Rows():
                    yield from self._rows(item)
                case Heading():
                    self.under = self.armed = self.weak = False
                    yield from self._release()
                    yield item
                case BadLine(_, "text between data", text):
                    self._words(text)
                    yield from self._or_hold(item)
                case Blank():
                    self.blanks += 1
                    if not self.weak and self.blanks <= 2 and self.passed > ENOUGH:
                        self.weak, self.most = True, self.near
                    yield from self._or_hold(item)
                case _:
                    yield from self._or_hold(item)

    def close(self) -> Iterator[Item]:
        """A few rows after words at the very end, where the clock does not go on: a footer."""
        for item in self.held:
            yield from _refused(item, FOOTER) if isinstance(item, Rows) else (item,)
        self.held = []

    def _release(self) -> Iterator[Item]:
        yield from self.held
        self.held = []

    def _or_hold(self, item: Item) -> Iterator[Item]:
        if self.held:
            self.held.append(item)
        else:
            yield item

    def _words(self, text: str) -> None:
        cells = [cell.lower() for cell in self.splitter.split(text) or [] if cell]
        if any(is_loose_number(cell) for cell in cells) or not cells:
            return
        if self.titles & set(cells) and len(cells) >= 2:
            self.under = True
        elif len(cells) == self.count and (len(cells) > 2 or re.search(r"[\[(]", text)):
            self.armed = True
        elif self.prev is not None:
            self.weak, self.most = True, self.near if SUMMARY.search(text) else self.jump

    def _goes_on(self, time: float, most: float | None = None) -> bool:
        if not self.clock or self.prev is None or np.isnan(time):
            return True
        if time < self.prev:
            return bool(self.period)
        return time - self.prev <= (self.jump if most is None else most)

    def _rows(self, rows: Rows) -> Iterator[Item]:
        if self.armed and not self.under:
            self.armed, self.under = False, not self._goes_on(float(rows.time[0]))
        if self.under:
            yield from self._or_hold_all(_refused(rows, UNDER))
            return
        if self.weak and not self.held and self._goes_on(float(rows.time[0]), self.most):
            self.weak = False
        self.prev = float(rows.time[-1]) if not self.weak else self.prev
        self.passed += len(rows.lines)
        if not self.weak:
            yield rows
            return
        self.held.append(rows)
        if sum(len(item.lines) for item in self.held if isinstance(item, Rows)) >= ENOUGH:
            self.weak, self.prev = False, float(rows.time[-1])
            yield from self._release()

    def _or_hold_all(self, items: Iterable[Item]) -> Iterator[Item]:
        for item in items:
            yield from self._or_hold(item)


def _refused(rows: Rows, reason: str) -> Iterator[Item]:
    for line, time in zip(rows.lines.tolist(), rows.time.tolist(), strict=True):
        yield BadLine(line, reason, f"time {time:.9g} s")
