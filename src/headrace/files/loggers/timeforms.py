"""Time texts of loggers into seconds: stamps with a date, clocks, epochs, packed clocks.

A form turns one text into seconds after `TimeAxis.base`, so that microseconds survive in a float. Words give NaN,
damaged texts None. Which form a column has is decided in `timeaxis`. Start at `reader`.
"""

import re
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from math import nan

from headrace.files.loggers.base import TimeAxis
from headrace.files.loggers.numbers import NumberForm, is_word

DATE = r"(?P<a>\d{1,4})(?P<sep>[./-])(?P<b>\d{1,2}|[A-Za-z]{3})(?P=sep)(?P<c>\d{1,4})"
CLOCK = (
    r"(?P<h>\d{1,3}):(?P<m>\d{2})(?::(?P<s>\d{2})(?:(?P<dot>[.,:])(?P<f>\d{1,9}))?)?"
    r"(?:\s*(?P<half>[AaPp])\.?[Mm]\.?)?\s*(?P<zone>Z|[+-]\d{2}:?\d{2})?"
)
STAMP = re.compile(rf"(?:{DATE}(?:[T ,]\s*|$))?(?:{CLOCK})?")
MINUTES = re.compile(r"(?P<m>\d{1,2}):(?P<s>\d{2})[.,](?P<f>\d{1,6})")
PACKED = re.compile(r"(?P<h>\d{1,2})(?P<m>\d{2})(?P<s>\d{2})(?:[.,](?P<f>\d{1,9}))?")
WHOLE = re.compile(r"(?P<whole>[+-]?\d+)(?:[.,](?P<part>\d*))?")
MONTHS = {
    name: number for number, name in enumerate(re.findall("...", "janfebmaraprmayjunjulaugsepoctnovdec"), 1)
}
EPOCH_ORDINAL = date(1970, 1, 1).toordinal()
EPOCH_SCALE: Mapping[str, int] = {"epoch s": 1, "epoch ms": 10**3, "epoch us": 10**6, "epoch ns": 10**9}
DAY = 86400

Seconds = tuple[int, float]  # whole seconds (since 1970 where a date is known) and the fraction


@lru_cache(maxsize=512)
def day_number(a: str, b: str, c: str, order: str) -> int | None:
    """Days since 1970 of an all-number (or month-name) date in the given order; None when there is no such day.

    >>> day_number("13", "03", "2026", "dmy") == day_number("2026", "03", "13", "ymd")
    True
    """
    by = dict(zip(order, (a, b, c), strict=True))
    month = MONTHS.get(by["m"].lower(), 0) if by["m"].isalpha() else int(by["m"]) if by["m"].isdigit() else 0
    if not (by["y"].isdigit() and by["d"].isdigit()) or len(by["d"]) > 2 or len(by["y"]) not in (2, 4):
        return None
    year = int(by["y"]) + (2000 if len(by["y"]) == 2 else 0)
    try:
        return date(year, month, int(by["d"])).toordinal() - EPOCH_ORDINAL
    except ValueError:
        return None


def orders(text: str) -> frozenset[str]:
    """The orders in which the date in this text is a day; empty when there is no date.

    >>> sorted(orders("03/04/2026")), sorted(orders("03/13/2026")), sorted(orders("2026-03-13 10:00"))
    (['dmy', 'mdy'], ['mdy'], ['ymd'])
    """
    found = STAMP.fullmatch(text.strip())
    if not found or found["a"] is None:
        return frozenset()
    parts = found["a"], found["b"], found["c"]
    if len(parts[0]) == 4:
        allowed: tuple[str, ...] = ("ymd",)
    elif parts[1].isalpha():
        allowed = ("dmy",)
    elif found["sep"] == "." and len(parts[2]) == 4:
        allowed = ("dmy",) if day_number(*parts, "dmy") is not None else ("mdy",)
    else:
        allowed = ("dmy", "mdy", "ymd")
    return frozenset(order for order in allowed if day_number(*parts, order) is not None)


@lru_cache(maxsize=65536)
def is_time_text(text: str) -> bool:
    """True for a date, a clock, or both.

    >>> is_time_text("12:01:02.5"), is_time_text("1.25"), is_time_text("3.4.2026")
    (True, False, True)
    """
    text = text.strip()
    found = STAMP.fullmatch(text)
    return bool(found and (found["a"] or found["h"])) or MINUTES.fullmatch(text) is not None


def has_date(text: str) -> bool:
    """True when the text holds a date."""
    found = STAMP.fullmatch(text.strip())
    return bool(found and found["a"])


def has_clock(text: str) -> bool:
    """True when the text holds a clock."""
    found = STAMP.fullmatch(text.strip())
    return bool(found and found["h"]) or MINUTES.fullmatch(text.strip()) is not None


def _fraction(digits: str | None, *, milli: bool) -> float:
    if not digits:
        return 0.0
    return int(digits) / 1000 if milli else int(digits) / 10 ** len(digits)


def _clock(found: re.Match[str], axis: TimeAxis, *, dated: bool) -> Seconds | None:
    hour, minute, second = int(found["h"]), int(found["m"]), int(found["s"] or 0)
    if minute > 59 or second > 60 or (dated and hour > 24):
        return None
    if found["half"]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if found["half"] in "Pp" else 0)
    whole = hour * 3600 + minute * 60 + second
    zone = found["zone"]
    if zone and zone != "Z":
        sign = -1 if zone[0] == "+" else 1
        whole += sign * (int(zone[1:3]) * 3600 + int(zone[-2:]) * 60)
    return whole, _fraction(found["f"], milli=found["dot"] == ":" or axis.fraction == "ms")


def _stamp(text: str, axis: TimeAxis) -> Seconds | None:
    found = STAMP.fullmatch(text)
    if not found or found["h"] is None:
        return None
    day = day_number(found["a"], found["b"], found["c"], axis.order) if found["a"] else None
    clock = _clock(found, axis, dated=True)
    return None if day is None or clock is None else (day * DAY + clock[0], clock[1])


def _clock_only(text: str, axis: TimeAxis) -> Seconds | None:
    found = STAMP.fullmatch(text)
    return None if not found or found["a"] or found["h"] is None else _clock(found, axis, dated=False)


def _minutes(text: str, axis: TimeAxis) -> Seconds | None:
    found = MINUTES.fullmatch(text)
    if not found or int(found["m"]) > 59 or int(found["s"]) > 59:
        short = STAMP.fullmatch(text)
        if not short or short["h"] is None or short["s"] is not None or int(short["h"]) > 59:
            return None
        return int(short["h"]) * 60 + int(short["m"]), 0.0
    return int(found["m"]) * 60 + int(found["s"]), _fraction(found["f"], milli=axis.fraction == "ms")


def _packed(text: str, axis: TimeAxis) -> Seconds | None:
    text = re.sub(r"^\d+", lambda whole: whole[0].zfill(6), text)
    found = PACKED.fullmatch(text)
    if not found or int(found["m"]) > 59 or int(found["s"]) > 60:
        return None
    whole = int(found["h"]) * 3600 + int(found["m"]) * 60 + int(found["s"])
    return whole, _fraction(found["f"], milli=axis.fraction == "ms")


def _epoch(text: str, axis: TimeAxis) -> Seconds | None:
    found = WHOLE.fullmatch(text)
    if not found:
        value = NumberForm(".").read(text)
        if value is None or value != value:
            return None
        scaled = value / EPOCH_SCALE[axis.unit or "epoch s"]
        return int(scaled // 1), scaled % 1
    scale, part = EPOCH_SCALE[axis.unit or "epoch s"], found["part"] or ""
    whole, rest = divmod(int(found["whole"]), scale)
    return whole, (rest + _fraction(part, milli=False)) / scale


FORMS: Mapping[str, Callable[[str, TimeAxis], Seconds | None]] = {
    "stamp": _stamp,
    "clock": _clock_only,
    "mm:ss": _minutes,
    "hhmmss": _packed,
    "epoch": _epoch,
}


def reader(axis: TimeAxis) -> Callable[[str], float | None]:
    """Function from a time text to seconds after the base of the axis: NaN for a word, None for damage.

    >>> read = reader(TimeAxis(form="stamp", order="dmy", base=1773403200))
    >>> read("13.03.2026 12:00:01.25")
    1.25
    """
    form, base = FORMS[axis.form], axis.base

    def read(text: str) -> float | None:
        text = text.strip()
        seconds = form(text, axis)
        if seconds is None:
            return nan if is_word(text) else None
        return (seconds[0] - base) + seconds[1]

    return read


def stamp_text(axis: TimeAxis, seconds: float) -> str | None:
    """The moment `seconds` after the base as text: a date and clock, a bare clock, or None for elapsed time."""
    if axis.form in ("stamp", "epoch"):
        moment = datetime.fromtimestamp(axis.base, UTC) + timedelta(seconds=seconds)
        return moment.isoformat(timespec="milliseconds")[:23] + ("Z" if axis.zone else "")
    if axis.form in ("clock", "hhmmss"):
        total = round((axis.base + seconds) * 1000)
        return f"{total // 3600000:02d}:{total // 60000 % 60:02d}:{total // 1000 % 60:02d}.{total % 1000:03d}"
    return None
