"""What `bring` drafts: run.toml of a new run, or the part of it that speaks of a second logger's file.

Columns are mapped where their names hold one tag and the unit fits. What neither the bytes nor the campaign say is
asked with "?", never guessed. Start at `draft` or `draft_also`.
"""

import datetime
import json
import re
import tomllib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from headrace.bench.meters import METERS
from headrace.bench.pairs import PAIRS
from headrace.errors import InputError, Problem
from headrace.files import build
from headrace.files.caught import catch_lines, roles_of, warm
from headrace.files.caught import taps as taps_of
from headrace.files.document import Document, dotted, read_document
from headrace.files.ledger import ledger
from headrace.files.loggers.report import Understanding
from headrace.files.references import found_at
from headrace.files.schema.bench import BenchTable
from headrace.files.schema.ledger import LedgerTable
from headrace.files.traces import logger_key, misfit, typed
from headrace.files.validate import questions_in, validate
from headrace.jobs.day.supply import supplied
from headrace.records.given import Instrument
from headrace.records.ledger import FILE, Ledger

OPEN = "?"

TAKEN = ("vessel.*.gauge", "line.*.temperature", *(f"meter.*.{role}" for role in sorted(
    {kind.role for kind in METERS.values()} | {name for pair in PAIRS.values() for name in pair} | {"p_up"}
)))  # fmt: skip
"""Where bench.toml names an instrument for another role than a circuit's tap."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """What the campaign says so far, for the draft: instruments that can be read, ids of circuits and lines, ledger."""

    instruments: Mapping[str, Instrument]
    circuits: tuple[str, ...]
    lines: tuple[str, ...]
    thermometers: Mapping[str, str]
    ledger: Ledger | None = None
    roles: frozenset[str] = frozenset()  # tags that have another role on the bench than a circuit's tap


def around_of(root: Path) -> Around:
    """As much of bench, article and ledger as can be read: a fault in them is no reason to lose a record."""
    bench, article = _document(root, "bench.toml"), _document(root, "article.toml")
    instruments: dict[str, Instrument] = {}
    thermometers: dict[str, str] = {}
    roles = {tag for where in TAKEN for _, tag in (found_at(bench.data, where) if bench else ())
             if isinstance(tag, str)}  # fmt: skip
    if bench is not None and (table := validate(bench, BenchTable).table) is not None:
        instruments = build.instruments(table.instrument, "bench.toml")
        thermometers = {one.id: one.temperature for one in table.line if one.temperature}
    return Around(instruments=instruments, thermometers=thermometers,
                   circuits=_ids(article, "circuit.*.id"), lines=_ids(bench, "line.*.id"),
                   ledger=_ledger(root, instruments), roles=frozenset(roles))  # fmt: skip


def _ledger(root: Path, instruments: Mapping[str, Instrument]) -> Ledger | None:
    document = _document(root, FILE) if (root / FILE).exists() else None
    table = validate(document, LedgerTable).table if document is not None and document.data else None
    faults: list[Problem] = []
    read = ledger(document, table, instruments, None, faults) if document is not None and table else None
    return None if faults else read


def _document(root: Path, file: str) -> Document | None:
    try:
        return read_document(root, file)
    except InputError:
        return None


def _ids(document: Document | None, where: str) -> tuple[str, ...]:
    return tuple(one for _, one in found_at(document.data, where) if isinstance(one, str)) if document else ()


def words(text: str) -> tuple[str, ...]:
    """The words of a name, for comparing: "DP-A" and "dp venturi (a)" share dp and a.

    >>> words("PM-OX [bar]")
    ('pm', 'ox', 'bar')
    """
    return tuple(re.findall(r"[^\W_]+", text.casefold()))


def _holds(whole: tuple[str, ...], part: tuple[str, ...]) -> bool:
    return bool(part) and any(whole[at : at + len(part)] == part for at in range(len(whole) - len(part) + 1))


def mapped_columns(
    understanding: Understanding, instruments: Mapping[str, Instrument]
) -> Iterator[tuple[str, tuple[Instrument, str | None]]]:
    """Columns that hold one tag, and no other column does, and whose unit fits; with their unit."""
    tags = {tag: words(tag) for tag in instruments}
    found: dict[str, list[str]] = {}
    for place, column in enumerate(understanding.columns):
        if place in understanding.dialect.time.columns or column.min is None:
            continue
        hits = [tag for tag, parts in tags.items() if _holds(words(column.name), parts)]
        best = [
            tag for tag in hits if not any(tag != other and _holds(tags[other], tags[tag]) for other in hits)
        ]
        if len(best) == 1:
            found.setdefault(best[0], []).append(column.name)
    units = {column.name: column.unit for column in understanding.columns}
    for tag, columns in found.items():
        unit = units[columns[0]]
        if len(columns) == 1 and (unit is None or misfit(instruments[tag], columns[0], unit) is None):
            yield columns[0], (instruments[tag], unit)


def quoted(text: str) -> str:
    """A text as a TOML string."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def one_line(text: str) -> str:
    """A text that may stand in a comment."""
    return "".join(sign if sign.isprintable() else " " for sign in text)


def draft(
    run: str,
    file: str,
    understanding: Understanding,
    mapped: Mapping[str, tuple[Instrument, str | None]],
    around: Around,
) -> str:
    """run.toml as far as the file and the campaign say it; "?" where they do not."""
    roles = roles_of(understanding)
    circuit = quoted(around.circuits[0] if len(around.circuits) == 1 else OPEN)
    line = quoted(around.lines[0] if len(around.lines) == 1 else OPEN)
    tags = {instrument.tag for instrument, _ in mapped.values()}
    taps = [
        one.tag
        for one, _ in mapped.values()
        if one.measures in ("gauge", "abs") and one.tag not in around.roles
    ]
    logged = len(around.lines) == 1 and around.thermometers.get(around.lines[0]) in tags
    if roles is not None:
        taps = [tag for tag in taps_of(around.instruments) if tag not in around.roles]
        logged = warm(roles, around.instruments)
    start = f"; the record begins at {one_line(understanding.time.start)}" if understanding.time.start else ""
    water = 'water_temperature = "?"  # as "17.2 degC ± 0.5 K"; not needed where the thermometer of the line is logged'
    out = [
        f"# Drafted by bring from {one_line(file)}: {understanding.rows} rows. A value of \"?\" is an open question;",
        "# the run is not used until each has its answer.",
        'kind = "water"               # water | hot',
        f'method = "{"metered" if roles is None else "bucket"}"'
        f"{' ' * (11 if roles is None else 12)}# metered | weighed | by-hand | long-minus-short | bucket",
        f'date = "?"                   # as 2026-03-12, without quotes{start}',
        _ambient(run, understanding.time.start, around.ledger),
        f"# {water}" if logged else water,
        f"file = {quoted(file)}",
        "",
        "[[flow]]",
        f"circuits = [{circuit}]{choices_of(around.circuits)}",
        f"lines = [{line}]{choices_of(around.lines)}",
        f"p_tap = {quoted(taps[0] if len(taps) == 1 else OPEN)}{choices_of(tuple(sorted(taps)))}",
        "",
        "[logger]",
        *_asked(understanding),
    ]  # fmt: skip
    if roles is not None:
        return "\n".join((*out, "", *catch_lines(roles, around.instruments))) + "\n"
    return "\n".join((*out, "", "[channels]", *_channel_lines(understanding, mapped))) + "\n"


def _ambient(run: str, start: str | None, said: Ledger | None) -> str:
    """The barometer's line: left to the ledger where that has it for this run, or for the day of its record."""
    asked = 'ambient = "?"                # barometer, as "1009 mbar(a) ± 1 mbar"'
    if said is None:
        return asked
    if (known := supplied(said, None, run, {}).ambient) is not None:
        return f'# ambient = "..."            # barometer: {known.origin} has it, {one_line(known.text)}'
    day = re.match(r"\d{4}-\d\d-\d\d", start or "")
    when = [said.date] if said.ambient is not None else []
    when += [one.moment.date() for one in said.events if one.what == "barometer"]
    if day is None or datetime.date.fromisoformat(day[0]) not in when:
        return asked
    return f'# ambient = "..."            # barometer: {FILE} has that of the day, once it has an event of run {run}'


def draft_also(
    file: str,
    understanding: Understanding,
    mapped: Mapping[str, tuple[Instrument, str | None]],
    seen: Collection[str],
) -> str:
    """The [[also]] table for a file of a second logger. seen: tags that the run has already."""
    start = (
        f"; this record begins at {one_line(understanding.time.start)}" if understanding.time.start else ""
    )
    channels = [*_channel_lines(understanding, mapped)]
    if not mapped and channels:  # one column at least is wanted, else there is no need of the file
        channels[0] = channels[0].removeprefix("# ")
    here = quoted(next(iter(seen), "PM-OX"))
    there = next((name for name, (one, _) in mapped.items() if one.measures != "temperature"), "column")
    return "\n".join((
        f"# Drafted by bring from {one_line(file)}: {understanding.rows} rows by another logger. A value of \"?\" is",
        "# an open question; the run is not used until each has its answer.",
        "[[also]]",
        f"file = {quoted(file)}",
        f'offset = "?"                 # to be added to its time, as "1.32 s ± 0.05 s"{start}',
        "# or, in place of offset, an event that both saw:",
        f'# event = {{ here = [{here}, "rises"], there = [{quoted(there)}, "rises"], u = "20 ms" }}',
        "",
        "[also.logger]",
        *_asked(understanding),
        "",
        "[also.channels]",
        *channels,
    )) + "\n"  # fmt: skip


def _asked(understanding: Understanding) -> Iterator[str]:
    """What the bytes leave open, as lines of a [logger] table."""
    for question in understanding.questions:
        said = ", ".join(map(one_line, typed(question)))
        choices = f"   # one of {said}" if said else ""
        yield f"# {one_line(question.text)}"
        yield f'# {logger_key(question.key).removeprefix("logger.")} = "?"{choices}'


def _channel_lines(
    understanding: Understanding, mapped: Mapping[str, tuple[Instrument, str | None]]
) -> Iterator[str]:
    """Every column but the clock, as lines of a [channels] table; those that are not mapped as comments."""
    for column in (one for place, one in enumerate(understanding.columns)
                   if place not in understanding.dialect.time.columns):  # fmt: skip
        if column.name in mapped:
            instrument, unit = mapped[column.name]
            said = ', unit = "?"' if unit is None and misfit(instrument, column.name, None) else ""
            yield f"{quoted(column.name)} = {{ instrument = {quoted(instrument.tag)}{said} }}"
        else:
            unit_text = quoted(column.unit or OPEN)
            yield f'# {quoted(column.name)} = {{ instrument = "?", unit = {unit_text} }}'


def unmapped(understanding: Understanding, mapped: Collection[str]) -> tuple[str, ...]:
    """Columns that are neither the clock nor mapped."""
    clocks = understanding.dialect.time.columns
    return tuple(one.name for place, one in enumerate(understanding.columns)
                 if one.name not in mapped and place not in clocks)  # fmt: skip


def open_keys(draft: str) -> tuple[str, ...]:
    """Keys of a drafted run.toml that still hold a "?", dotted, in order.

    >>> open_keys('date = "?"\\nkind = "water"\\n[[flow]]\\nlines = ["?"]')
    ('date', 'flow[0].lines[0]')
    """
    return tuple(dotted(path) for path in questions_in(tomllib.loads(draft)))


def choices_of(names: tuple[str, ...]) -> str:
    return f"   # one of {', '.join(map(one_line, names))}" if len(names) > 1 else ""
