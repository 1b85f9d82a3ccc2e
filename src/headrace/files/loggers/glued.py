"""Numbers with their unit glued to them, "5.25bar": the unit goes to the heading, the number stays.

A value with another unit than its column's, or with none, is refused with its line. Start at `FAMILY`.
"""

from collections import Counter
from collections.abc import Mapping, Sequence

from headrace.files.loggers.base import Answers, Question, Unreadable
from headrace.files.loggers.front import Refused, Turned, cell, fronted, sample_lines
from headrace.files.loggers.headings import looks_like_unit, split_unit
from headrace.files.loggers.named import GLUED
from headrace.files.loggers.numbers import is_loose_number, is_word
from headrace.files.loggers.split import Splitter
from headrace.files.loggers.timeforms import is_time_text

MOST = 0.6


def units_of(lines: Sequence[str]) -> tuple[str, tuple[str, ...]] | None:
    """The delimiter and the unit of each column ("" where none is glued); None where hardly any line glues."""
    for delimiter in ("semicolon", "tab", "pipe", "comma", "spaces"):
        splitter = Splitter(delimiter)
        rows = [fields for line in lines if (fields := splitter.split(line)) and len(fields) >= 2]
        rows = [row for row in rows if any(map(unit_of, row))]
        if len(rows) < max(2, MOST * len(lines)):
            continue
        width = Counter(map(len, rows)).most_common(1)[0][0]
        rows = [row for row in rows if len(row) == width]
        if len(rows) < max(2, MOST * len(lines)):
            continue
        units = []
        for column in zip(*rows, strict=True):
            unit, count = Counter(map(unit_of, column)).most_common(1)[0]
            units.append(unit if count > MOST * len(rows) else "")
        if any(units):
            return delimiter, tuple(units)
    return None


def unit_of(text: str) -> str:
    """The unit glued to a number, "" where there is none."""
    found = GLUED.fullmatch(text)
    if found is None or is_time_text(text) or is_loose_number(text) or not looks_like_unit(found["unit"]):
        return ""
    return found["unit"].strip()


def claims(head: bytes, _name: str) -> bool:
    """True when the fields of most lines are numbers with a unit."""
    lines = sample_lines(head)
    return len(lines) >= 3 and units_of(lines) is not None


class Glued:
    """Front of one file of numbers with units."""

    certain = False
    questions: tuple[Question, ...] = ()

    def __init__(self, lines: Sequence[str], _answers: Answers) -> None:
        found = units_of([line for line in lines if line.strip()])
        if found is None:
            raise Unreadable("no units are glued to the numbers of most lines")
        self.separator, self.units = found
        self.delimiter = "tab"
        self.splitter = Splitter(self.separator)
        self.begun = False
        first = next((line for line in lines if line.strip()), "")
        titles = [f"column {n + 1}" + (f" [{unit}]" if unit else "") for n, unit in enumerate(self.units)]
        self.heading: tuple[str, ...] = (
            ("\t".join(titles),) if any(map(unit_of, self.splitter.split(first) or [])) else ()
        )

    def changes(self) -> Mapping[str, object]:
        """The headings are the file's own, where it has any."""
        return {"header_line": 1} if self.heading else {}

    def notes(self) -> tuple[str, ...]:
        """The units found."""
        return ("units are glued to the numbers: " + ", ".join(unit or "none" for unit in self.units),)

    def turn(self, line: str, _number: int) -> Turned:
        """The numbers without their units."""
        fields = self.splitter.split(line)
        if fields is None:
            return Refused("unbalanced quotes")
        if not self.begun and not any(map(unit_of, fields)):
            return "\t".join(cell(self._title(place, text, len(fields))) for place, text in enumerate(fields))
        self.begun = True
        turned = []
        for place, text in enumerate(fields):
            wanted, unit = self.units[place] if place < len(self.units) else "", unit_of(text)
            if wanted and not unit and not is_word(text):
                return Refused(f"a value without its unit ({text[:20]})")
            if unit and unit.lower() != wanted.lower():
                return Refused(f"another unit ({text[:20]})")
            found = GLUED.fullmatch(text) if unit else None
            turned.append(cell(found["number"] if found else text))
        return "\t".join(turned)

    def _title(self, place: int, text: str, count: int) -> str:
        if count != len(self.units) or not text or not self.units[place] or split_unit(text)[1] is not None:
            return text
        return f"{text} [{self.units[place]}]"


FAMILY = fronted(
    title="numbers with units glued to them", suffixes=(".csv", ".txt"), claims=claims, make=Glued
)
