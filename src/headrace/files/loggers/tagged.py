"""Records that repeat words in every line: tag, value, tag, value; the tags name the columns.

A line whose tag is another than its column's is refused: its value may be another channel's. Start at `FAMILY`.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from headrace.files.loggers.base import Answers, Question, Unreadable
from headrace.files.loggers.front import Refused, Skip, Turned, cell, fronted, sample_lines
from headrace.files.loggers.headings import looks_like_unit
from headrace.files.loggers.numbers import is_loose_number
from headrace.files.loggers.split import Splitter
from headrace.files.loggers.timeforms import is_time_text

TAG = re.compile(r"[^\W\d][\w .()\[\]/%°-]{0,40}")
MOST = 0.8


class Plan(NamedTuple):
    """Where the words stand: place and word; fields that stay, each with its title; fields of a line."""

    delimiter: str
    words: tuple[tuple[int, str], ...]
    kept: tuple[int, ...]
    titles: tuple[str, ...]
    width: int


def _valued(text: str) -> bool:
    return is_loose_number(text) or is_time_text(text)


def plan_of(lines: Sequence[str]) -> Plan | None:
    """How the words repeat; None where they do not: at least two tags, each before a number."""
    for delimiter in ("comma", "semicolon", "tab", "pipe", "spaces"):
        rows = [fields for line in lines if (fields := Splitter(delimiter).split(line)) and len(fields) >= 4]
        if len(rows) < MOST * len(lines) or not rows:
            continue
        width = Counter(map(len, rows)).most_common(1)[0][0]
        rows = [row for row in rows if len(row) == width and any(map(_valued, row))]
        if len(rows) < max(2, MOST * len(lines)):
            continue
        plan = _plan(delimiter, rows, width)
        if plan is not None:
            return plan
    return None


def _plan(delimiter: str, rows: Sequence[list[str]], width: int) -> Plan | None:
    usual = [Counter(row[place] for row in rows).most_common(1)[0] for place in range(width)]
    constant = {place: text for place, (text, count) in enumerate(usual)
                if count >= MOST * len(rows) and TAG.fullmatch(text) and not _valued(text)}  # fmt: skip
    valued = {place for place in range(width) if sum(_valued(row[place]) for row in rows) >= MOST * len(rows)}
    ends = max(constant.keys() | valued, default=0)
    tags = {place: text for place, text in constant.items() if place + 1 in valued and (
        place - 1 not in valued or ends in valued)}  # fmt: skip
    if len(tags) < 2 or len(set(tags.values())) < len(tags):
        return None
    kept = tuple(place for place in range(width) if place not in constant)
    titles = []
    for place in kept:
        name = tags.get(place - 1, "time" if place == 0 and is_time_text(rows[0][0]) else "")
        unit = constant.get(place + 1, "")
        bracket = f" [{unit}]" if place + 1 not in tags and unit and looks_like_unit(unit) else ""
        titles.append(cell((name or f"column {place + 1}") + bracket))
    return Plan(delimiter, tuple(sorted(constant.items())), kept, tuple(titles), width)


def claims(head: bytes, _name: str) -> bool:
    """True when most lines repeat the same words before their numbers."""
    lines = sample_lines(head)
    return len(lines) >= 3 and plan_of(lines) is not None


class Tagged:
    """Front of one file of tags and values."""

    certain = False
    questions: tuple[Question, ...] = ()

    def __init__(self, lines: Sequence[str], _answers: Answers) -> None:
        self.begun = False
        plan = plan_of([line for line in lines if line.strip()])
        if plan is None:
            raise Unreadable("no words repeat before the numbers of each line")
        self.plan = plan
        self.separator = plan.delimiter
        self.delimiter = "tab"
        self.splitter = Splitter(plan.delimiter)
        self.heading: tuple[str, ...] = ("\t".join(plan.titles),)

    def changes(self) -> Mapping[str, object]:
        """The tags stand in line 1."""
        return {"header_line": 1}

    def notes(self) -> tuple[str, ...]:
        """Which words name the columns."""
        words = ", ".join(dict.fromkeys(text for _, text in self.plan.words))
        return (f"the words that every line repeats name the columns and are left out: {words}",)

    def turn(self, line: str, _number: int) -> Turned:
        """The fields that are no tags, once all tags are the right ones."""
        fields = self.splitter.split(line)
        if fields is None:
            return Refused("unbalanced quotes")
        if not any(map(_valued, fields)):
            return Refused("text between data") if self.begun else Skip()
        self.begun = True
        if len(fields) != self.plan.width and any(fields[self.plan.width :] or [True]):
            return Refused("too few fields" if len(fields) < self.plan.width else "too many fields")
        wrong = next(((p, text) for p, text in self.plan.words if fields[p] != text), None)
        if wrong is not None:
            return Refused(f"another word than {wrong[1]} ({fields[wrong[0]][:20]})")
        return "\t".join(cell(fields[place]) for place in self.plan.kept)


FAMILY = fronted(
    title="tag and value in turn on every line", suffixes=(".txt", ".csv", ".log"), claims=claims, make=Tagged
)
