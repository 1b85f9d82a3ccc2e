"""A table of catches among the files that are brought in: known by its headings, its run.toml drafted.

A column is taken for a role only where its heading or unit says so; the rest is asked with "?". Start at `roles_of`.
"""

import json
import re
from collections.abc import Iterator, Mapping, Sequence

from headrace.files.loggers.report import ColumnReport, Understanding
from headrace.records.given import Instrument
from headrace.units import Dimension, find_unit

MOST = 200
"""Rows of a table of catches, at most: a logger writes more."""

OPEN = "?"
WORDS: Mapping[str, frozenset[str]] = {
    "full": frozenset(("full", "gross", "filled", "after", "brutto")),
    "empty": frozenset(("empty", "tare", "before", "leer")),
    "mass": frozenset(("mass", "net", "weight", "water", "catch", "caught", "netto")),
    "duration": frozenset(("time", "duration", "stopwatch", "seconds", "sec", "t")),
    "pressure": frozenset(("p", "pressure", "gauge", "dp", "manifold", "tap")),
    "temperature": frozenset(("temp", "temperature")),
    "number": frozenset(("no", "nr", "number", "repeat", "rep", "trial", "shot", "test", "run")),
    "group": frozenset(("group", "set", "series", "point", "level")),
}
DIMENSIONS = {
    "full": "mass", "empty": "mass", "mass": "mass", "duration": "time", "pressure": "pressure",
    "temperature": "temperature",
}  # fmt: skip


def roles_of(understanding: Understanding) -> dict[str, ColumnReport] | None:
    """The column of each role; None when this is no table of catches.

    It is one when its rows are few and some column is a mass, another a duration, both by their headings.
    """
    if understanding.rows > MOST:
        return None
    roles: dict[str, ColumnReport] = {}
    for role in WORDS:
        fit = [one for one in understanding.columns if one not in roles.values() and _fits(one, role)]
        if role in ("number", "group"):
            fit = [one for one in fit if _whole(one)]
        best = [one for one in fit if _stated(one, DIMENSIONS.get(role, ""))] or fit
        if len(best) == 1:
            roles[role] = best[0]
    weighed = {"mass", "full", "empty"} & set(roles)
    stated = any(_stated(roles[role], "mass") for role in weighed)
    named = weighed and ({"full", "empty"} <= weighed or words(roles[min(weighed)].name) & WORDS["mass"])
    if not (stated or named) or "duration" not in roles:
        return None
    return None if _a_log(understanding, roles) else roles


def _a_log(understanding: Understanding, roles: Mapping[str, ColumnReport]) -> bool:
    """Whether its durations are a clock: they rise from row to row, and nothing says full and empty."""
    rising = understanding.time.column == roles["duration"].name and not (
        understanding.bad_lines or understanding.time.backward_steps or len(understanding.segments) > 1
        or understanding.time.repeats
    )  # fmt: skip
    return rising and not {"full", "empty"} <= set(roles)


def words(name: str) -> frozenset[str]:
    """Lower-case words of a heading."""
    return frozenset(re.findall(r"[^\W\d_]+", name.casefold()))


def _fits(one: ColumnReport, role: str) -> bool:
    said = words(one.name) & WORDS[role]
    dimension = DIMENSIONS.get(role)
    if one.unit is not None and dimension is not None and find_unit(one.unit, Dimension(dimension)) is None:
        return False
    if role == "mass" and words(one.name) & (WORDS["full"] | WORDS["empty"]):
        return False
    return bool(said) or (role not in ("full", "empty") and dimension is not None and _stated(one, dimension))


def _stated(one: ColumnReport, dimension: str) -> bool:
    return bool(dimension) and one.unit is not None and find_unit(one.unit, Dimension(dimension)) is not None


def _whole(one: ColumnReport) -> bool:
    return all(value is not None and float(value).is_integer() for value in (one.min, one.max))


def catch_lines(roles: Mapping[str, ColumnReport], instruments: Mapping[str, Instrument]) -> Iterator[str]:
    """The [catch] table of the draft."""
    yield "[catch]                       # one row of the file is one catch"
    yield 'timing = "?"                  # limits of one timing, start and stop: by hand "0.2 s" or more'
    scales = _tags(instruments, "mass")
    yield (
        f"scale = {_only(scales)}{_choices(scales)}"
        if scales
        else '# scale = "SCALE-1"   # its tag, once bench.toml has it'
    )
    both = {"full", "empty"} & set(roles)
    for role in ("full", "empty") if both else ("mass",):
        yield f"{role} = {_column(roles.get(role), 'mass')}"
    yield f"duration = {_column(roles.get('duration'), 'time')}"
    yield f"pressure = {_column(roles.get('pressure'), 'pressure')}"
    if "temperature" in roles:
        thermometers = _tags(instruments, "temperature")
        off = "" if thermometers else "# "
        yield f"{off}temperature = {_column(roles['temperature'], 'temperature')}"
        yield f"{off}thermometer = {_only(thermometers)}{_choices(thermometers)}"
    for role in ("group", "number"):
        if role in roles:
            yield f"{role} = {quoted(roles[role].name)}"


def taps(instruments: Mapping[str, Instrument]) -> list[str]:
    """Instruments that may have been read at the tap."""
    return sorted(tag for tag, one in instruments.items() if one.measures in ("gauge", "abs", "drop"))


def warm(roles: Mapping[str, ColumnReport], instruments: Mapping[str, Instrument]) -> bool:
    """Whether a thermometer was read for each catch."""
    return "temperature" in roles and bool(_tags(instruments, "temperature"))


def _tags(instruments: Mapping[str, Instrument], measures: str) -> list[str]:
    return sorted(tag for tag, one in instruments.items() if one.measures == measures)


def _only(tags: Sequence[str]) -> str:
    return quoted(tags[0] if len(tags) == 1 else OPEN)


def _choices(tags: Sequence[str]) -> str:
    return f"   # one of {', '.join(tags)}" if len(tags) > 1 else ""


def _column(one: ColumnReport | None, dimension: str) -> str:
    if one is None:
        return f'{{ column = "{OPEN}" }}'
    unit = "" if _stated(one, dimension) else f', unit = "{OPEN}"'
    return f"{{ column = {quoted(one.name)}{unit} }}"


def quoted(text: str) -> str:
    """A text as a TOML string."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
