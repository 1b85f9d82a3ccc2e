"""Lines of `name: value` pairs: the names that stand on most lines are the columns.

A line that lacks its last pair, holds a name twice, or names something else in place of a column is refused: parts of
it were lost. Further pairs beside all columns are left out and told. Start at `FAMILY`.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence

from headrace.files.loggers.base import Answers, Question, Unreadable
from headrace.files.loggers.front import Beside, Refused, Skip, Turned, cell, fronted, sample_lines
from headrace.files.loggers.headings import looks_like_unit
from headrace.files.loggers.timeforms import is_time_text

NAME = r"[^\W\d][^:=|;\t\"]{0,40}?"
PAIR = re.compile(rf"\s*(?P<name>{NAME})\s*(?::(?![:\\/])|=)\s*(?P<value>.*)")
LEAD = re.compile(
    r"\s*\[?(?P<clock>"
    r"(?:\d{1,4}[./-]\d{1,2}[./-]\d{1,4}[T ,]\s*)?\d{1,2}:\d{2}:\d{2}(?:[.,:]\d{1,9})?(?:\s*[AaPp][Mm]\b)?Z?)"
    r"\]?(?:\s*(?:->|[|,;:-](?=\s)|[|,;\t]|[A-Z]{3,}\b))*\s*(?=[^\W\d])"
)
"""A clock that leads the line, and what stands between it and the first name."""
GLUED = re.compile(r"(?P<number>[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(?P<unit>[^\d\s.,].*)")
SEPARATORS: Mapping[str, re.Pattern[str]] = {
    "pipe": re.compile(r"\|"),
    "semicolon": re.compile(r";"),
    "tab": re.compile(r"\t+"),
    "comma": re.compile(rf",\s*(?=(?:{NAME})\s*[:=])"),
    "spaces": re.compile(r"(?<!\s)\s++(?=[^\W\d]\w*(?:\s?[(\[][^()\[\]]*[)\]])?\s*[:=])"),
}
MOST = 0.6


def pairs_of(line: str, separator: str) -> list[tuple[str, str]] | None:
    """Names and values of a line, None where a part is no pair; a clock that leads the line is called time.

    >>> pairs_of("P1: 12.5 | P2: 3.1", "pipe")
    [('P1', '12.5'), ('P2', '3.1')]
    """
    lead = LEAD.match(line)
    clock = lead is not None and is_time_text(lead["clock"])
    found = [("time", lead["clock"])] if lead is not None and clock else []
    line = line[lead.end() :] if lead is not None and clock else line
    for part in SEPARATORS[separator].split(line.strip().rstrip("|;,")):
        match = PAIR.fullmatch(part)
        if match is None:
            return None
        found.append((match["name"].strip(), match["value"].rstrip()))
    return found


def _separator(lines: Sequence[str]) -> tuple[str, float]:
    """The separator under which most lines are pairs, and the share of lines."""
    best, most, share = "pipe", 0, 0.0
    for name in SEPARATORS:
        found = [pairs for line in lines if (pairs := pairs_of(line, name)) and len(pairs) >= 2]
        texts = ["".join(value for _, value in pairs if not is_time_text(value)) for pairs in found]
        weight = sum(not re.search(r"[|;\t:=]", text) and bool(re.search(r"\d", text)) for text in texts)
        if weight > most:
            best, most, share = name, weight, len(found) / len(lines)
    return best, share


def claims(head: bytes, _name: str) -> bool:
    """True when most lines are pairs and name the same things again and again."""
    lines = sample_lines(head)
    if len(lines) < 2:
        return False
    separator, share = _separator(lines)
    if share < MOST:
        return False
    found = [pairs for line in lines if (pairs := pairs_of(line, separator)) and len(pairs) >= 2]
    names = Counter(name for pairs in found for name, _ in pairs)
    return names.most_common(1)[0][1] >= max(2, 0.5 * len(found))


class Named:
    """Front of one file of pairs."""

    certain = False
    questions: tuple[Question, ...] = ()

    def __init__(self, lines: Sequence[str], _answers: Answers) -> None:
        filled = [line for line in lines if line.strip()]
        if not filled:
            raise Unreadable("the file has no line of pairs (zero rows)")
        self.separator = _separator(filled)[0]
        found = [pairs for line in filled if (pairs := pairs_of(line, self.separator))]
        rows = [pairs for pairs in found if len(pairs) >= 2] or found
        usual = Counter(tuple(sorted({name for name, _ in pairs})) for pairs in rows)
        if not usual:
            raise Unreadable("no line holds 'name: value' pairs (zero rows)")
        wanted = set(usual.most_common(1)[0][0])
        self.names = list(dict.fromkeys(name for pairs in rows for name, _ in pairs if name in wanted))
        self.units = {name: self._unit(name, rows) for name in self.names}
        titles = [f"{name} [{unit}]" if (unit := self.units[name]) else name for name in self.names]
        self.heading: tuple[str, ...] = ("\t".join(map(cell, titles)),)
        self.delimiter = "tab"
        self.begun = False
        self.extra: Counter[str] = Counter()
        self.missing: Counter[str] = Counter()

    @staticmethod
    def _unit(name: str, rows: Sequence[list[tuple[str, str]]]) -> str | None:
        """The unit that is glued to most values of one name."""
        values = [value for pairs in rows for one, value in pairs if one == name and value]
        glued = Counter(match["unit"] for value in values if (match := GLUED.fullmatch(value)))
        unit, count = glued.most_common(1)[0] if glued else ("", 0)
        return unit if count > 0.5 * len(values) and looks_like_unit(unit) else None

    def changes(self) -> Mapping[str, object]:
        """The names stand in line 1."""
        return {"header_line": 1}

    def notes(self) -> tuple[str, ...]:
        """Pairs beside the columns, pairs that lack."""
        said = [f"the lines are pairs of name and value; the columns are {', '.join(self.names)}"]
        if self.extra:
            names = ", ".join(f"{name} ({count} times)" for name, count in self.extra.most_common(10))
            said.append(f"pairs beside the columns are left out: {names}")
        if self.missing:
            names = ", ".join(f"{name} ({count} times)" for name, count in self.missing.most_common(10))
            said.append(f"pairs that lack on a line are missing values: {names}")
        return tuple(said)

    def turn(self, line: str, _number: int) -> Turned:
        """Values in the order of the columns."""
        pairs = pairs_of(line, self.separator)
        if pairs is None and not self.begun:
            return Skip()
        self.begun = True
        if pairs is None:
            return Refused("not pairs of name and value" if re.search(r"\d", line) else "text between data")
        names = [name for name, _ in pairs]
        values = dict(pairs)
        if len(values) < len(names):
            return Refused("a name stands twice")
        extra = [name for name in names if name not in self.units]
        lacking = [name for name in self.names if name not in values]
        if len(lacking) == len(self.names):
            return Beside("pairs of other names")
        if lacking and extra:
            return Refused(f"a name that is no column ({extra[0][:20]}) where {lacking[0]} lacks")
        if lacking and self.names[-1] in lacking:
            return Refused("too few fields")
        self.extra.update(extra)
        self.missing.update(lacking)
        return self._row(values)

    def _row(self, values: Mapping[str, str]) -> Turned:
        fields = []
        for name in self.names:
            value = values.get(name, "")
            glued = GLUED.fullmatch(value)
            if (unit := self.units[name]) and glued:
                if glued["unit"].strip().lower() != unit.lower():
                    return Refused(f"another unit ({name}: {glued['unit'].strip()[:12]})")
                value = glued["number"]
            elif unit and re.fullmatch(r"[\d.,eE+-]+", value):
                return Refused(f"a value without its unit ({name})")
            fields.append(cell(value))
        return "\t".join(fields)


FAMILY = fronted(title="lines of `name: value` pairs", suffixes=(".txt", ".log"), claims=claims, make=Named)
