"""Which column is the clock and in what form, from a sample of rows, or which question settles it.

A column is a candidate when its texts are times, or its name or unit says time and it rises. Two candidates, a unit
that is not stated, a date with two readings: asked, not assumed. Start at `choose_axis`.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import floor, isfinite
from statistics import median

from headrace.files.loggers.base import KEY, Answers, Question, TimeAxis
from headrace.files.loggers.numbers import NumberForm
from headrace.files.loggers.timeforms import has_clock, has_date, orders, reader

SCALES: Mapping[str, float] = {
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds", "sek", "sekunden"), 1.0),
    **dict.fromkeys(("ms", "msec", "msecs", "millis", "millisec", "millisecond", "milliseconds"), 1e-3),
    **dict.fromkeys(("us", "µs", "μs", "usec", "micros", "microsecond", "microseconds"), 1e-6),
    **dict.fromkeys(("ns", "nsec", "nanos", "nanoseconds"), 1e-9),
    **dict.fromkeys(("min", "mins", "minute", "minutes"), 60.0),
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), 3600.0),
}
EPOCHS: Sequence[tuple[str, float]] = (
    ("epoch s", 1.0),
    ("epoch ms", 1e3),
    ("epoch us", 1e6),
    ("epoch ns", 1e9),
)
EPOCH_SPAN = (9.4e8, 2.3e9)  # the years 1999 to 2042, in seconds
EPOCH_STEP = 100.0  # a log with a longer step is no log of a run [s]
NAMED = frozenset(
    re.findall(
        r"\S+",
        """
        time zeit uhrzeit zeitstempel timestamp t elapsed sec secs second seconds millis milliseconds
        millisecond micros epoch clock datum date datetime temps tiempo tempo runtime unixtime uptime
        """,
    )
)
COUNTERS = frozenset(
    re.findall(
        r"\S+",
        """
        index sample samples no nr number count counter record row point scan
        """,
    )
)
NO_AXIS: Mapping[str, str] = {
    **dict.fromkeys(("estimated", "estimate", "est", "calculated", "calc", "computed", "formula", "approx",
                     "approximate", "nominal", "assumed"), "not measured"),
    **dict.fromkeys(("collection", "collecting", "collected", "fill", "filling", "catch", "weighing", "drain",
                     "draining", "duration", "interval", "integration", "exposure", "bucket"),
                    "taken for each measurement"),
}  # fmt: skip
"""Words of a time that may be no axis, and what it then is."""
PERIODS: Mapping[str, float] = {"clock": 86400.0, "hhmmss": 86400.0, "mm:ss": 3600.0}
UNIT_CHOICES = ("s", "ms", "us", "min", "epoch s", "epoch ms", "epoch us", "hhmmss")


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the sample."""

    index: int
    name: str
    unit: str | None
    kind: str
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """The axis, what must be asked about it, and what should be said about it."""

    axis: TimeAxis
    questions: tuple[Question, ...] = ()
    notes: tuple[str, ...] = ()


def name_words(name: str) -> list[str]:
    """Lower-case words of a name: "Time_ms" -> time, ms; "elapsedTime" -> elapsed, time."""
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
    return [word for word in re.split(r"[\W_]+", spaced.lower()) if word]


def stated_unit(column: Column) -> str | None:
    """Time unit that the column's unit or name states, as a key of `SCALES` or an epoch; None when it does not."""
    if column.unit is not None:
        unit = column.unit.strip().lower()
        words = name_words(unit)
        if "epoch" in words or "unix" in words:
            return next((f"epoch {word}" for word in words if f"epoch {word}" in dict(EPOCHS)), None)
        return unit if unit in SCALES else None
    words = name_words(column.name)
    units = [word for word in words[1:] if word in SCALES] or [w for w in words if w in SCALES and len(w) > 2]
    if "epoch" in words or "unix" in words:
        return next((f"epoch {word}" for word in words if f"epoch {word}" in dict(EPOCHS)), None)
    return units[-1] if units else None


def rises(values: Sequence[float]) -> bool:
    """True when the values mostly rise and hardly ever fall."""
    steps = [b - a for a, b in pairwise(values)]
    return (
        bool(steps)
        and sum(step >= 0 for step in steps) >= 0.9 * len(steps)
        and any(step > 0 for step in steps)
    )


def restarts(values: Sequence[float]) -> bool:
    """True when the values rise, and every fall is long and lands near zero: a clock that wraps or began again."""
    falls = [(a, b) for a, b in pairwise(values) if b < a]
    step, most = typical_step(values), max(map(abs, values), default=0.0)
    if step is None or len(falls) * 3 > len(values):
        return False
    return bool(falls) and all(a - b > 1.5 * step and 0 <= b <= 0.12 * most for a, b in falls)


def _numbers(column: Column, form: NumberForm) -> list[float]:
    values = (form.read(text) for text in column.texts)
    return [value for value in values if value is not None and isfinite(value)]


def _candidates(columns: Sequence[Column], form: NumberForm, *, named: bool) -> list[tuple[Column, ...]]:
    found: list[tuple[Column, ...]] = []
    used: set[int] = set()
    times = [column for column in columns if column.kind == "time"]
    for column in times:
        text = next((text for text in column.texts if text), "")
        if column.index in used or not has_date(text) or has_clock(text):
            continue
        for other in times:
            clock = next((item for item in other.texts if item), "")
            if abs(other.index - column.index) == 1 and has_clock(clock) and not has_date(clock):
                half = tuple(item for item in columns if item.index == other.index + 1 and _is_half(item))
                found.append((column, other, *half))
                used |= {column.index, other.index}
                break
    for column in times:
        text = next((text for text in column.texts if text), "")
        if column.index not in used and has_clock(text):
            half = tuple(item for item in columns if item.index == column.index + 1 and _is_half(item))
            found.append((column, *half))
    for column in columns:
        if column.kind != "number":
            continue
        words = set(name_words(column.name))
        unit = (column.unit or "").strip().lower()
        says = bool(words & NAMED) if not unit or unit in SCALES or "epoch" in unit else False
        says = says or unit in SCALES or (not unit and stated_unit(column) is not None)
        values = _numbers(column, form)
        if says and (rises(values) or restarts(values) or (len(values) == 1 and bool(words & NAMED))):
            found.append((column,))
    if not found and not named and columns and columns[0].kind == "number" and len(columns) > 1:
        values = _numbers(columns[0], form)
        if rises(values) and len(values) > 2:
            found.append((columns[0],))
    if len(found) > 1:  # beside another clock, a capital T without a unit is a temperature
        found = [group for group in found if (group[0].name, group[0].unit) != ("T", None)] or found
    return sorted(found, key=lambda group: group[0].index)


def _is_half(column: Column) -> bool:
    return bool(column.texts) and all(
        text.lower().replace(".", "") in ("am", "pm") for text in column.texts if text
    )


def _label(group: tuple[Column, ...]) -> str:
    return " + ".join(column.name for column in group)


def _picked(columns: Sequence[Column], wanted: str | int) -> tuple[Column, ...] | None:
    """The columns that the answer names, by number, name, or names joined with " + "."""
    if isinstance(wanted, int) or (str(wanted).isdigit() and str(wanted) not in [c.name for c in columns]):
        return next(((column,) for column in columns if column.index == int(wanted) - 1), None)
    whole = tuple(column for column in columns if column.name == wanted)
    if whole:
        return whole[:1]
    parts = [next((c for c in columns if c.name == part.strip()), None) for part in wanted.split("+")]
    return tuple(part for part in parts if part is not None) if all(parts) else None


def choose_axis(
    columns: Sequence[Column], form: NumberForm, answers: Answers, *, named: bool, above: Sequence[str] = ()
) -> Choice:
    """The clock of the table.

    Args:
        columns: Sample of every column; texts of one row stand at one index in all of them.
        form: How numbers are written.
        answers: What run.toml settles.
        named: True when the file has headings.
        above: Lines above the data, which may tell a rate.
    """
    questions: list[Question] = []
    names = tuple(column.name for column in columns)
    groups = _candidates(columns, form, named=named)
    if answers.time_column is not None and answers.time_column != "none":
        group = _picked(columns, answers.time_column)
        if group is None:
            text = f"no column is called '{answers.time_column}'"
            question = Question(code="time-column", text=text, candidates=names, key=KEY + "time_column")
            return Choice(TimeAxis(), (question,))
    elif answers.time_column == "none" or answers.sample_rate is not None or not groups:
        return _without_clock(answers, groups, _standing(columns, form), above)
    else:
        group = groups[0]
        if len(groups) > 1:
            labels = tuple(_label(item) for item in groups)
            text = f"{len(groups)} columns can be the clock: {', '.join(labels)}"
            questions.append(
                Question(code="two-clocks", text=text, candidates=labels, key=KEY + "time_column")
            )
        elif told := [word for item in group for word in name_words(item.name) if word in NO_AXIS]:
            text = (
                f"column '{_label(group)}' may be the time of each row, or one that is {NO_AXIS[told[0]]}: "
                "'none' when it is no clock"
            )
            options = (_label(group), "none")
            questions.append(
                Question(code="time-estimated", text=text, candidates=options, key=KEY + "time_column")
            )
    if len(texts := joined_texts(group)) > 2 and len(set(texts)) == 1:
        return _without_clock(answers, [], group, above)
    choice = _text_axis(group, answers) if _is_text(group) else _number_axis(group[0], form, answers, named)
    return Choice(choice.axis, (*questions, *choice.questions), choice.notes)


def _is_text(group: tuple[Column, ...]) -> bool:
    return len(group) > 1 or group[0].kind == "time"


def _standing(columns: Sequence[Column], form: NumberForm) -> tuple[Column, ...]:
    """The column that is called time, but holds one value in every row; () when there is none."""
    for column in columns:
        values = _numbers(column, form) if column.kind == "number" else []
        named = set(name_words(column.name)) & NAMED and (not column.unit or stated_unit(column))
        if named and len(values) > 2 and len(set(values)) == 1:
            return (column,)
    return ()


RATE = re.compile(
    r"(?P<rate>\d+(?:\.\d+)?)\s*(?P<kilo>k)?(?:Hz|S/s|sps|samples?\s*/\s*s\w*)\b", re.IGNORECASE
)
RATE_KEY = re.compile(r"rate\W*(?:\[?k?Hz\]?)?\W*[\s:;,=]\s*(?P<rate>\d+(?:\.\d+)?)\s*$", re.IGNORECASE)


def _rates(above: Sequence[str]) -> tuple[str, ...]:
    """Rates [Hz] that the lines above the data tell."""
    found = [match for text in above for match in RATE.finditer(text)]
    rates = [float(match["rate"]) * (1000 if match["kilo"] else 1) for match in found]
    rates += [float(match["rate"]) for text in above if (match := RATE_KEY.search(text.rstrip(" ,;\t")))]
    return tuple(dict.fromkeys(f"{rate:g} Hz" for rate in rates if rate > 0))


def _without_clock(
    answers: Answers,
    groups: Sequence[tuple[Column, ...]],
    standing: tuple[Column, ...] = (),
    above: Sequence[str] = (),
) -> Choice:
    if answers.sample_rate is not None:
        rate = answers.sample_rate
        notes = tuple(f"'{_label(group)}' is not used as the clock: a rate was given" for group in groups)
        return Choice(TimeAxis(form="rate", unit="sample rate", rate=rate, step=1 / rate), notes=notes)
    rates = _rates(above)
    hint = f" (above the data stands {', '.join(rates)})" if rates else ""
    if standing:
        shown = joined_texts(standing)[0]
        text = f"the clock '{_label(standing)}' stands still at {shown}: give the rows per second{hint}"
        code = "time-stands"
    else:
        text = f"no column is a clock: give the rows per second{hint}, or name the column"
        code = "no-time-column"
    return Choice(TimeAxis(), (Question(code=code, text=text, candidates=rates, key=KEY + "sample_rate"),))


def joined_texts(group: Sequence[Column]) -> list[str]:
    """Date, clock and AM/PM of each row as one text."""
    return [" ".join(parts).strip() for parts in zip(*(column.texts for column in group), strict=True)]


def _text_axis(group: tuple[Column, ...], answers: Answers) -> Choice:
    texts = [text for text in joined_texts(group) if text]
    questions: list[Question] = []
    dated = sum(has_date(text) for text in texts) > 0.5 * len(texts)
    minutes = not dated and all(re.match(r"\d{1,2}:\d{2}([.,]\d+)?$", text) for text in texts)
    form = "stamp" if dated else "mm:ss" if minutes else "clock"
    unit = {"stamp": "date and clock", "mm:ss": "mm:ss", "clock": "clock"}[form]
    if minutes and not any(re.search(r"[.,]", text) for text in texts):
        if answers.time_unit is None:
            text = f"'{texts[0]}' may be hours and minutes or minutes and seconds"
            options = ("clock", "mm:ss")
            questions.append(Question(code="time-unit", text=text, candidates=options, key=KEY + "time_unit"))
        elif answers.time_unit == "clock":
            form, unit = "clock", "clock"
    if any(re.search(r"[ap]\.?m\.?", text, re.IGNORECASE) for text in texts):
        unit = "12-hour clock" if not dated else "date and 12-hour clock"
    elif dated and all(re.match(r"\d{4}-", text) for text in texts):
        unit = "iso"
    order, asked = _date_order(texts, answers) if dated else ("ymd", None)
    if asked:
        questions.append(asked)
    axis = TimeAxis(columns=tuple(c.index for c in group), form=form, unit=unit, order=order)
    fraction, asked, notes = _fraction_form(axis, texts, answers)
    if asked:
        questions.append(asked)
    zoned = [bool(re.search(r"(Z|[+-]\d{2}:?\d{2})$", text)) for text in texts]
    hours = [int(text.split(":")[0]) for text in texts if not dated and text.split(":")[0].isdigit()]
    daily = not dated and not (form == "clock" and max(hours, default=0) > 23)
    period = answers.time_wrap if answers.time_wrap is not None else PERIODS[form] if daily else None
    axis = replace(axis, fraction=fraction, zone=dated and all(zoned), period=period)
    return Choice(_based(axis, texts), tuple(questions), tuple(notes))


def _date_order(texts: Sequence[str], answers: Answers) -> tuple[str, Question | None]:
    """The order that every date of the sample allows; asked when more than one does."""
    allowed = frozenset({"ymd", "dmy", "mdy"})
    for text in dict.fromkeys(text.split("T")[0].split(" ")[0] for text in texts):
        allowed &= orders(text) or allowed
    wanted = answers.date_order
    if wanted is None and answers.day_first is not None and len(allowed) > 1:
        wanted = "dmy" if answers.day_first else "mdy" if "mdy" in allowed else "ymd"
    if wanted is not None:
        return wanted, None
    if len(allowed) == 1:
        return next(iter(allowed)), None
    options = tuple(order for order in ("dmy", "mdy", "ymd") if order in allowed)
    text = f"the date '{texts[0].split(' ')[0]}' can be read as {' or '.join(options) or 'no date at all'}"
    asked = Question(code="date-order", text=text, candidates=options, key=KEY + "date_order")
    return (options or ("ymd",))[0], asked


def _fraction_form(
    axis: TimeAxis, texts: Sequence[str], answers: Answers
) -> tuple[str, Question | None, list[str]]:
    """Whether the digits after the seconds are decimals or a count of milliseconds."""
    if answers.time_fraction is not None:
        return answers.time_fraction, None, []
    digits = [m[1] for text in texts if (m := re.search(r":\d{2}[.,](\d+)", text))]
    asked = Question(
        code="time-fraction",
        text="the digits after the seconds may be decimals or a count of milliseconds",
        candidates=("decimal", "ms"),
        key=KEY + "time_fraction",
    )
    if not digits or len(digits) < 3:
        return "decimal", None, []
    if max(map(len, digits)) <= 3 and len({len(item) for item in digits}) > 1:
        falls = {way: _falls(replace(axis, fraction=way), texts) for way in ("decimal", "ms")}
        if falls["ms"] == 0 and falls["decimal"] >= 2:
            return (
                "ms",
                None,
                ["the digits after the seconds count milliseconds: read as decimals the time falls"],
            )
        if falls["ms"] == falls["decimal"]:
            return "decimal", asked, []
        return "decimal", None, []
    if (
        {len(item) for item in digits} == {4}
        and all(item[0] == "0" for item in digits)
        and len(set(digits)) > 2
    ):
        return "decimal", asked, []
    return "decimal", None, []


def _falls(axis: TimeAxis, texts: Sequence[str]) -> int:
    read = reader(axis)
    values = [value for text in texts if (value := read(text)) is not None]
    return sum(b < a for a, b in pairwise(values))


def _based(axis: TimeAxis, texts: Sequence[str]) -> TimeAxis:
    """The axis with the day of the first text taken off, and its typical step."""
    first = next(
        (value for text in texts if (value := reader(axis)(text)) is not None and isfinite(value)), 0.0
    )
    axis = replace(axis, base=floor(first / 86400) * 86400 if axis.form in ("stamp", "epoch") else 0)
    read = reader(axis)
    return replace(axis, step=typical_step([value for text in texts if (value := read(text)) is not None]))


def typical_step(values: Sequence[float]) -> float | None:
    """Median of the steps that go forward [s]; None when there are none."""
    steps = [b - a for a, b in pairwise(values) if b > a]
    return median(steps) if steps else None


def _number_axis(column: Column, form: NumberForm, answers: Answers, named: bool) -> Choice:
    values = _numbers(column, form)
    unit = (
        answers.time_unit if answers.time_unit in (*SCALES, *dict(EPOCHS), "hhmmss") else stated_unit(column)
    )
    epoch = _epoch_of(values)
    questions: list[Question] = []
    notes: list[str] = []
    if answers.time_unit is not None and unit != answers.time_unit:
        questions.append(_unit_question(f"column '{column.name}' holds numbers, not '{answers.time_unit}'"))
    if unit is None and epoch is not None:
        unit = epoch
        notes.append(
            f"column '{column.name}' is read as {epoch}: only that puts it into the years 1999 to 2042"
        )
    elif answers.time_unit is None and unit in ("s", "ms", "us", "ns") and epoch == f"epoch {unit}":
        unit = epoch
    if unit is None:
        counter = not named or bool(set(name_words(column.name)) & COUNTERS)
        what = "the unit of time is not stated" + (", or the column only counts rows" if counter else "")
        sample = ", ".join(column.texts[:3])
        questions.append(_unit_question(f"column '{column.name}' ({sample}, ...): {what}"))
        unit = "s"
    index = (column.index,)
    texts = [text for text in column.texts if text]
    if unit in dict(EPOCHS):
        return Choice(
            _based(TimeAxis(columns=index, form="epoch", unit=unit, zone=True), texts),
            tuple(questions),
            tuple(notes),
        )
    if unit == "hhmmss":
        axis = TimeAxis(columns=index, form="hhmmss", unit=unit, fraction=answers.time_fraction or "decimal")
        return Choice(_based(replace(axis, period=86400.0), texts), tuple(questions), tuple(notes))
    scale = SCALES[unit]
    shown = answers.time_unit or column.unit or unit
    step = typical_step([value * scale for value in values])
    axis = TimeAxis(
        columns=index, form="elapsed", unit=shown, scale=scale, step=step, period=answers.time_wrap
    )
    return Choice(axis, tuple(questions), tuple(notes))


def _unit_question(text: str) -> Question:
    return Question(code="time-unit", text=text, candidates=UNIT_CHOICES, key=KEY + "time_unit")


def _epoch_of(values: Sequence[float]) -> str | None:
    """The epoch unit that puts all values into our time at the step of a log; None when none does."""
    if not values:
        return None
    for unit, scale in EPOCHS:
        inside = all(EPOCH_SPAN[0] * scale < value < EPOCH_SPAN[1] * scale for value in values)
        if inside and (typical_step(values) or 0.0) <= EPOCH_STEP * scale:
            return unit
    return None
