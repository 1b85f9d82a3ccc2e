"""Values of a raw file that stand alone among their neighbours: shown where it is looked at, with line and neighbours.

Whether one is left out is decided when the run is reduced, by what its instrument can show; here nothing is changed.
Memory is bounded: a stretch of rows is judged at a time. Start at `Watch`.
"""

from collections import Counter
from dataclasses import dataclass

import numpy as np

from headrace.files.loggers.base import Dialect, Floats, Ints, Rows
from headrace.stats.alone import FEW, MOST, standing_alone

KEPT = 100
"""Values shown, at most; all are counted."""

STRETCH = 1 << 17
"""Rows judged at a time."""

MARGIN = 256
"""Rows at either end of a stretch that are judged with the next one too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wild:
    """One value that stands alone, in the file's own unit; before, after: the nearest values of its column, if any."""

    column: str
    line: int
    value: float
    before: float | None
    after: float | None


class Watch:
    """Looks at rows as they come; `close` before `found` and `counts` are asked for."""

    def __init__(self, dialect: Dialect) -> None:
        clocks = set(dialect.time.columns)
        self.places = [p for p, kind in enumerate(dialect.kinds) if kind == "number" and p not in clocks]
        self.names = dialect.names
        self.counts: Counter[str] = Counter()
        self.found: list[Wild] = []
        self.rows = 0
        self._held: list[tuple[Ints, Floats]] = []
        self._size = self._done = 0  # done: rows at the start of what is held that were judged before

    def add(self, rows: Rows) -> None:
        """Take in rows that follow the ones before."""
        if not self.places:
            return
        self.rows += len(rows.lines)
        self._held.append((rows.lines, rows.values))
        self._size += len(rows.lines)
        if self._size >= STRETCH:
            self._judge(last=False)

    def restart(self) -> None:
        """What comes next has nothing to do with what was before."""
        self._judge(last=True)

    def close(self) -> None:
        """Judge what is left, and drop columns in which too many stand alone to be wild."""
        self._judge(last=True)
        noisy = {name for name, count in self.counts.items() if count > max(FEW, MOST * self.rows)}
        self.found = [one for one in self.found if one.column not in noisy]
        self.counts = Counter({name: count for name, count in self.counts.items() if name not in noisy})

    def _judge(self, *, last: bool) -> None:
        if not self._held:
            return
        lines = np.concatenate([one for one, _ in self._held])
        values = np.concatenate([one for _, one in self._held])
        end = len(lines) if last else len(lines) - MARGIN
        for place in self.places:
            column = np.ascontiguousarray(values[:, place])
            for row in np.flatnonzero(standing_alone(column)[self._done : end]) + self._done:
                self.counts[self.names[place]] += 1
                if len(self.found) < KEPT:
                    self.found.append(self._shown(place, column, lines, int(row)))
        keep = 0 if last else 2 * MARGIN
        self._held = [(lines[-keep:], values[-keep:])] if keep else []
        self._size, self._done = keep, keep - MARGIN if keep else 0

    def _shown(self, place: int, column: Floats, lines: Ints, row: int) -> Wild:
        known = np.flatnonzero(np.isfinite(column))
        at = int(np.searchsorted(known, row))
        return Wild(
            column=self.names[place],
            line=int(lines[row]),
            value=float(column[row]),
            before=float(column[known[at - 1]]) if at else None,
            after=float(column[known[at + 1]]) if at + 1 < known.size else None,
        )
