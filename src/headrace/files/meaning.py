"""What the numbers of a raw file may be besides what run.toml calls them: told, never guessed at.

Raw volts or counts under the name of a pressure, two columns that are one, a date or run in a name that is not that of
the run. Start at `doubts_of_column` and `doubts_of_file`.
"""

import datetime
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

import numpy as np

from headrace.files.loggers.delimited import Record
from headrace.files.schema.instruments import MEASURES
from headrace.notices import Notice, Severity
from headrace.records.given import Array, Instrument
from headrace.units import format_value

BEYOND = 0.1
"""Share of span by which values may lie outside the range: beyond it no instrument shows anything. Common practice."""

SOME, MOST = 0.01, 0.5
"""Share of the samples out there from which it is a doubt, and from which the column is something else."""

LIVE = (
    (1.0, 5.0, "1 to 5 V"),
    (0.5, 4.5, "0.5 to 4.5 V"),
    (2.0, 10.0, "2 to 10 V"),
    (4.0, 20.0, "4 to 20 mA"),
)
"""Signals that do not begin at none: what they show at rest and at most."""

NEAR = 0.03
"""Share of such a signal's span within which a rest counts as its live zero. Common practice."""

ENDS = 10
"""Samples at either end of a record that stand for rest: a gauge before a shut valve holds pressure at one of them."""

VARIED = 10
"""Different values from which two columns that are the same are more than a coincidence."""


def doubts_of_column(
    where: str, column: str, instrument: Instrument, stored: Array, values: Array
) -> Iterator[Notice]:
    """Values that do not fit the range of their instrument, or rest where a raw signal rests.

    Args:
        stored: as the file has them. values: in SI of what the instrument measures.
    """
    known = values[np.isfinite(values)]
    if known.size == 0:
        return
    slack = BEYOND * instrument.span
    out = (known < instrument.low - slack) | (known > instrument.high + slack)
    share = float(np.mean(out))
    span = " to ".join(_text(instrument, end) for end in (instrument.low, instrument.high))
    if share > SOME and instrument.signal_unit != "A":  # a loop out of its limits is told as such
        found = " to ".join(_text(instrument, float(end)) for end in np.percentile(known, [2, 98]))
        yield Notice(
            code="values-not-in-range",
            severity=Severity.STOP if share > MOST else Severity.DOUBT,
            about=f'{where}, column "{column}"',
            facts=(("share", share), ("low", instrument.low), ("high", instrument.high)),
            limit=f"{100 * BEYOND:g} % of span beyond the range for more than {100 * SOME:g} % of the samples, common "
            "practice",
            text=f'{where}, column "{column}": {100 * share:.0f} % of its values lie beyond what {instrument.tag} can '
            f"show, {span}; most lie between {found}.",
            try_="raw volts or counts (then give the instrument its `signal`), another unit, another column, or a "
            "broken wire; look with `bring --look` and compare with a gauge at one point",
        )
    elif instrument.signal is None and instrument.measures in ("gauge", "drop"):
        yield from _live_zero(where, column, instrument, stored[np.isfinite(stored)])


def _live_zero(where: str, column: str, instrument: Instrument, stored: Array) -> Iterator[Notice]:
    if stored.size < 4 * ENDS:
        return
    rest, top = float(np.median(stored[:ENDS])), float(np.percentile(stored, 99.5))
    ends = np.concatenate((stored[:ENDS], stored[-ENDS:]))
    for zero, full, words in LIVE:
        near = NEAR * (full - zero)
        if np.all(np.abs(ends - zero) <= near) and zero + 2 * near < top <= full + near:
            yield Notice(
                code="values-not-in-range",
                severity=Severity.DOUBT,
                about=f'{where}, column "{column}"',
                facts=(("low", rest), ("high", top)),
                limit="the live zero of a usual signal, within 3 % of its span, common practice",
                text=f'{where}, column "{column}" rests at {rest:.4g} and goes up to {top:.4g}: that is how a raw '
                f"signal of {words} looks. {instrument.tag} should rest at none.",
                try_=f'if they are raw, give {instrument.tag} its `signal` in bench.toml, as ["4 mA", "20 mA"], '
                "and the column its unit; if not, say why it does not rest at none (a tare takes it off)",
            )
            return


def _text(instrument: Instrument, value: float) -> str:
    measure = MEASURES[instrument.measures]
    return format_value(value, dimension=measure.dimension, kind=measure.kind, digits=4)


def twins(where: str, record: Record, mapped: Mapping[str, str]) -> Iterator[Notice]:
    """Pairs of mapped columns that hold the same values throughout; mapped: column in the file to tag."""
    for (one, a), (other, b) in combinations(mapped.items(), 2):
        first, second = record.columns[one], record.columns[other]
        if not np.array_equal(first[:64], second[:64], equal_nan=True):
            continue
        if (
            np.array_equal(first, second, equal_nan=True)
            and np.unique(first[np.isfinite(first)]).size > VARIED
        ):
            yield Notice(
                code="columns-identical",
                severity=Severity.DOUBT,
                about=f'{where}, columns "{one}" and "{other}"',
                text=f'{where}: columns "{one}" ({a}) and "{other}" ({b}) hold the same values in every row.',
                try_="two channels never agree to the last digit: one of them was logged twice, or stands in for the "
                "other; touch one line and see which moves",
            )


def doubts_of_file(where: str, run: str, date: datetime.date, record: Record) -> Iterator[Notice]:
    """A start, or a name, that speaks of another day or another run: both are shown, neither is trusted."""
    file = where.rpartition("/")[2]
    if record.t0 is not None:
        began = datetime.datetime.fromtimestamp(record.t0, datetime.UTC).date()
        apart = abs((began - date).days)
        if apart > (
            1 if record.report.dialect.time.zone else 0
        ):  # with a zone the bench's own day may be the next one
            yield _differs(where, "date-differs", f"begins on {began}", f"the run is dated {date}")
    said = dates_in(file)
    if said and date not in said:
        words = " or ".join(map(str, said))
        yield _differs(where, "date-differs", f"says {words} in its name", f"the run is dated {date}")
    other = _another_run(file, run)
    if other is not None:
        yield _differs(where, "name-differs", f'says "{other}" in its name', f"it lies in run {run}")


def doubts_of_circuit(
    where: str, sheet: str | None, own: Sequence[str], circuits: Sequence[str]
) -> Iterator[Notice]:
    """A name of the file, or of its sheet or group, that speaks of another circuit than those of the run.

    Args:
        own: ids of the run's circuits. circuits: all of the article; one letter is no name.
    """
    for name, what in ((where.rpartition("/")[2], "in its name"), (sheet or "", "as the name of its table")):
        said = _words(name)
        if any(_within(_words(one), said) for one in own):
            continue
        others = [one for one in circuits if len(one) > 1 and one not in own and _within(_words(one), said)]
        if others:
            words = " and ".join(f'"{one}"' for one in others)
            yield _differs(
                where, "name-differs", f"says {words} {what}", f"its flow is into {', '.join(own)}"
            )


def _words(name: str) -> list[str]:
    return re.findall(r"[^\W\d_]+|\d+", name.casefold())


def _within(part: list[str], whole: list[str]) -> bool:
    return bool(part) and any(whole[at : at + len(part)] == part for at in range(len(whole)))


def _differs(where: str, code: str, seen: str, against: str) -> Notice:
    return Notice(
        code=code,
        severity=Severity.DOUBT if code == "date-differs" else Severity.INFO,
        about=where,
        text=f"{where} {seen}; {against}.",
        try_="find out which is true: a clock that was not set, a file of another run, or a slip in run.toml",
    )


def dates_in(name: str) -> tuple[datetime.date, ...]:
    """Every day that a date in a file name may mean, the two readings of an ambiguous one included.

    >>> [str(day) for day in dates_in("run_2026-03-12_a.csv")], [str(day) for day in dates_in("03.04.2026.txt")]
    (['2026-03-12'], ['2026-04-03', '2026-03-04'])
    """
    out: dict[datetime.date, None] = {}
    for year, month, day in re.findall(r"(?<!\d)(20\d\d)[-_.]?(\d\d)[-_.]?(\d\d)(?!\d)", name):
        out.update(_day(year, month, day))
    for one, two, year in re.findall(r"(?<!\d)(\d\d?)[-_.](\d\d?)[-_.](20\d\d)(?!\d)", name):
        out.update(_day(year, two, one))
        out.update(_day(year, one, two))
    return tuple(out)


def _day(year: str, month: str, day: str) -> dict[datetime.date, None]:
    try:
        return {datetime.date(int(year), int(month), int(day)): None}
    except ValueError:
        return {}


def _another_run(file: str, run: str) -> str | None:
    """A word of the file name that is built like the run's id and is not it."""
    shape = re.fullmatch(r"([A-Za-z]+)0*(\d+)", run)
    if shape is None:
        return None
    found = re.findall(rf"(?<![A-Za-z0-9])({re.escape(shape[1])}0*(\d+))(?![A-Za-z0-9])", file, re.IGNORECASE)
    if not found or any(int(number) == int(shape[2]) for _, number in found):
        return None
    return str(found[0][0])
