"""The dialect of a delimited text file, from its first lines: or what must be asked to know it.

The delimiter is the one under which most fields of most lines are numbers or times; the data begin at the first line
that has its field count and its kinds. Start at `sniff`.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from headrace.files.loggers.base import DELIMITERS, KEY, MARKS, Answers, Dialect, Question, Unreadable
from headrace.files.loggers.headings import Found, find_headings, name_columns, split_unit
from headrace.files.loggers.numbers import (
    APART,
    MarkVerdict,
    NumberForm,
    is_loose_number,
    is_word,
    judge_marks,
    tail_shape,
)
from headrace.files.loggers.split import Splitter
from headrace.files.loggers.timeaxis import Column, choose_axis
from headrace.files.loggers.timeforms import is_time_text

LINES = 1000
"""Lines that settle the dialect."""

MOST_COLUMNS = 10_000
"""No logger has more channels; a line with more fields is something else."""

FIRST_LOOK = 200
"""Lines that choose the delimiter; all of them only where these hold no record."""

ODD = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
NAME_VALUE = re.compile(
    r"^\s*[A-Za-z_][\w .()/%-]*:\s*[-+]?[\d.,]+[^|:]*(?:\|\s*[A-Za-z_][\w .()/%-]*:[^|]*)+\|?\s*$"
)


@dataclass(frozen=True, slots=True)
class Sniffed:
    """The dialect, what it leaves open, and what should be said about it."""

    dialect: Dialect
    questions: tuple[Question, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the sample that can be a record."""

    index: int
    fields: list[str]


@dataclass(frozen=True, slots=True)
class Shape:
    """A delimiter, the field count of its records, and those records."""

    splitter: Splitter
    width: int
    records: list[Line]
    score: float


def _valued(text: str) -> bool:
    return is_loose_number(text) or is_time_text(text)


def _share(fields: list[str]) -> float:
    """Numbers and times among the filled fields, 0 to 1; 0 too when there are none."""
    filled = [text for text in fields if text]
    if not filled:
        return 0.0
    valued = sum(map(_valued, filled))
    timed = valued >= 2 and any(map(is_time_text, filled))
    share = valued / len(filled)
    return share if share >= 0.5 or (timed and share >= 0.25) else 0.0


def _shape(lines: Sequence[str], splitter: Splitter) -> Shape:
    groups: dict[int, list[Line]] = {}
    scores: Counter[int] = Counter()
    weights: dict[int, float] = {}
    for index, text in enumerate(lines):
        fields = None if ODD.search(text) or not text.strip() else splitter.split(text)
        share = _share(fields) if fields else 0.0
        if fields and share:
            count = len(fields)
            groups.setdefault(count, []).append(Line(index, fields))
            worth = 0.5 if splitter.delimiter == "spaces" and "\t" in text else 1.0
            weights[count] = weights.get(count, 0.0) + worth * share**2 * sum(1 for item in fields if item)
            scores[count] += 1
    if not groups:
        return Shape(splitter, 0, [], 0.0)
    width = max(weights, key=lambda count: (weights[count], scores[count]))
    return Shape(splitter, width, groups[width], weights[width])


def _best(lines: Sequence[str], delimiters: Sequence[str]) -> Shape:
    return max(
        (_shape(lines, Splitter(delimiter)) for delimiter in delimiters), key=lambda shape: shape.score
    )


def _find_shape(lines: Sequence[str], answers: Answers) -> Shape:
    delimiters = [answers.delimiter] if answers.delimiter else list(DELIMITERS)
    best = _best(lines[:FIRST_LOOK], delimiters)
    best = _shape(lines, best.splitter) if best.width and len(best.records) > 1 else _best(lines, delimiters)
    if best.width == 0 or (best.splitter.delimiter == "none" and len(best.records) < 2):
        if sum(bool(NAME_VALUE.match(text)) for text in lines) >= 2:
            raise Unreadable(
                "the lines are 'name: value' pairs, not a table", try_="export the log as delimited text"
            )
        raise Unreadable(
            "the file has no data rows (zero rows of numbers)", try_="look whether the logger recorded"
        )
    return best


def column_kind(texts: Sequence[str]) -> str:
    filled = [text for text in texts if text]
    if not filled:
        return "empty"
    numbers = sum(map(is_loose_number, filled))
    times = sum(is_time_text(text) and not is_loose_number(text) for text in filled)
    damaged = sum(not is_word(text) for text in filled) - numbers - times
    if times > numbers and times >= damaged:
        return "time"
    if numbers and damaged + times <= numbers:
        return "number"
    return "text" if damaged + times else "words"


def _first_record(shape: Shape, kinds: Sequence[str], floor: int) -> int:
    """Place among the records of the first that is data beyond doubt; then upwards over those that look like it."""
    later = shape.records[len(shape.records) // 2 :]  # what stands above the table may look like a record
    strict = [
        place
        for place, kind in enumerate(kinds)
        if kind in ("number", "time")
        and sum(_valued(line.fields[place]) for line in later) >= 0.95 * len(later)
    ] or [place for place, kind in enumerate(kinds) if kind in ("number", "time")]
    places = [place for place, line in enumerate(shape.records) if line.index >= floor]
    full = [p for p in places if all(_valued(shape.records[p].fields[column]) for column in strict)]
    if not full:
        return places[0] if places else 0
    first = full[0]
    numeric = [place for place, kind in enumerate(kinds) if kind in ("number", "time")]
    while first > 0 and shape.records[first - 1].index == shape.records[first].index - 1:
        above = shape.records[first - 1]
        good = sum(_valued(above.fields[column]) for column in numeric)
        if above.index < floor or not _valued(above.fields[numeric[0]]) or good * 2 <= len(numeric):
            break
        first -= 1
    return first


def _marks(tokens: list[str], shape: Shape, answers: Answers) -> tuple[MarkVerdict, list[Question]]:
    delimiter = shape.splitter.delimiter
    quoted = delimiter == "comma" and any("," in token for token in tokens)
    verdict = judge_marks(tokens, comma_free=delimiter != "comma" or quoted, local=delimiter == "semicolon")
    if answers.decimal is not None:
        other = "point" if answers.decimal == "comma" else "comma"
        present = any(MARKS[other] in token for token in tokens)
        if answers.thousands is None and verdict.why == APART:
            text = f"is the {other} a mark between thousands ({other}), or are such lines damaged (nothing)?"
            open_ = Question(code="thousands-mark", text=text, candidates=("", other), key=KEY + "thousands")
            return MarkVerdict(answers.decimal, "", False, verdict.why), [open_]
        thousands = answers.thousands if answers.thousands is not None else other if present else ""
        return MarkVerdict(answers.decimal, thousands, True, "answered"), []
    if verdict.settled:
        return verdict, []
    marked = [next((t for t in tokens if m in t), "") for m in MARKS.values()]
    samples = (
        [t for t in marked if t] if verdict.why == APART else [t for t in tokens if re.search("[.,]", t)]
    )
    text = f"the decimal mark is open: {verdict.why} (such as {', '.join(dict.fromkeys(samples[:3]))})"
    return verdict, [Question(code="decimal-mark", text=text, candidates=tuple(MARKS), key=KEY + "decimal")]


def _pairs_question(
    shape: Shape, found: Found, above: list[str], kinds: Sequence[str], tokens: list[str]
) -> list[Question]:
    """Commas only, whole numbers only: each comma may also be a decimal mark."""
    numbers = sum(kind == "number" for kind in kinds)
    if (
        shape.splitter.delimiter != "comma"
        or numbers < 2
        or any(re.search(r"[.,eE]", token) for token in tokens)
    ):
        return []
    if any(
        re.search(r"[+-]", token) for line in shape.records for token in line.fields[1::2]
    ) and numbers == len(kinds):
        return []
    cells = max((len(Splitter("comma").split(text) or []) for text in above[-2:]), default=0)
    if found.name_line is not None and found.fits:
        return []
    if found.name_line is None and cells not in (0, len(kinds) // 2) and numbers % 2:
        return []
    if numbers % 2 and numbers == len(kinds):
        return []
    line = ",".join(shape.records[0].fields)
    text = f"'{line}' may be {numbers} whole numbers or {numbers // 2} with a decimal comma"
    return [Question(code="decimal-mark", text=text, candidates=tuple(MARKS), key=KEY + "decimal")]


def _above_beside(lines: Sequence[str], start: int, floor: int, splitter: Splitter, width: int) -> int:
    """The first record, where those right above hold a side table as well: they are told line by line, not headings."""
    while start > floor and (fields := splitter.split(lines[start - 1])) is not None:
        if len(fields) <= width or not all(map(_valued, fields[:width])):
            break
        start -= 1
    return start


def side_table(columns: Sequence[Sequence[str]]) -> list[int]:
    """Places of the columns of a table beside the data: after an empty column, filled in the first few rows only.

    >>> side_table([("0", "1", "2", "3", "4", "5"), ("",) * 6, ("n = 3", "", "", "", "", "")])
    [2]
    """
    ends = [max((row for row, text in enumerate(column) if text), default=-1) for column in columns]
    last = [*accumulate(reversed(ends), max)][::-1]  # of this column and all right of it
    for place in range(1, len(columns) - 1):
        if ends[place] == -1 and last[place + 1] > -1 and 2 * (last[place + 1] + 1) <= len(columns[0]):
            return list(range(place + 1, len(columns)))
    return []


def sniff(lines: Sequence[str], *, encoding: str, line_end: str, answers: Answers) -> Sniffed:
    """The dialect that the first lines of a file are written in.

    Args:
        lines: Decoded lines without their ends, from the top of the file.
        encoding: As sniffed or answered. line_end: as found.
        answers: What run.toml settles.
    Raises:
        Unreadable: no line holds a record.
    """
    lines = lines[:LINES]
    notes: list[str] = []
    questions: list[Question] = []
    filled = [text for text in lines if text.strip()]
    strip_nul = sum("\x00" in text for text in filled) > 0.5 * len(filled)
    if strip_nul:
        lines = [text.replace("\x00", "") for text in lines]
        notes.append("NUL bytes stand in most lines and are left out")
    shape = _find_shape(lines, answers)
    paired = False
    if (
        shape.splitter.delimiter == "comma"
        and answers.decimal == "comma"
        and not any('"' in text for text in lines)
    ):
        shape = _shape(lines, Splitter("comma", pairs=True))
        paired = True
    width = shape.width
    if width > MOST_COLUMNS:
        raise Unreadable(
            f"its lines hold {width} fields, more than {MOST_COLUMNS}", try_="look at it in an editor"
        )
    columns = list(zip(*(line.fields for line in shape.records), strict=True))
    kinds = [column_kind(texts) for texts in columns]
    floor = answers.header_line or 0
    first = _first_record(shape, kinds, floor)
    records = shape.records[first:]
    start = _above_beside(lines, records[0].index, floor, shape.splitter, width)
    span = [text for text in lines[start:] if text.strip()]
    if len(records) < 0.34 * len(span):
        raise Unreadable(
            "most lines are no records of one table", try_="look at the file; export it as delimited text"
        )
    columns = list(zip(*(line.fields for line in records), strict=True))
    kinds = [column_kind(texts) for texts in columns]
    count = width
    while count > 1 and kinds[count - 1] == "empty":
        count -= 1
    above = list(lines[:start])
    line = None if answers.header_line is None else answers.header_line - 1
    found = find_headings(above, shape.splitter, count=width, width=width, line=line)
    if count < width and (found.name_line is None or not any(found.titles[count:])):
        found = find_headings(above, shape.splitter, count=count, width=width, line=line)
    else:
        count = max([count] + [place + 1 for place, title in enumerate(found.titles) if title])
        found = Found(found.titles[:count], found.units[:count], found.name_line, found.fits, found.notes)
    kinds = kinds[:count]
    sides = side_table(columns[:count])
    if sides:
        kinds = [*kinds[: sides[0]], *("text" for _ in kinds[sides[0] :])]
        cells = [" = ".join(filled) for row in zip(*(columns[p] for p in sides), strict=True)
                 if (filled := [text for text in row if text])]  # fmt: skip
        notes.append(
            f"a side table stands in columns {sides[0] + 1} to {count}, no channels: {'; '.join(cells[:12])}"
        )
    if count < width:
        notes.append(f"{width - count} empty field(s) at the end of each line are separators, not columns")
    names, units, renamed = name_columns(found.titles, found.units)
    notes += [
        *found.notes,
        *(renamed if found.name_line is not None else ["there are no headings: columns by number"]),
    ]
    if answers.names is not None and len(answers.names) == count:
        names = list(answers.names)
        read_off = units if found.fits else [None] * count
        units = [unit or split_unit(name)[1] for unit, name in zip(read_off, names, strict=True)]
    elif answers.names is not None or not found.fits:
        text = (
            f"there are {count} columns, and "
            + (found.notes or (f"{len(answers.names or ())} names were given",))[0]
        )
        questions.append(Question(code="names-do-not-fit", text=text, candidates=(), key=KEY + "names"))
    tokens = [
        text
        for place in range(count)
        if kinds[place] == "number"
        for text in columns[place]
        if is_loose_number(text)
    ]
    verdict, asked = _marks(tokens, shape, answers)
    questions += asked
    if answers.decimal is None:
        questions += _pairs_question(shape, found, above, kinds, tokens)
    form = NumberForm(MARKS[verdict.decimal], MARKS.get(verdict.thousands, ""))
    if verdict.thousands:
        notes.append(f"{verdict.thousands}s between thousands are left out")
    sample = [Column(i, names[i], units[i], kinds[i], columns[i]) for i in range(count)]
    choice = choose_axis(sample, form, answers, named=found.name_line is not None, above=above)
    whole = columns[count - 1][: max(len(records) - 1, 1)]  # the last record may be cut
    tails = {tail_shape(text) for text in whole} if kinds[count - 1] == "number" else {None}
    lengths = Counter(len(fields) for text in span[:200] if (fields := shape.splitter.split(text)))
    dialect = Dialect(
        encoding=encoding,
        delimiter=shape.splitter.delimiter,
        decimal=verdict.decimal,
        thousands=verdict.thousands,
        header_lines=start,
        names=tuple(names),
        units=tuple(units),
        kinds=tuple(kinds),
        titles=found.titles,
        time=choice.axis,
        width=width,
        loose=count < width and lengths[count] > 0,
        pairs=paired,
        strip_nul=strip_nul,
        line_end=line_end,
        last_tail=next(iter(tails)) if len(tails) == 1 else None,
        name_line=found.name_line,
        headings=tuple(dict.fromkeys(text.strip() for text in above if text.strip()))[-40:],
    )
    return Sniffed(dialect, (*questions, *choice.questions), (*notes, *choice.notes))
