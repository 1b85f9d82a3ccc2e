"""Checksummed serial sentences, `$TAG,f1,f2*HH`: every line proves itself by the two digits at its end.

A line whose checksum is wrong, or lacks, is refused; the sentences of one kind are one table, and where there are
several kinds run.toml says which. Start at `FAMILY`.
"""

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from functools import reduce
from types import MappingProxyType

from headrace.files.loggers.base import KEY, Answers, Question, Unreadable
from headrace.files.loggers.front import Beside, Refused, Skip, Turned, fronted, sample_lines

SENTENCE = re.compile(
    r"(?P<before>[^$!]*)[$!](?P<body>(?P<tag>[^\W\d]\w*)(?P<sep>[,;])[^*$!]*)\*(?P<check>[0-9A-Fa-f]{2})\s*"
)
MOST = 0.5


def _xor(text: str) -> int:
    return reduce(lambda sum_, byte: sum_ ^ byte, text.encode("latin-1", "replace"), 0)


def _sum(text: str) -> int:
    return sum(text.encode("latin-1", "replace")) % 256


CHECKS: Mapping[str, Callable[[str], int]] = MappingProxyType({"XOR": _xor, "sum": _sum})
"""Of the bytes between the sign and the star."""


def claims(head: bytes, _name: str) -> bool:
    """True when most lines look like sentences."""
    lines = [line for line in sample_lines(head) if not line.lstrip().startswith("#")]
    return len(lines) >= 2 and sum(bool(SENTENCE.fullmatch(line)) for line in lines) >= MOST * len(lines)


class Sentences:
    """Front of one file of sentences."""

    certain = True

    def __init__(self, lines: Sequence[str], answers: Answers) -> None:
        found = [match for line in lines if (match := SENTENCE.fullmatch(line))]
        rights = {
            name: sum(check(one["body"]) == int(one["check"], 16) for one in found)
            for name, check in CHECKS.items()
        }
        self.check = max(rights, key=lambda name: rights[name])
        if not found or rights[self.check] < 0.5 * len(found):
            raise Unreadable(
                f"the two digits after the star are neither the XOR nor the sum of most lines ({len(found)} looked at)",
                try_="ask which checksum the logger writes, or export the log as delimited text",
            )
        tags = Counter(one["tag"] for one in found if self._right(one))
        self.tag = answers.table if answers.table is not None else tags.most_common(1)[0][0]
        self.questions: tuple[Question, ...] = ()
        if answers.table is None and len(tags) > 1:
            counts = ", ".join(f"{tag} ({count})" for tag, count in tags.most_common())
            self.questions = (Question(code="several-tables", candidates=tuple(tags), key=KEY + "table",
                                       text=f"there are several kinds of sentence: {counts}"),)  # fmt: skip
        if self.tag not in tags:
            text = f"no sentence is called '{self.tag}'"
            self.questions = (
                Question(code="several-tables", candidates=tuple(tags), key=KEY + "table", text=text),
            )
            self.tag = tags.most_common(1)[0][0]
        mine = [one for one in found if one["tag"] == self.tag]
        self.sep = mine[0]["sep"]
        self.separator = self.delimiter = {",": "comma", ";": "semicolon"}[self.sep]
        self.before = all(one["before"].strip() for one in mine)
        self.heading: tuple[str, ...] = ()
        self.begun = False

    def _right(self, one: re.Match[str]) -> bool:
        return CHECKS[self.check](one["body"]) == int(one["check"], 16)

    def changes(self) -> Mapping[str, object]:
        """Nothing: headings, where there are any, stand above the first sentence."""
        return {}

    def notes(self) -> tuple[str, ...]:
        """Which table, proved how."""
        return (f"the rows are the sentences {self.tag}; each is proved by its checksum ({self.check})",)

    def turn(self, line: str, _number: int) -> Turned:
        """The fields of a sentence of the table."""
        found = SENTENCE.fullmatch(line)
        if found is None:
            if not self.begun:
                words = line.lstrip("#%/ ").strip()
                tagged = re.match(rf"[$!]?{re.escape(self.tag)}\s*[:{self.sep}]\s*(?P<rest>.+)", words)
                return tagged["rest"] if tagged else words
            if not re.search(r"[$!*]", line):
                return Beside("text between the sentences")
            return Refused("no checksum" if line.count("$") + line.count("!") <= 1 else "merged lines")
        self.begun = True
        if not self._right(found):
            return Refused("the checksum is wrong")
        if found["tag"] != self.tag:
            return Beside(f"sentence {found['tag']}")
        fields = found["body"].split(self.sep)[1:]
        before = found["before"].strip().rstrip(",;").strip()
        if self.before:
            fields.insert(0, before)
        return self.sep.join(field.strip() for field in fields) if any(fields) else Skip()


FAMILY = fronted(title="checksummed sentences", suffixes=(".log", ".txt"), claims=claims, make=Sentences)
