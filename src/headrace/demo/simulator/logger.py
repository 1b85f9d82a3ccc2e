"""Files as invented loggers write them: one function per dialect, and the damage that real ones do.

Each dialect gives the bytes and the answers that run.toml must give because the file does not. Start at `write`.
"""

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DIGITS = {"mbar": 3, "bar": 5, "degC": 2, "mA": 4, "kPa": 3, "kg": 3, "Pa": 1}


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One channel: its name, the unit its values are in, the values."""

    name: str
    unit: str
    values: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """A logger file: its bytes, and what [logger] in run.toml must say about it."""

    data: bytes
    answers: Mapping[str, str] = field(default_factory=dict)


def write(dialect: str, *, time: Array, columns: Sequence[Column], start: datetime.datetime) -> Stored:
    """The bytes of a file in that dialect.

    Args:
        time: seconds since `start`, as the logger's clock says.
    Raises:
        KeyError: no such dialect.
    """
    return DIALECTS[dialect](time, columns, start)


def _rows(stamps: Sequence[str], columns: Sequence[Column], delimiter: str) -> list[str]:
    texts = [list(map(f"{{:.{DIGITS[c.unit]}f}}".format, c.values.tolist())) for c in columns]
    return list(map(delimiter.join, zip(stamps, *texts, strict=True)))


def _plain(time: Array, columns: Sequence[Column], start: datetime.datetime) -> Stored:
    del start
    head = ",".join(["t [s]", *(f"{c.name} [{c.unit}]" for c in columns)])
    stamps = list(map("{:.4f}".format, time.tolist()))
    return Stored(
        data="\n".join([head, *_rows(stamps, columns, ","), ""]).encode(),
        answers={"time_column": "t"},
    )


def _semicolon(time: Array, columns: Sequence[Column], start: datetime.datetime) -> Stored:
    preamble = [
        "Messung;Wasserprüfstand (erfunden)",
        f"Beginn;{start:%d.%m.%Y %H:%M:%S}",
        f"Kanäle;{len(columns)}",
        "",
    ]
    names = ";".join(["Zeit", *(c.name for c in columns)])
    units = ";".join(["s", *(c.unit.replace("degC", "°C") for c in columns)])
    stamps = list(map("{:.3f}".format, time.tolist()))
    rows = [row.replace(".", ",") for row in _rows(stamps, columns, ";")]
    return Stored(
        data="\r\n".join([*preamble, names, units, *rows, ""]).encode("latin-1"),
        answers={"encoding": "latin-1", "delimiter": ";", "decimal": "comma", "time_column": "Zeit"},
    )


def _iso(time: Array, columns: Sequence[Column], start: datetime.datetime) -> Stored:
    head = ",".join(["timestamp", *(f"{c.name} [{c.unit}]" for c in columns)])
    base = np.datetime64(start, "us")
    stamps = np.datetime_as_string(base + np.round(time * 1e6).astype("timedelta64[us]"), unit="ms").tolist()
    return Stored(
        data="\n".join([head, *_rows(stamps, columns, ","), ""]).encode(),
        answers={"time_column": "timestamp"},
    )


def _tab_clock(time: Array, columns: Sequence[Column], start: datetime.datetime) -> Stored:
    """Milliseconds since the logger was switched on, tabs, a trailing tab on every line, the names twice."""
    uptime = (start.hour * 3600 + start.minute * 60) * 1000
    head = "\t".join(["clock (ms)", *(f"{c.name} ({c.unit})" for c in columns), ""])
    stamps = [f"{uptime + round(1000 * t):d}" for t in time.tolist()]
    rows = [row + "\t" for row in _rows(stamps, columns, "\t")]
    middle = len(rows) // 3
    return Stored(
        data="\n".join([head, *rows[:middle], head, *rows[middle:], ""]).encode(),
        answers={"time_column": "clock"},
    )


def _spaces(time: Array, columns: Sequence[Column], start: datetime.datetime) -> Stored:
    """Blanks, no names at all for the units, epoch in milliseconds."""
    epoch = round(start.replace(tzinfo=datetime.UTC).timestamp() * 1000)
    head = "  ".join(["epoch_ms", *(c.name.replace(" ", "_") for c in columns)])
    stamps = [f"{epoch + round(1000 * t):d}" for t in time.tolist()]
    return Stored(
        data="\n".join([head, *_rows(stamps, columns, "  "), ""]).encode(),
        answers={"time_column": "epoch_ms", "time_unit": "ms"},
    )


DIALECTS: Mapping[str, Callable[[Array, Sequence[Column], datetime.datetime], Stored]] = {
    "plain": _plain,  # comma, point, elapsed seconds
    "semicolon": _semicolon,  # decimal comma, preamble, units row, Latin-1, CRLF
    "iso": _iso,  # comma, ISO date and time
    "tab-clock": _tab_clock,  # tabs, milliseconds, trailing tab, names repeated
    "spaces": _spaces,  # blanks, epoch milliseconds, no units
}


def jumped(time: Array, *, at: float, by: float) -> Array:
    """The clock with a jump of `by` seconds at `at`."""
    return np.where(time >= at, time + by, time)


def spoilt(data: bytes, *, count: int, dice: np.random.Generator) -> bytes:
    """The file with `count` of its later lines cut short or struck by noise."""
    lines = data.split(b"\n")
    for which in dice.choice(np.arange(len(lines) // 4, len(lines) - 3), size=count, replace=False).tolist():
        line = lines[which]
        lines[which] = line[: len(line) // 2] if which % 2 else line[:6] + b"#\x00~" + line[9:]
    return b"\n".join(lines)
