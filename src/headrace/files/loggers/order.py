"""What the neighbours of a record say about it: time out of order, restarts, roll-over, drop-outs.

A record that cannot be judged yet is held back until a few more have come; each ends as a row or as a bad line, in
the order of the file. Start at `TimeOrder`, then `DropOuts`.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from headrace.files.loggers.base import BadLine, Blank, Dialect, Floats, Heading, Item, Rows, Segment, Step

ENOUGH = 5  # records in sequence that make a step back a fact
JUMP = 50.0  # typical steps forward that ask for a second record before they are believed
NEAR = 10.0  # typical steps from the start of the time that count as a restart
SMALL = 10.0  # whole numbers up to this may be counts that rest at zero


class Held(NamedTuple):
    """One record by itself."""

    line: int
    time: float
    values: Floats


def _pack(group: Sequence[Held]) -> Rows:
    return Rows(
        np.array([item.line for item in group], dtype=np.int64),
        np.array([item.time for item in group], dtype=np.float64),
        np.array([item.values for item in group], dtype=np.float64),
    )


def _each(rows: Rows) -> Iterator[Held]:
    return map(Held, rows.lines.tolist(), rows.time.tolist(), rows.values)


def joined(items: Iterable[Item | Held]) -> Iterator[Item]:
    """Single records that follow each other become one block."""
    group: list[Held] = []
    for item in items:
        if isinstance(item, Held):
            group.append(item)
            continue
        if group:
            yield _pack(group)
            group = []
        yield item
    if group:
        yield _pack(group)


class TimeOrder:
    """Lets records pass whose time does not fall; judges those whose time falls, or leaps far ahead.

    One record (or a few without sequence) out of order: bad lines. A lasting fall to the start of the time: a new
    segment. Any other lasting fall: a `Step`. A clock that rolls over goes on rising.
    """

    def __init__(self, dialect: Dialect) -> None:
        axis = dialect.time
        self.step = axis.step or 0.0
        self.jump = JUMP * self.step if self.step else float("inf")
        self.restarts = axis.form == "elapsed"
        self.period = axis.period or None  # 0: answered that it never wraps
        self.channels = [
            p for p, kind in enumerate(dialect.kinds) if kind == "number" and p not in axis.columns
        ]
        self.offset = 0.0
        self.prev: float | None = None
        self.start = 0.0
        self.fresh = True  # no segment row yet since the file's or a heading's start
        self.any_rows = False
        self.back: list[Held | Item] = []
        self.ahead: list[Held | Item] = []

    def push(self, items: Iterable[Item]) -> Iterator[Item]:
        """Items that these make certain."""
        return joined(self._push(items))

    def _push(self, items: Iterable[Item]) -> Iterator[Item | Held]:
        for item in items:
            if isinstance(item, Rows):
                yield from self._rows(item)
            elif isinstance(item, Heading):
                yield from self._settle()
                if self.any_rows and not self.fresh:
                    yield Segment(item.line, "heading repeated")
                    self.fresh, self.prev = True, None
                yield item
            elif self.back:
                self.back.append(item)
            elif self.ahead:
                self.ahead.append(item)
            else:
                yield item

    def close(self) -> Iterator[Item]:
        """What was held back, judged by what is known."""
        return joined(self._settle())

    def _rows(self, rows: Rows) -> Iterator[Item | Held]:
        time = rows.time + self.offset
        if not self.back and not self.ahead:
            before = time[:1] if self.prev is None else np.array([self.prev])
            steps = np.diff(np.concatenate((before, time)))
            if not np.any((steps < 0) | (steps > self.jump)):
                self._accept(float(time[0]))
                self.prev = None if np.isnan(time[-1]) else float(time[-1])
                yield Rows(rows.lines, time, rows.values)
                return
        for line, raw, values in _each(rows):
            yield from self._one(line, raw, values)

    def _accept(self, time: float) -> None:
        if self.fresh:
            self.start, self.fresh = time, False
        self.any_rows = True
        self.prev = time

    def _rolled(self, raw: float, time: float) -> bool:
        if self.period is None or self.prev is None or time >= self.prev:
            return False
        slack = max(self.period / 24, 3 * self.step)
        return self.prev - self.offset > self.period - slack and raw < slack

    def _one(self, line: int, raw: float, values: Floats) -> Iterator[Item | Held]:
        time = raw + self.offset
        if not self.back and self._rolled(raw, time) and self.period is not None:
            yield from self._let_ahead()
            self.offset += self.period
            time += self.period
            yield Step(line, "rolls over", -self.period)
        row = Held(line, time, values)
        if self.ahead:
            first = next(item for item in self.ahead if isinstance(item, Held))
            if time < first.time:
                for item in self.ahead:
                    yield self._refused(item)
                self.ahead = []
            else:
                yield from self._let_ahead()
        if self.back:
            yield from self._while_back(row)
            return
        if self.prev is not None and time < self.prev:
            self.back = [row]
        elif self.prev is not None and time - self.prev > self.jump:
            self.ahead = [row]
        else:
            self._accept(time)
            yield row

    def _let_ahead(self) -> Iterator[Item | Held]:
        for item in self.ahead:
            if isinstance(item, Held):
                self._accept(item.time)
            yield item
        self.ahead = []

    def _while_back(self, row: Held) -> Iterator[Item | Held]:
        held = [item for item in self.back if isinstance(item, Held)]
        prev, last, time = self.prev or 0.0, held[-1].time, row.time
        main = abs(time - (prev + self.step * (len(held) + 1))) if time >= prev else float("inf")
        side = abs(time - (last + self.step)) if time >= last else float("inf")
        if main <= side and main < float("inf"):
            yield from self._refuse_back()
            yield from self._one(row.line, row.time - self.offset, row.values)
        elif side == float("inf"):
            yield from self._refuse_back()
            self.back = [row]
        else:
            self.back.append(row)
            if len(held) + 1 >= ENOUGH:
                yield from self._believe_back()

    def _refuse_back(self) -> Iterator[Item | Held]:
        for item in self.back:
            yield self._refused(item)
        self.back = []

    def _refused(self, item: Held | Item) -> Item:
        if not isinstance(item, Held):
            return item
        line, time, values = item
        zero = bool(self.channels) and not np.any(values[self.channels])
        reason = "all-zero row" if zero and time == self.offset else "time out of order"
        return BadLine(line, reason, f"time {time - self.offset:.9g} s")

    def _is_restart(self, time: float) -> bool:
        return self.restarts and (
            time == 0 or abs(time) <= NEAR * self.step or time <= self.start + NEAR * self.step
        )

    def _believe_back(self) -> Iterator[Item | Held]:
        first = next(item for item in self.back if isinstance(item, Held))
        if self._is_restart(first.time):
            self.fresh = True
            yield Segment(first.line, "time restarts")
        else:
            yield Step(first.line, "steps back", first.time - (self.prev or 0.0))
        for item in self.back:
            if isinstance(item, Held):
                self._accept(item.time)
            yield item
        self.back = []

    def _settle(self) -> Iterator[Item | Held]:
        yield from self._let_ahead()
        held = [item for item in self.back if isinstance(item, Held)]
        if len(held) >= 2 and self._is_restart(held[0].time):
            yield from self._believe_back()
        else:
            yield from self._refuse_back()


class DropOuts:
    """Refuses records whose channels are all exactly zero between records in which none is.

    Up to `ENOUGH` in a row, and only when the record before holds something other than small whole numbers: counts
    may rest at zero. Fewer than two channels are never judged.
    """

    def __init__(self, dialect: Dialect) -> None:
        columns = dialect.time.columns
        self.channels = [p for p, kind in enumerate(dialect.kinds) if kind == "number" and p not in columns]
        self.armed = False
        self.held: list[Held | Item] = []

    def push(self, items: Iterable[Item]) -> Iterator[Item]:
        """Items that these make certain."""
        return joined(self._push(items))

    def close(self) -> Iterator[Item]:
        """Rows held back at the end: nothing came after them, so they stay."""
        return joined(self._release())

    def _release(self) -> Iterator[Item | Held]:
        yield from self.held
        self.held = []

    def _push(self, items: Iterable[Item]) -> Iterator[Item | Held]:
        for item in items:
            if isinstance(item, Rows) and len(self.channels) >= 2:
                channels = item.values[:, self.channels]
                if not self.held and np.all(np.any(channels != 0, axis=1)):
                    self.armed = self._arms(channels[-1])
                    yield item
                else:
                    for row in _each(item):
                        yield from self._one(row)
            elif isinstance(item, Segment):
                yield from self._release()
                self.armed = False
                yield item
            elif (self.held and not isinstance(item, Blank)) or self.held:
                self.held.append(item)
            else:
                yield item

    def _arms(self, channels: Floats) -> bool:
        plain = (channels == np.floor(channels)) & (np.abs(channels) <= SMALL)
        return bool(np.all(channels != 0) and not np.all(plain))

    def _one(self, row: Held) -> Iterator[Item | Held]:
        channels = row.values[self.channels]
        if not np.any(channels != 0):
            if not self.armed:
                yield row
                return
            self.held.append(row)
            if sum(isinstance(item, Held) for item in self.held) > ENOUGH:
                yield from self._release()
                self.armed = False
            return
        for item in self.held:
            if isinstance(item, Held) and np.all(channels != 0):
                yield BadLine(item.line, "all-zero row", "every channel is exactly 0")
            else:
                yield item
        self.held = []
        self.armed = self._arms(channels)
        yield row
