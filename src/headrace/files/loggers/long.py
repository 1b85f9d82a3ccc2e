"""One value a line, with the name of its channel beside it: the lines of one round are one row.

The names must come round in one order, and what else stands on the lines of a round (the time) must agree; a round in
which they do not is refused. Where the sample has no rounds, run.toml says which channel is meant. Start at `FAMILY`.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from headrace.files.loggers.base import KEY, Answers, Question, Unreadable
from headrace.files.loggers.front import Beside, Refused, Skip, Turned, cell, fronted, sample_lines
from headrace.files.loggers.named import PAIR
from headrace.files.loggers.numbers import is_loose_number
from headrace.files.loggers.split import Splitter
from headrace.files.loggers.timeforms import is_time_text

MANY = 40
MOST = 0.9
ROUNDS = 0.75
"""Share of the lines that must stand in whole rounds."""
TAG_WORDS = re.compile(r"\b(?:channel|tag|sensor|signal|parameter|variable|quantity|kanal)\b", re.IGNORECASE)
PART = "part of a row"


class Plan(NamedTuple):
    """Fields of a line, the place of the name and of the value, and the names in their order."""

    delimiter: str
    width: int
    name: int
    value: int
    tags: tuple[str, ...]
    rounds: bool


def _fields(line: str, delimiter: str) -> list[str] | None:
    if delimiter == "pair":
        found = PAIR.fullmatch(line)
        return [found["name"].strip(), found["value"].rstrip()] if found else None
    return Splitter(delimiter).split(line)


def _valued(text: str) -> bool:
    return is_loose_number(text) or is_time_text(text)


def plan_of(lines: Sequence[str]) -> Plan | None:
    """How names and values alternate; None where no column of words names channels."""
    for delimiter in ("pair", "comma", "semicolon", "tab", "pipe", "spaces"):
        rows = [
            fields for line in lines if (fields := _fields(line, delimiter)) and any(map(_valued, fields))
        ]
        if len(rows) < max(6, 0.6 * len(lines)):
            continue
        width = Counter(map(len, rows)).most_common(1)[0][0]
        rows = [row for row in rows if len(row) == width]
        plan = _plan(lines, delimiter, rows, width) if width >= 2 and len(rows) >= 6 else None
        if plan is not None:
            return plan
    return None


def _plan(lines: Sequence[str], delimiter: str, rows: Sequence[list[str]], width: int) -> Plan | None:
    titles = next((one for line in lines if (one := _fields(line, delimiter)) and len(one) == width
                   and not any(map(_valued, one))), [""] * width)  # fmt: skip
    for place in range(width):
        texts = [row[place] for row in rows]
        tags = list(dict.fromkeys(texts))
        if not 2 <= len(tags) <= MANY or 3 * len(tags) > len(texts) or any(map(_valued, tags)) or "" in tags:
            continue
        if not all(any(sign.isalpha() for sign in tag) for tag in tags):
            continue  # "0;4" is a number on either side of another delimiter, no name
        changes = sum(a != b for a, b in pairwise(texts)) / (len(texts) - 1)
        if changes < MOST and not TAG_WORDS.search(titles[place]):
            continue
        values = [
            p
            for p in range(place + 1, width)
            if sum(is_loose_number(row[p]) for row in rows) >= MOST * len(rows)
        ]
        if not values:
            continue
        count = len(tags)
        parts = (rows[at : at + count] for at in range(len(rows) - count + 1))
        good = sum([row[place] for row in part] == tags and _agree(part, place, values[0]) for part in parts)
        rounds = good * count >= ROUNDS * len(rows)
        return Plan(delimiter, width, place, values[0], tuple(tags), rounds)
    return None


def _agree(part: Sequence[list[str]], name: int, value: int) -> bool:
    """Whether all but name and value is the same on the lines of a round; a unit may differ."""
    others = [p for p in range(len(part[0])) if p not in (name, value) and _valued(part[0][p])]
    return all(len({row[p] for row in part}) == 1 for p in others)


def claims(head: bytes, _name: str) -> bool:
    """True when a column of words names the channel of each line."""
    lines = sample_lines(head)
    return len(lines) >= 6 and plan_of(lines) is not None


class Long:
    """Front of one file. Holds the lines of a round until its last name has come."""

    certain = False

    def __init__(self, lines: Sequence[str], answers: Answers) -> None:
        plan = plan_of([line for line in lines if line.strip()])
        if plan is None:
            raise Unreadable("no column of words names the channel of each line")
        self.plan = plan
        self.separator = "none" if plan.delimiter == "pair" else plan.delimiter
        self.delimiter = "tab"
        self.table = answers.table
        self.questions: tuple[Question, ...] = ()
        if (self.table is None and not plan.rounds) or (
            self.table is not None and self.table not in plan.tags
        ):
            text = f"each line names its channel ({', '.join(plan.tags[:8])}), and they do not come in equal rounds"
            text += '; where the word is a state only, write family = "delimited"'
            self.questions = (
                Question(code="several-tables", text=text, candidates=plan.tags, key=KEY + "table"),
            )
            self.table = plan.tags[0]
        self.names = plan.tags if self.table is None else (self.table,)
        sample = next(fields for line in lines if (fields := self._row(line)) is not None)
        titles = next((one for line in lines if (one := _fields(line, plan.delimiter)) and len(one) == plan.width
                       and not any(map(_valued, one))), [""] * plan.width)  # fmt: skip
        self.others = [
            p for p in range(plan.width) if p not in (plan.name, plan.value) and _valued(sample[p])
        ]
        heads = [titles[p] or ("time" if is_time_text(sample[p]) else f"column {p + 1}") for p in self.others]
        self.heading: tuple[str, ...] = ("\t".join(map(cell, [*heads, *self.names])),)
        self.held: list[list[str]] = []
        self.begun = False
        self.line = self.broken = 0
        self.where: list[str] = []

    def _break(self) -> None:
        """What was held of a round is given up."""
        if self.held:
            self.broken += 1
            self.where += [str(self.line)] if len(self.where) < 10 else []
        self.held = []

    def _row(self, line: str) -> list[str] | None:
        fields = _fields(line, self.plan.delimiter)
        good = fields is not None and len(fields) == self.plan.width and any(map(_valued, fields))
        return fields if good else None

    def changes(self) -> Mapping[str, object]:
        """The names stand in line 1."""
        return {"header_line": 1}

    def notes(self) -> tuple[str, ...]:
        """How lines became rows."""
        if self.table is not None:
            return (f"each line names its channel; only {self.table} is read",)
        said = f"each line names its channel; {len(self.names)} lines are one row: {', '.join(self.names)}"
        lost = f"{self.broken} round(s) are not whole, and are not used (before line {', '.join(self.where)})"
        return (said, *((lost,) if self.broken else ()))

    def turn(self, line: str, number: int) -> Turned:
        """A row once its round is whole."""
        self.line = number
        fields = self._row(line)
        if fields is None:
            self._break()
            if not self.begun:
                return Skip()
            return Refused("text between data" if not re.search(r"\d", line) else "not a name and its value")
        self.begun = True
        tag = fields[self.plan.name]
        if tag not in self.plan.tags:
            self._break()
            return Refused(f"an unknown name ({tag[:20]})")
        if self.table is not None:
            return self._joined([fields]) if tag == self.table else Beside(f"channel {tag}")
        if tag != self.names[len(self.held)]:
            self._break()
            if tag != self.names[0]:
                return Refused("a round that is not whole")
        self.held.append(fields)
        if len(self.held) < len(self.names):
            return Beside(PART)
        whole, self.held = self.held, []
        if not _agree(whole, self.plan.name, self.plan.value):
            return Refused("the lines of a round do not agree")
        return self._joined(whole)

    def _joined(self, whole: Sequence[list[str]]) -> str:
        last = whole[-1]
        return "\t".join(
            map(cell, [*(last[p] for p in self.others), *(row[self.plan.value] for row in whole)])
        )


FAMILY = fronted(
    title="one value a line, with its channel's name", suffixes=(".csv", ".txt"), claims=claims, make=Long
)
