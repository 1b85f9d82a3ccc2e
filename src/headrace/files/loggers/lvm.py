"""Measurement text with a header block per segment: key, tab, value, each block ended by `***End_of_Header***`.

The layout is documented openly: the first block says how numbers are written and which columns hold the time
(`X_Columns`), the block of a segment gives start and step per channel. Where those contradict the time column, or one
another, it is asked. Start at `FAMILY`.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from headrace.files.loggers.base import KEY, Answers, Question, Unreadable
from headrace.files.loggers.front import Beside, Refused, Restart, Skip, Turned, cell, fronted, sample_lines
from headrace.files.loggers.numbers import NumberForm, is_loose_number

END = "***End_of_Header***"
SPECIAL = re.compile(r"\*\*\*(?P<what>Start|End)_Special\*\*\*", re.IGNORECASE)
X_NAMES = ("x_value", "x-value", "x value")
CLOSE = 0.01
"""Steps by which times may differ and still be called the same."""
HALF = 0.5


def claims(head: bytes, _name: str) -> bool:
    """True when a header block ends as this layout ends it."""
    return any(line.startswith(END) for line in sample_lines(head, most=400))


@dataclass(slots=True)
class Block:
    """One header block: values by key, lower case."""

    keys: dict[str, list[str]] = field(default_factory=dict)
    titles: list[str] = field(default_factory=list)

    def add(self, cells: list[str]) -> None:
        """One line of the block."""
        if cells and cells[0]:
            values = cells[1:]
            while values and not values[-1]:
                values.pop()
            self.keys[cells[0].lower()] = values

    def numbers(self, key: str) -> list[float]:
        """Numbers of a key, in either decimal mark; what is no number is left out."""
        found = (NumberForm(".").read(text.replace(",", ".")) for text in self.keys.get(key, []))
        return [value for value in found if value is not None]

    def text(self, key: str) -> str:
        """First value of a key."""
        return (self.keys.get(key) or [""])[0]


class Lvm:
    """Front of one file. Where the reader stands: in a header block, at the titles, or among rows."""

    certain = False

    def __init__(self, lines: Sequence[str], answers: Answers) -> None:
        self.answers = answers
        ends = [place for place, line in enumerate(lines) if line.startswith(END)]
        self.file = Block()
        sign = {"comma": ",", "semicolon": ";"}.get(self._word(lines, "Separator"), "\t")
        self.sign = sign
        self.separator = {",": "comma", ";": "semicolon"}.get(sign, "tab")
        self.delimiter = "tab"
        for line in lines[: ends[0]] if ends else []:
            self.file.add(self._cells(line))
        self.heading: tuple[str, ...] = ("",)
        self.questions: tuple[Question, ...] = ()
        self.told: list[str] = []
        self.state, self.block, self.row, self.later = "file", self.file, 0, False
        self.comments = 0
        self.first = self._first_segment(lines, ends)
        self._plan(lines[(ends[1] if len(ends) > 1 else ends[0]) + 2 :] if ends else [])

    @staticmethod
    def _word(lines: Sequence[str], key: str) -> str:
        found = (re.match(rf"{key}[\t,;]\s*(\w+)", line) for line in lines)
        return next((match[1].lower() for match in found if match), "")

    def _cells(self, line: str) -> list[str]:
        return [text.strip().strip('"') for text in line.split(self.sign)]

    def _first_segment(self, lines: Sequence[str], ends: Sequence[int]) -> Block:
        """The block of the first segment, with its titles; the file's own where the segment has none."""
        if not ends:
            raise Unreadable("no header block ends in this file", try_="export the log as delimited text")
        block = Block()
        if len(ends) > 1:
            for line in lines[ends[0] + 1 : ends[1]]:
                block.add(self._cells(line))
        else:
            block = Block(dict(self.file.keys))
        place = ends[1] if len(ends) > 1 else ends[0]
        rest = [line for line in lines[place + 1 :] if line.strip()]
        if not rest:
            raise Unreadable("all headings are there, but no data row (zero rows)",
                             try_="look whether the logger recorded")  # fmt: skip
        block.titles = self._cells(rest[0])
        return block

    def _plan(self, rows: Sequence[str]) -> None:
        """Which fields of a row are times, channels and the comment, and what contradicts itself."""
        titles = list(self.first.titles)
        if all(is_loose_number(text) for text in titles if text):
            raise Unreadable(
                "no titles stand under the header block", try_="export the log as delimited text"
            )
        while titles and not titles[-1]:
            titles.pop()
        self.comment = titles[-1].lower() == "comment" if titles else False
        if self.comment:
            titles.pop()
        self.width = len(titles)
        x_places = [p for p, title in enumerate(titles) if title.lower() in X_NAMES]
        self.y_places = [p for p in range(len(titles)) if p not in x_places]
        style = self.file.text("x_columns").lower() or "one"
        more = next((n for n, line in enumerate(rows) if re.match(r"Channels[\t,;]", line)), len(rows))
        cells = [self._cells(line) for line in rows[:more] if line.strip() and not line.startswith("*")]
        cells = [row for row in cells if len(row) >= self.width and any(map(is_loose_number, row))]
        empty = bool(x_places) and bool(cells) and not any(row[x_places[0]] for row in cells)
        self.computed = style == "no" or empty or (not x_places and bool(self.first.numbers("delta_x")))
        self.x_places = [] if self.computed else x_places
        if style == "multi" and len(self.x_places) > 1 and self._same_times(cells):
            self.told.append("the time columns of all channels agree; the first is kept")
            self.x_same = self.x_places[1:]
            self.x_places = self.x_places[:1]
        else:
            self.x_same = []
        self._steps(cells)
        units = self.first.keys.get("y_unit_label", [])
        names = [titles[place] for place in self.y_places]
        ys = [
            f"{name} [{units[place]}]" if place < len(units) and units[place] else name
            for place, name in enumerate(names)
        ]
        timed = self.first.text("x_dimension").lower() in ("", "time")
        suffix = " [s]" if timed else ""
        xs = ["Delta_X" + suffix] if self.computed else [
            titles[p] + (f" {n + 1}" if n else "") + suffix for n, p in enumerate(self.x_places)
        ]  # fmt: skip
        self.clocks = [text.removesuffix(suffix) for text in xs]
        self.heading = ("\t".join(map(cell, [*xs, *ys])),)
        date, clock = self.first.text("date") or self.file.text("date"), self.first.text("time")
        if date:
            self.told.append(f"the first segment begins at {date} {clock}".rstrip())
        self.begins: list[str] = []

    def _number(self, text: str) -> float | None:
        value = NumberForm(".").read(text.replace(",", "."))
        return None if value is None or value != value else value

    def _same_times(self, cells: Sequence[list[str]]) -> bool:
        for row in cells:
            values = [self._number(row[place]) for place in self.x_places]
            if any(value is None or value != values[0] for value in values):
                return False
        return True

    def _steps(self, cells: Sequence[list[str]]) -> None:
        """Start and step of the channels against one another and against the time column."""
        starts, steps = self.first.numbers("x0"), self.first.numbers("delta_x")
        clocks = set(self.first.keys.get("time", []))
        self.step = steps[0] if steps else None
        self.wanted = "Delta_X" if self.answers.time_column == "Delta_X" else ""
        step = self.step or 0.0
        against = []
        if len({round(one, 12) for one in steps}) > 1:
            against.append(
                f"the channels have steps of their own ({', '.join(f'{one:g}' for one in steps[:4])} s)"
            )
        if len(clocks) > 1 or (starts and max(starts) - min(starts) > HALF * step):
            against.append("the channels start at times of their own")
        if self.x_places and len(cells) > 2 and steps:
            times = [t for row in cells if (t := self._number(row[self.x_places[0]])) is not None]
            mean = (times[-1] - times[0]) / max(len(times) - 1, 1) if times else 0.0
            if mean and abs(mean - step) > CLOSE * max(abs(step), abs(mean)):
                against.append(f"Delta_X says {step:g} s, the time column steps by {mean:g} s")
        if self.computed and not step:
            text = "no column is a time, and Delta_X gives no step"
            if self.answers.sample_rate is None:
                self.questions = (Question(code="no-time-column", text=text, candidates=(),
                                           key=KEY + "sample_rate"),)  # fmt: skip
        elif against:
            names = (*(self.first.titles[place] for place in self.x_places[:1]), "Delta_X")
            if self.answers.time_column is None:
                self.questions = (Question(code="step-contradicts", text="; ".join(against), candidates=names,
                                           key=KEY + "time_column"),)  # fmt: skip
            self.told += against
        if self.wanted:
            self.computed, self.x_same, self.x_places = True, [*self.x_same, *self.x_places], []

    def changes(self) -> Mapping[str, object]:
        """Names in line 1; the decimal mark that the header states, where the rows hold it."""
        decimal = {",": "comma", ".": "point"}.get(self.file.text("decimal_separator"))
        clock = self.answers.time_column
        if len(self.clocks) == 1 and clock in (None, "Delta_X"):
            clock = self.clocks[0]
        return {
            "header_line": 1,
            "decimal": self.answers.decimal or decimal,
            "thousands": self.answers.thousands or "",
            "time_column": clock,
        }

    def notes(self) -> tuple[str, ...]:
        """Start, contradictions, comments."""
        said = f"{self.comments} comment(s) stand beside rows and are left out"
        later = [f"further segments begin at {', '.join(self.begins)}"] if any(self.begins) else []
        return (*self.told, *later, *((said,) if self.comments else ()))

    def turn(self, line: str, _number: int) -> Turned:
        """Time and channels of a row; header blocks begin a segment."""
        special = SPECIAL.match(line)
        if special or self.state == "special":
            self.state = "special" if not special or special["what"].lower() == "start" else "rows"
            return Beside("special block")
        if self.state in ("file", "block"):
            return self._in_block(line)
        cells = self._cells(line)
        if self.state == "titles":
            if cells and cells[0].lower() in ("channels", "samples"):  # the block of the first segment
                self.state = "block"
                return self._in_block(line)
            self.state, self.row = "rows", 0
            self.block.titles = cells
            return Skip() if not self.later else Beside("titles of a segment")
        if cells and cells[0].lower() == "channels":
            self.state, self.block = "block", Block()
            self.later = True
            self.block.add(cells)
            return Restart()
        return self._row(cells)

    def _in_block(self, line: str) -> Turned:
        if line.startswith(END):
            self.state = "titles"
            if self.later and len(self.begins) < 20:
                self.begins.append(f"{self.block.text('date')} {self.block.text('time')}".strip())
            return Skip() if not self.later else Beside("header block of a segment")
        if self.state == "block":
            self.block.add(self._cells(line))
        return Skip() if not self.later else Beside("header block of a segment")

    def _row(self, cells: list[str]) -> Turned:
        place, self.row = self.row, self.row + 1
        block = self.block if self.later else self.first
        if [one for one in block.titles if one] != [one for one in self.first.titles if one]:
            return Refused("a segment of other channels")
        filled = len(cells)
        if filled < self.width:
            return Refused("too few fields")
        if any(cells[self.width + self.comment :]):
            return Refused("too many fields")
        self.comments += bool(self.comment and filled > self.width and cells[self.width])
        if any(cells[p] != cells[0] and self._number(cells[p]) != self._number(cells[0]) for p in self.x_same
               if not self.wanted):  # fmt: skip
            return Refused("the times of the channels differ")
        ys = [cells[p] for p in self.y_places]
        if not self.computed:
            return "\t".join([*(cells[p] for p in self.x_places), *ys])
        steps, starts = block.numbers("delta_x"), block.numbers("x0")
        if not steps:
            return "\t".join([str(place), *ys])
        time = f"{(starts[0] if starts else 0.0) + place * steps[0]:.9f}"
        return "\t".join([time.replace(".", "," if self.file.text("decimal_separator") == "," else "."), *ys])


FAMILY = fronted(
    title="measurement text with `***End_of_Header***`", suffixes=(".lvm", ".txt"), claims=claims, make=Lvm
)
