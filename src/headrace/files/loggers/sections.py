"""Sections by words in brackets, [HEADER] ... [DATA] ... [FOOTER]: only those of data hold rows.

Numbers of a footer or of a header in mid-file are never read as rows; a header in mid-file begins a segment. Start at
`FAMILY`.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence

from headrace.files.loggers.base import Answers, Question
from headrace.files.loggers.front import Beside, Restart, Skip, Turned, fronted, sample_lines
from headrace.files.loggers.headings import looks_like_unit

WORD = re.compile(
    r"\s*(?:\[(?P<name>[^\W\d][\w .-]{1,40})\]|<(?P<angle>DATA|HEADER|END)>)[\s,;\t]*", re.IGNORECASE
)
DATA = re.compile(r"(?:begin[ _]?)?(?:data|values|samples|measurements?|records?|rows|log)(?:[ _-]?(?:section|\d+))?",
                  re.IGNORECASE)  # fmt: skip
MARK = "== the logger began anew =="


def word_of(line: str) -> str | None:
    """The section that a line opens, None where it opens none; a unit in brackets opens none.

    >>> word_of("[DATA],,"), word_of("[bar]"), word_of("[1,2]")
    ('DATA', None, None)
    """
    found = WORD.fullmatch(line)
    name = (found["name"] or found["angle"]) if found else None
    return None if name is None or looks_like_unit(name) else name.strip()


def claims(head: bytes, _name: str) -> bool:
    """True when a section of data is opened by its word."""
    return any(DATA.fullmatch(word) for line in sample_lines(head, 2000) if (word := word_of(line)))


class Sections:
    """Front of one file of sections."""

    certain = False
    questions: tuple[Question, ...] = ()

    def __init__(self, lines: Sequence[str], _answers: Answers) -> None:
        self.heading: tuple[str, ...] = (MARK,)
        opens = next((place for place, line in enumerate(lines)
                      if (word := word_of(line)) and DATA.fullmatch(word)), -1)  # fmt: skip
        words = [line for line in lines[opens + 1 :] if line.strip()][:12]
        self.delimiter = self.separator = ""
        self.section = ""
        self.any_data = False
        self.seen: Counter[str] = Counter()
        first = next(iter(words), "")
        self.keep_above = not re.search(r"[^\W\d]{2,}", re.sub(r"\d[eE][+-]?\d", "", first))

    def changes(self) -> Mapping[str, object]:
        """Nothing: the table of data is like any other."""
        return {}

    def notes(self) -> tuple[str, ...]:
        """Which sections there are."""
        return ("sections: " + ", ".join(f"[{name}]" for name in self.seen),)

    def turn(self, line: str, _number: int) -> Turned:
        """A line of data as it is; headings and footers by their section."""
        word = word_of(line)
        if word is not None:
            self.seen[word] += 1
            again = self.any_data and not DATA.fullmatch(self.section)
            self.section = word
            if DATA.fullmatch(word):
                if self.any_data and not again:
                    return Restart()
                self.any_data = True
                return Beside("section word") if again else Skip()
            return Restart() if self.any_data and self.seen[word] > 1 else self._word()
        if DATA.fullmatch(self.section):
            return line
        if self.any_data:
            return Beside(f"section [{self.section}]")
        return line if self.keep_above else Skip()

    def _word(self) -> Turned:
        return Beside("section word") if self.any_data else Skip()


FAMILY = fronted(
    title="sections by words in brackets", suffixes=(".txt", ".csv", ".dat"), claims=claims, make=Sections
)
