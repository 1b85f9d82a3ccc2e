"""One line into its fields, by delimiter, with quotes respected.

Fields come back without the blanks and quotes around them. A line whose quotes do not pair is refused with None.
Start at `Splitter`.
"""

import csv
import re
from dataclasses import dataclass

from headrace.files.loggers.base import DELIMITERS

WHOLE = re.compile(r"[+-]?\d+")
TAIL = re.compile(r"\d+(?:[eE][+-]?\d+)?")


@dataclass(frozen=True, slots=True)
class Splitter:
    """delimiter: key of `DELIMITERS`; pairs: two whole numbers around a comma are one number with decimal comma."""

    delimiter: str
    pairs: bool = False

    def split(self, line: str) -> list[str] | None:
        """Fields of the line; None when quotes do not pair.

        >>> Splitter("comma").split('0.1, "2,5" ,x')
        ['0.1', '2,5', 'x']
        """
        mark = DELIMITERS[self.delimiter]
        if '"' in line:
            return self._quoted(line, mark)
        if self.delimiter == "spaces":
            return line.split()
        if not mark:
            return [line.strip()]
        fields = [item.strip() for item in line.split(mark)]
        return _paired(fields) if self.pairs else fields

    def _quoted(self, line: str, mark: str) -> list[str] | None:
        try:
            fields = next(csv.reader([line.strip(" ")], delimiter=mark or "\x1f", skipinitialspace=True))
        except (csv.Error, StopIteration):
            return None
        if line.count('"') % 2 or any('"' in item for item in fields):
            return None
        if self.delimiter == "spaces":
            fields = [item for item in fields if item]
        return [item.strip() for item in fields]


def _paired(fields: list[str]) -> list[str]:
    """Whole number, comma, digits: one number. A field that is no whole number stands alone."""
    joined, index = [], 0
    while index < len(fields):
        if index + 1 < len(fields) and WHOLE.fullmatch(fields[index]) and TAIL.fullmatch(fields[index + 1]):
            joined.append(fields[index] + "," + fields[index + 1])
            index += 2
        else:
            joined.append(fields[index])
            index += 1
    return joined
