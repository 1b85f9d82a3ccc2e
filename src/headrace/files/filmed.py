"""Gauges read off photographs or film: typed values over time become channels of the run's record.

With a raw file the frames go to its clock, straight from frame to frame and nothing outside them; without one the
frames of all films together are the clock. Start at `with_films`.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from headrace.bench.instruments.at_work import BY_EYE
from headrace.errors import Problem, QuantityError
from headrace.files.document import Document
from headrace.files.schema.fields import Number, V, number_of
from headrace.files.schema.instruments import MEASURES
from headrace.files.schema.run import FilmedTable, RunTable
from headrace.files.validate import quantity_problem
from headrace.records.filmed import Filmed
from headrace.records.given import Array, Instrument, Origin, TimeShift, Trace

FEWEST = 3
"""Frames without which there is no course of a value."""

TIME = V("time")


@dataclass(slots=True, kw_only=True)
class _Film:
    """One gauge on film as read; times None where its values stand in a raw file."""

    tag: str
    filmed: Filmed
    shift: TimeShift | None
    times: Array | None
    values: Array | None


def with_films(
    run: str,
    document: Document,
    table: RunTable,
    instruments: Mapping[str, Instrument],
    trace: Trace | None,
    problems: list[Problem],
) -> Trace | None:
    """The record of a run with its filmed gauges as channels; as it was where none was filmed or something is wrong.

    trace: of its raw files, None without.
    """
    films = [
        film
        for index, one in enumerate(table.filmed)
        if (film := _read(run, document, index, one, instruments, problems)) is not None
    ]
    problems += _of_values(document, table)
    if (
        len(films) < len(table.filmed)
        or not films
        or not any(one.values or table.file for one in table.filmed)
    ):
        return trace
    if trace is None:
        if table.file is not None:
            return None
        times = np.unique(np.concatenate([film.times for film in films if film.times is not None]))
        origin = Origin(file=document.file, sha256=document.sha256)
        trace = Trace(time=times, channels={}, lines=np.zeros(times.size, dtype=np.int64), origin=origin)
    channels = dict(trace.channels)
    for film in films:
        if film.times is not None and film.values is not None:
            channels[film.tag] = np.interp(trace.time, film.times, film.values, left=np.nan, right=np.nan)
    return replace(
        trace,
        channels=channels,
        filmed={film.tag: film.filmed for film in films},
        shifts={**trace.shifts, **{film.tag: (film.shift,) for film in films if film.shift is not None}},
    )


def _of_values(document: Document, table: RunTable) -> Iterator[Problem]:
    """Gauges whose values stand twice, or nowhere."""
    mapped = (table.channels, *(one.channels for one in table.also))
    logged = {one.instrument for channels in mapped for one in channels.values()}
    for index, one in enumerate(table.filmed):
        path = ("filmed", index, "values")
        if one.values and one.instrument in logged:
            yield document.problem(path, f'values of "{one.instrument}", to which a column is mapped too',
                                   "values here or in a raw file", "leave one of the two out")  # fmt: skip
        if not one.values and one.instrument not in logged:
            yield document.problem(path, "nothing", f'frames of "{one.instrument}", or a column mapped to it',
                                   'values = [["0.5 s", "12.4 bar(g)"], ...]')  # fmt: skip


def _read(
    run: str,
    document: Document,
    index: int,
    table: FilmedTable,
    instruments: Mapping[str, Instrument],
    problems: list[Problem],
) -> _Film | None:
    instrument = instruments.get(table.instrument)
    if instrument is None:
        return None  # told as a pointer to nothing
    place, before = ("filmed", index), len(problems)
    measure = MEASURES[instrument.measures]

    def number(path: tuple[str | int, ...], how: Number, text: str | float) -> float:
        try:
            return number_of(how.read(text))
        except QuantityError as error:
            problems.append(quantity_problem(document, (*place, *path), error))
            return 0.0

    division = instrument.division
    if table.division is not None:
        division = number(("division",), measure.step_number, table.division)
    parallax = 0.0 if table.parallax is None else number(("parallax",), measure.step_number, table.parallax)
    times: list[float] = []
    values: list[float] = []
    for row, pair in enumerate(table.values):
        if len(pair) != 2:
            found = QuantityError(f"{len(pair)} values", "two: time, value", '["0.5 s", "12.4 bar(g)"]')
            problems.append(quantity_problem(document, (*place, "values", row), found))
            continue
        times.append(number(("values", row, 0), TIME, pair[0]))
        values.append(number(("values", row, 1), measure.number, pair[1]))
    if len(problems) > before:
        return None
    if table.values and (len(times) < FEWEST or np.any(np.diff(times) <= 0)):
        wanted = QuantityError(
            f"{len(times)} frames" if len(times) < FEWEST else "times that do not rise",
            f"{FEWEST} frames or more, in the order of time", ""
        )  # fmt: skip
        problems.append(quantity_problem(document, (*place, "values"), wanted))
        return None
    shift = None
    if table.clock:
        name = f"{run}.{table.camera}.clock"
        shift = TimeShift(name=name, u=table.clock / sqrt(3), dist="rectangular",
                          origin=f"{document.file}, clock of {table.camera} against that of the run")  # fmt: skip
    return _Film(
        tag=table.instrument,
        filmed=Filmed(
            camera=table.camera,
            u_parallax=parallax / sqrt(3),
            step=None if division is None else 2 * division / BY_EYE,
            between=float(np.max(np.diff(times), initial=0.0)),
        ),
        shift=shift,
        times=np.array(times) if times else None,
        values=np.array(values) if times else None,
    )
