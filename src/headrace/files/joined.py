"""Raw files of several loggers joined on the clock of the run's own file. Start at `read_joined`.

Each further file says how its clock meets the first one: what to add to its time, or an event that both saw. Its
channels are taken to the rows of the run's own file by straight lines between their samples, never beyond them and
never over a hole. What is left in doubt of the clocks becomes an error of the time of every channel of that file.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from headrace.files.cache import Cache
from headrace.files.document import Document
from headrace.files.loggers.delimited import Record
from headrace.files.meaning import doubts_of_file
from headrace.files.schema.fields import meant, shown
from headrace.files.schema.run import AlsoTable, EventTable, RunTable
from headrace.files.traces import RawFile, Told, column_place, read_raw, trace_of
from headrace.notices import Notice, Severity
from headrace.records.given import Array, Instrument, Joined, TimeShift, Trace
from headrace.stats.alone import FEW, LEAST, MOST, standing_alone

BRIDGED = 5.0
"""Usual steps of a file beyond which the time between two of its samples is not bridged. Common practice."""

LASTS = 3
"""Samples that must stay beyond half of the step, so that one wild value makes no event."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """How a clock meets the run's: time here = offset + rate * time there [s], and the standard uncertainty of that."""

    offset: float
    rate: float
    u: float
    dist: str
    origin: str


def read_joined(
    folder: Path,
    document: Document,
    table: RunTable,
    instruments: Mapping[str, Instrument],
    told: Told,
    cache: Cache,
) -> tuple[Trace | None, dict[str, str]]:
    """The trace of one run out of all its raw files, and their hashes by path; arguments as in
    `traces.read_raw`."""
    home = document.file.rpartition("/")[0]
    own, sha256 = read_raw(folder, document, table, instruments, told, cache)
    hashes = {f"{home}/{table.file}": sha256} if sha256 else {}
    run = Path(home).name
    trace = trace_of(own) if own is not None and own.whole else None
    if own is not None:
        told.notices.extend(doubts_of_file(own.origin.file, run, table.date, own.record))
    for index, one in enumerate(table.also):
        part = document.part(("also", index))
        raw, sha256 = read_raw(folder, part, one, instruments, told, cache)
        hashes |= {f"{home}/{one.file}": sha256} if sha256 else {}
        if raw is not None:
            told.notices.extend(doubts_of_file(raw.origin.file, run, table.date, raw.record))
        if raw is None or own is None or trace is None or not raw.whole:
            trace = None
            continue
        meeting = _meeting(part, one, own, raw, told)
        trace = None if meeting is None else _join(home, part, one, trace, raw, meeting, instruments, told)
    return trace, hashes


def _meeting(document: Document, table: AlsoTable, own: RawFile, raw: RawFile, told: Told) -> Meeting | None:
    rate, u_rate = (table.clock_rate.value, table.clock_rate.u) if table.clock_rate else (1.0, 0.0)
    times = raw.record.time
    if table.offset is not None:
        drifts = u_rate * float(np.max(np.abs(times)))
        both = float(np.hypot(table.offset.u, drifts))
        return Meeting(offset=table.offset.value, rate=rate, u=both, origin=f"{document.file}, offset as stated",
                       dist=table.offset.dist if drifts == 0 else "normal")  # fmt: skip
    event = table.event
    assert event is not None
    here = _seen(document, ("event", "here"), event.here, own, told)
    there = _seen(document, ("event", "there"), event.there, raw, told)
    if here is None or there is None:
        return None
    drifts = u_rate * float(np.max(np.abs(times - there[0])))
    u = float(np.sqrt(event.u**2 + here[1] ** 2 / 12 + there[1] ** 2 / 12 + drifts**2))
    return Meeting(
        offset=here[0] - rate * there[0], rate=rate, u=u, dist="normal", origin=_words(document, event)
    )


def _words(document: Document, event: EventTable) -> str:
    return (
        f"{document.file}: {' '.join(event.here)} here when {' '.join(event.there)} there, and their sampling"
    )


def _seen(
    document: Document, path: tuple[str, str], event: list[str], raw: RawFile, told: Told
) -> tuple[float, float] | None:
    """When a column passed half of its step, and the time between the samples around that [s]; None, told, if never."""
    name, way = event
    values = raw.channels.get(name)
    if values is None:
        place = column_place(raw.record, name)
        if place is None:
            names = (*raw.channels, *raw.record.report.dialect.names)
            told.problems.append(document.problem(path, shown(name), f"a column of {raw.origin.file}, or its tag",
                                                  meant(name, names)))  # fmt: skip
            return None
        values = raw.record.columns[raw.record.report.dialect.names[place]]
    found = passes(raw.record.time, values, way)
    if found is None:
        told.problems.append(document.problem(path, f'"{name}", which never {way} through half of its step',
                                              f"a signal of {raw.origin.file} that {way} once and stays there a while",
                                              "name another column, or give `offset`"))  # fmt: skip
    return found


def passes(time: Array, values: Array, way: str) -> tuple[float, float] | None:
    """First time at which a signal passes half of its step, by a straight line between the samples around it.

    Args:
        time: (n,) [s]. values: (n,) any unit, NaN are passed over. way: "rises" or "falls".
    Returns:
        That time, and the time between those two samples [s]; None when it never does.
    """
    known = np.isfinite(values)
    t, x = time[known], values[known] if way == "rises" else -values[known]
    if x.size < 2 * LASTS:
        return None
    low, high = np.percentile(x, [2, 98])
    half = float(0.5 * (low + high))
    above: NDArray[np.bool_] = np.array(x >= half, dtype=bool)
    stays: NDArray[np.bool_] = np.logical_and.reduce(
        np.lib.stride_tricks.sliding_window_view(above, LASTS), axis=1
    )
    steps = np.flatnonzero(~above[: stays.size - 1] & stays[1:])
    if steps.size == 0 or not high > low:
        return None
    at = int(steps[0])
    share = (half - x[at]) / (x[at + 1] - x[at])
    step = float(t[at + 1] - t[at])
    return float(t[at] + share * step), step


def _join(
    home: str,
    document: Document,
    table: AlsoTable,
    trace: Trace,
    raw: RawFile,
    meeting: Meeting,
    instruments: Mapping[str, Instrument],
    told: Told,
) -> Trace | None:
    """The trace with the channels of one more file."""
    times = meeting.offset + meeting.rate * raw.record.time
    steps = np.diff(times)
    usual = float(np.median(steps[steps > 0])) if np.any(steps > 0) else 0.0
    bridge = table.bridge if table.bridge is not None else BRIDGED * usual
    channels = dict(trace.channels)
    for tag, values in raw.channels.items():
        alone = _alone(raw, tag, instruments[tag], told)
        channels[tag] = resampled(trace.time, times, np.where(alone, np.nan, values), bridge)
    lost = [tag for tag in raw.channels if not np.isfinite(channels[tag]).any()]
    if lost:
        told.problems.append(document.problem(
            ("offset",) if table.offset is not None else ("event",),
            f"{table.file}, from {times[0]:.2f} s to {times[-1]:.2f} s on the clock of the run, without a value of "
            f"{', '.join(lost)} there", f"a record that overlaps the run's own, {trace.time[0]:.2f} s to "
            f"{trace.time[-1]:.2f} s", "check the sign of the offset (what to add to its times), or `bridge`",
        ))  # fmt: skip
        return None
    name = f"{Path(home).name}.{Path(table.file).stem}.skew"
    shift = TimeShift(name=name, u=meeting.u, dist=meeting.dist, origin=meeting.origin)
    told.notices.append(Notice(
        code="files-joined", severity=Severity.INFO, about=raw.origin.file,
        facts=(("offset", meeting.offset), ("skew_u", meeting.u)),
        text=f"{raw.origin.file} is joined to the run's own file: {meeting.offset:+.3f} s, standard uncertainty "
             f"{1e3 * meeting.u:.3g} ms ({meeting.origin}).",
        try_="" if meeting.u > 0 else "state how sure that is: offset = \"1.32 s ± 0.05 s\"",
    ))  # fmt: skip
    return replace(
        trace, pulses=trace.pulses | raw.pulses, skews={**trace.skews, **raw.skews}, channels=channels,
        bad=trace.bad + raw.bad,
        shifts={**trace.shifts, **(dict.fromkeys(raw.channels, (shift,)) if meeting.u > 0 else {})},
        others=(*trace.others, Joined(origin=raw.origin, lines=_lines(trace.time, times, raw.record))),
    )  # fmt: skip


def _alone(raw: RawFile, tag: str, instrument: Instrument, told: Told) -> NDArray[np.bool_]:
    """Wild values of one channel, before a straight line would spread them; told. Too many are left as they are."""
    values = raw.channels[tag]
    alone = standing_alone(values, starts=raw.record.breaks, least=LEAST * instrument.span)
    rows = np.flatnonzero(alone)
    share = rows.size / max(int(np.count_nonzero(np.isfinite(values))), 1)
    if rows.size == 0 or (rows.size > FEW and share > MOST):
        return np.zeros_like(alone)
    first = int(raw.record.lines[rows[0]])
    told.notices.append(Notice(
        code="values-set-aside", severity=Severity.INFO, about=f"{raw.origin.file}, channel {tag}",
        facts=(("values_aside", float(rows.size)), ("share", share), ("first_line", float(first))),
        text=f"{raw.origin.file}, {tag}: {rows.size} value{'s stand' if rows.size > 1 else ' stands'} alone among "
             f"neighbours, left out; the first in line {first}.",
        limit="as for the run's own file", try_="look at these lines of the raw file; it is not changed",
    ))  # fmt: skip
    return alone


def resampled(at: Array, times: Array, values: Array, bridge: float) -> Array:
    """Values at other times by straight lines; NaN outside, and between samples farther apart than `bridge`.

    Args:
        at: (n,) [s]. times: (m,) of the values [s]. bridge: longest time between two samples [s].
    """
    known = np.isfinite(values)
    order = np.argsort(times[known], kind="stable")  # a clock that was set back
    t, x = times[known][order], values[known][order]
    if t.size < 2:
        return np.full(at.size, np.nan)
    after = np.clip(np.searchsorted(t, at, side="right"), 1, t.size - 1)
    apart = t[after] - t[after - 1]
    good = (at >= t[0]) & (at <= t[-1]) & ((apart <= bridge) | (at == t[after - 1]) | (at == t[after]))
    return np.where(good, np.interp(at, t, x), np.nan)


def _lines(at: Array, times: Array, record: Record) -> NDArray[np.int64]:
    """For each time the line of the last row at or before it; 0 where there is none or the file has ended."""
    place = np.searchsorted(times, at, side="right") - 1
    inside = (place >= 0) & (at <= times[-1])
    return np.where(inside, record.lines[np.clip(place, 0, None)], 0).astype(np.int64)
