"""Records packed into a quoted field that holds a comma list: split where every record packs as many numbers.

A field that holds a whole block of samples, or lists of unlike length, is refused: nothing says how fast the samples
followed each other, or which are missing. Start at `FAMILY`.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence

from headrace.files.loggers.base import Answers, Question, Unreadable
from headrace.files.loggers.front import Refused, Turned, cell, fronted, sample_lines
from headrace.files.loggers.headings import split_unit
from headrace.files.loggers.numbers import is_loose_number
from headrace.files.loggers.split import Splitter
from headrace.files.loggers.timeforms import is_time_text

BLOCK = 32
"""Numbers in one field beyond which they are samples, not channels."""
MOST = 0.6


def _items(field: str) -> list[str] | None:
    """The numbers of a packed field, None where it is one text or one number with a decimal comma."""
    parts = [part.strip() for part in re.split(r"[,;]", field)]
    good = all(is_loose_number(part) or is_time_text(part) for part in parts)
    plain = len(parts) > 2 or (len(parts) == 2 and any("." in part or ":" in part for part in parts))
    whole = is_loose_number(field) or ".," in field  # one number with marks between its thousands
    return parts if good and plain and not whole else None


def _packed(line: str, delimiter: str) -> list[tuple[str, list[str] | None]] | None:
    """Fields of a line with the items of packed ones; None where nothing is packed."""
    if '"' not in line:
        return None
    fields = Splitter(delimiter).split(line)
    if fields is None:
        return None
    found = [(field, _items(field)) for field in fields]
    return found if any(items for _, items in found) else None


def _delimiter(lines: Sequence[str]) -> tuple[str, Counter[tuple[int, ...]]]:
    """The delimiter between fields, and the counts of items per field of the lines that pack any."""
    best: tuple[str, Counter[tuple[int, ...]]] = ("comma", Counter())
    for delimiter in ("comma", "semicolon", "tab"):
        shapes = Counter(
            tuple(len(items) if items else 1 for _, items in found)
            for line in lines if (found := _packed(line, delimiter))
        )  # fmt: skip
        if shapes.total() > best[1].total():
            best = delimiter, shapes
    return best


def claims(head: bytes, _name: str) -> bool:
    """True when most lines hold a quoted list of numbers."""
    lines = sample_lines(head)
    return len(lines) >= 2 and _delimiter(lines)[1].total() >= MOST * len(lines)


class Packed:
    """Front of one file of packed records."""

    certain = False
    questions: tuple[Question, ...] = ()

    def __init__(self, lines: Sequence[str], _answers: Answers) -> None:
        self.separator, shapes = _delimiter(lines)
        self.delimiter = "tab"
        self.heading: tuple[str, ...] = ()
        if not shapes:
            raise Unreadable("no field holds a quoted list of numbers")
        self.shape, count = shapes.most_common(1)[0]
        if max(self.shape) > BLOCK or count < 0.5 * shapes.total():
            raise Unreadable(
                "a quoted field holds a whole block of samples, and nothing says how fast they followed each other",
                try_="export one sample a line",
            )
        self.splitter = Splitter(self.separator)
        self.begun = False

    def changes(self) -> Mapping[str, object]:
        """Nothing: headings stand in the turned lines."""
        return {}

    def notes(self) -> tuple[str, ...]:
        """What was split."""
        where = ", ".join(f"field {n + 1} into {size}" for n, size in enumerate(self.shape) if size > 1)
        return (f"quoted fields that hold a list are split: {where}",)

    def turn(self, line: str, _number: int) -> Turned:
        """The record with its packed fields spread out."""
        found = _packed(line, self.separator)
        if found is not None and tuple(len(items) if items else 1 for _, items in found) == self.shape:
            self.begun = True
            return "\t".join(cell(part) for field, items in found for part in (items or [field]))
        if not self.begun:
            return self._heading(line)
        fields = self.splitter.split(line)
        if fields is None:
            return Refused("unbalanced quotes")
        if any(is_loose_number(part) for field in fields for part in re.split(r"[,; ]+", field)):
            return Refused("a packed field of another length")
        return self._heading(line)

    def _heading(self, line: str) -> str:
        fields = self.splitter.split(line) or [line]
        if len(fields) != len(self.shape):
            return "\t".join(map(cell, fields))
        spread: list[str] = []
        for field, size in zip(fields, self.shape, strict=True):
            parts = [part.strip() for part in re.split(r"[,;]", field)]
            if size > 1 and len(parts) != size:
                name, unit = split_unit(field)
                bracket = f" [{unit}]" if unit else ""
                parts = [f"{name} {n + 1}{bracket}" for n in range(size)]
            spread += parts if size > 1 else [field]
        return "\t".join(map(cell, spread))


FAMILY = fronted(title="records packed into quoted fields", suffixes=(".csv",), claims=claims, make=Packed)
