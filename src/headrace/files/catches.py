"""Catch-and-weigh points of a small bench: columns of a table, or rows typed in run.toml, to a `Catches` record in SI.

Rows that lack a value are left out and told; a unit that nobody states is asked. Start at `read_catches`.
"""

from collections.abc import Mapping
from itertools import pairwise
from math import sqrt
from pathlib import Path

import numpy as np

from headrace.errors import QuantityError
from headrace.files.cache import Cache
from headrace.files.document import Document
from headrace.files.loggers.delimited import Record
from headrace.files.schema.fields import meant, number_of
from headrace.files.schema.instruments import MEASURES
from headrace.files.schema.run import CatchColumn, CatchTable, RunTable
from headrace.files.traces import Told, column_place, misfit, raw_record, row_by_row
from headrace.files.validate import quantity_problem
from headrace.notices import Notice, Severity
from headrace.records.given import Array, Catches, Instrument, Origin
from headrace.units import Dimension, find_unit, to_si

ALIKE = 0.05
"""Relative difference of pressure up to which rows, one after the other, are repeats when nothing else says so."""

EXAMPLES = {"mass": "kg", "time": "s", "temperature": "degC"}


def read_catches(
    folder: Path,
    document: Document,
    table: RunTable,
    instruments: Mapping[str, Instrument],
    told: Told,
    cache: Cache,
) -> tuple[Catches | None, Origin | None]:
    """The catches of one run and where they stand; None (and what is wrong in `told`) when they cannot be used."""
    catch = table.catch
    tap = instruments.get(table.flow[0].p_tap)
    if catch is None or tap is None:
        return None, None  # told as a pointer to nothing, or with its own table
    if catch.row:
        return _typed(document, catch, tap, told), None
    if table.file is None:
        return None, None  # told with what the run needs
    record, where, sha256 = raw_record(folder, document, table, told, cache, row_by_row)
    if record is None:
        return None, None
    origin = Origin(file=where, sha256=sha256, lines=(int(record.lines[0]), int(record.lines[-1])))
    return _of_columns(record, document, catch, tap, told, where), origin


def _typed(document: Document, catch: CatchTable, tap: Instrument, told: Told) -> Catches | None:
    """The rows of run.toml."""
    number = MEASURES[tap.measures].number
    before = len(told.problems)
    pressure = []
    for index, one in enumerate(catch.row):
        try:
            pressure.append(number_of(number.read(one.pressure)))
        except QuantityError as fault:
            told.problems.append(quantity_problem(document, ("catch", "row", index, "pressure"), fault))
    if len(told.problems) > before:
        return None
    mass = np.array([_net(one.mass, one.full, one.empty) for one in catch.row])
    warm = [one.temperature for one in catch.row]
    words = [one.group for one in catch.row]
    lines = np.array([document.line(("catch", "row", index)) or 0 for index in range(len(catch.row))])
    return _joined(
        catch, mass, np.array([one.duration for one in catch.row]), np.array(pressure),
        np.array(warm, dtype=np.float64) if all(one is not None for one in warm) else None,
        [one != other for one, other in pairwise(words)] if any(words) else None, lines,
    )  # fmt: skip


def _net(mass: float | None, full: float | None, empty: float | None) -> float:
    return mass if mass is not None else (full or 0.0) - (empty or 0.0)


def _of_columns(
    record: Record, document: Document, catch: CatchTable, tap: Instrument, told: Told, where: str
) -> Catches | None:
    """The rows of a file."""
    before = len(told.problems), len(told.questions)

    def column(key: str, dimension: str) -> Array | None:
        given: CatchColumn | None = getattr(catch, key)
        return None if given is None else _column(record, document, key, given, dimension, tap, told)

    net, full, empty = (column(key, "mass") for key in ("mass", "full", "empty"))
    duration, pressure = column("duration", "time"), column("pressure", "pressure")
    temp = column("temperature", "temperature")
    marks = [_marks(record, document, key, getattr(catch, key), told) for key in ("group", "number")]
    if before != (len(told.problems), len(told.questions)) or duration is None or pressure is None:
        return None
    mass = net if net is not None else (full - empty if full is not None and empty is not None else None)
    if mass is None:
        return None
    good = np.isfinite(mass) & np.isfinite(duration) & np.isfinite(pressure)
    good &= np.isfinite(temp) if temp is not None else True
    if not good.all():
        out = record.lines[~good].tolist()
        told.notices.append(Notice(
            code="lines-refused", severity=Severity.INFO, about=where, facts=(("lines_refused", float(len(out))),),
            text=f"{where}: rows in line {', '.join(map(str, out[:10]))} lack a mass, a duration or a pressure and "
                 "are not used.",
            try_="fill them in a copy that is brought anew, or leave them",
        ))  # fmt: skip
    wrong = good & ~((mass > 0) & (duration > 0))
    for line in record.lines[wrong].tolist()[:5]:
        told.problems.append(document.problem(
            ("catch",), f"{where}, line {line}: a net mass or a duration that is not above 0",
            "full above empty, durations above 0", "are two columns swapped?",
        ))  # fmt: skip
    if wrong.any() or not good.any():
        return None
    rows = np.flatnonzero(good)
    new = _new_groups(marks[0], marks[1], rows)
    return _joined(catch, mass[good], duration[good], pressure[good], temp[good] if temp is not None else None,
                   new, record.lines[good])  # fmt: skip


def _new_groups(label: Array | None, number: Array | None, rows: np.ndarray) -> list[bool] | None:
    """Where a group begins, row against the row before: another label, or a number that starts again."""
    if label is not None:
        return [bool(label[b] != label[a]) for a, b in pairwise(rows)]
    if number is not None:
        return [not number[b] > number[a] for a, b in pairwise(rows)]
    return None


def _joined(
    catch: CatchTable, mass: Array, duration: Array, pressure: Array, temp: Array | None,
    new: list[bool] | None, lines: np.ndarray,
) -> Catches:  # fmt: skip
    if new is None:
        new, first = [], pressure[0]
        for value in pressure[1:]:
            apart = abs(value - first) > ALIKE * max(abs(value), abs(first))
            first = value if apart else first
            new.append(bool(apart))
    group = np.concatenate(([0], np.cumsum(new))).astype(np.int64)
    return Catches(
        mass=mass, duration=duration, indicated=pressure, temp=temp, group=group, lines=lines.astype(np.int64),
        scale=catch.scale, thermometer=catch.thermometer, u_timing=catch.timing / sqrt(3),
        u_timing_shared=catch.timing_shared / sqrt(3),
    )  # fmt: skip


def _place(record: Record, document: Document, key: str, name: str, told: Told) -> int | None:
    place = column_place(record, name)
    names = record.report.dialect.names
    if place is None:
        said = ", ".join(f'"{one}"' for one in names)
        told.problems.append(document.problem(("catch", key), f'column "{name}"', f"a column of the raw file: {said}",
                                              meant(name, names)))  # fmt: skip
    elif not np.isfinite(record.columns[names[place]]).any():
        other = (
            "leave it out: repeats are then known by their pressures" if key in ("group", "number") else ""
        )
        told.problems.append(document.problem(("catch", key), f'column "{name}", which holds no number', "numbers",
                                              other or "look at it with `bring --look`"))  # fmt: skip
        return None
    return place


def _marks(record: Record, document: Document, key: str, name: str | None, told: Told) -> Array | None:
    """Labels or numbers of the rows."""
    place = None if name is None else _place(record, document, key, name, told)
    return None if place is None else record.columns[record.report.dialect.names[place]]


def _column(
    record: Record,
    document: Document,
    key: str,
    given: CatchColumn,
    dimension: str,
    tap: Instrument,
    told: Told,
) -> Array | None:
    """One column in SI; a unit that neither heading nor run.toml names is asked."""
    place = _place(record, document, key, given.column, told)
    if place is None:
        return None
    dialect = record.report.dialect
    text = given.unit if given.unit is not None else dialect.units[place]
    pressed = dimension == "pressure"
    fault = misfit(tap, given.column, text) if pressed else _unfit(given.column, text, dimension)
    if fault is not None:
        (told.questions if text is None else told.problems).append(
            quantity_problem(document, ("catch", key), fault)
        )
        return None
    hit = find_unit(text or "", Dimension(dimension))
    if hit is None:
        told.problems.append(document.problem(("catch", key), f'column "{given.column}" in "{text}"',
                                              f"a unit of {dimension}, as {tap.tag} shows it", ""))  # fmt: skip
        return None
    if given.unit is not None and dialect.units[place]:
        said = find_unit(dialect.units[place] or "", Dimension(dimension))
        if said is not None and said[0] != hit[0]:
            told.notices.append(Notice(
                code="unit-against-heading", severity=Severity.DOUBT, about=f'{document.file}, column "{given.column}"',
                text=f'Column "{given.column}" is taken in "{given.unit}", as {document.file} says; the raw file says '
                     f'"{dialect.units[place]}".',
                try_=f"find out which is true; where the file is right, leave `unit` out of {document.file}",
            ))  # fmt: skip
    return np.asarray(to_si(record.columns[dialect.names[place]], hit[0]))


def _unfit(name: str, text: str | None, dimension: str) -> QuantityError | None:
    """Why a column in this unit (None: unstated) is no column of masses, durations or temperatures."""
    example = f'{{ column = "{name}", unit = "{EXAMPLES[dimension]}" }}'
    if text is None:
        return QuantityError(
            f'column "{name}", whose heading names no unit', f"its unit of {dimension}", example
        )
    if find_unit(text, Dimension(dimension)) is None:
        return QuantityError(f'column "{name}" in "{text}"', f"a unit of {dimension}", example)
    return None
