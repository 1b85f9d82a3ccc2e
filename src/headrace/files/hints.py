"""What was probably meant by a line that TOML refuses or a date it does not know: the same text, written its way."""

import datetime
import re

QUOTES = 'text stands in double quotes: key = "1.20 mm"'


def of_line(line: str) -> str:
    """What to write in place of a line that is no TOML.

    >>> of_line("c_d = 1,45  # by hand")
    'decimal point: c_d = 1.45'
    >>> of_line("date = 25.11.2026")
    'date = 2026-11-25, without quotes'
    """
    key, equals, value = line.partition("=")
    key, value = key.strip(), value.split("#")[0].strip()
    if equals and re.fullmatch(r"[+-]?\d+,\d+(?:[eE][+-]?\d+)?", value):
        return f"decimal point: {key} = {value.replace(',', '.')}"
    if equals and (dates := of_date(value)):
        return f"{key} = {dates}"
    return QUOTES


def of_date(text: str) -> str:
    """A date in another order, year first; both readings where day and month cannot be told apart; "" if it is none.

    >>> of_date("3/4/2026")
    '2026-03-04 or 2026-04-03, without quotes'
    """
    parts = re.fullmatch(r"(\d{1,4})\s*([-./])\s*(\d{1,2})\s*\2\s*(\d{1,4})", text.strip())
    if parts is None:
        return ""
    first, sign, middle, last = int(parts[1]), parts[2], int(parts[3]), int(parts[4])
    if len(parts[1]) == 4:
        readings = [(first, middle, last)]
    elif len(parts[4]) != 4:
        return ""
    else:  # with points or strokes the day comes first; with slashes either
        readings = [(last, middle, first)] if sign != "/" else [(last, first, middle), (last, middle, first)]
    found = dict.fromkeys(day.isoformat() for one in readings if (day := _day(*one)) is not None)
    return f"{' or '.join(found)}, without quotes" if found else ""


def _day(year: int, month: int, day: int) -> datetime.date | None:
    try:
        return datetime.date(year, month, day)
    except ValueError:
        return None
