"""A validated ledger.toml to the record `Ledger`, and what in it points to nothing. Start at `ledger`."""

import datetime
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from math import sqrt

from headrace.errors import Problem, QuantityError
from headrace.files.build import said_by
from headrace.files.document import Document
from headrace.files.references import IDS, Documents, declared, found_at
from headrace.files.schema.fields import Number, a, meant, number_of
from headrace.files.schema.instruments import MEASURES
from headrace.files.schema.ledger import EventTable, LedgerTable
from headrace.files.validate import quantity_problem
from headrace.jobs.day.events import EVENTS
from headrace.records.given import Bench, Instrument, Stated
from headrace.records.ledger import Event, Ledger
from headrace.units import find_unit, parse_quantity
from headrace.units.quantity import Wanted

NUMBER = re.compile(r"\s*[-+\N{MINUS SIGN}]?\s*\d+(?:[.,](?P<fraction>\d+))?")

KEYED = (("p", "vessel"), ("level", "vessel"), ("valves", "valve"))
"""Tables of an event by id of something in bench.toml."""


def strangers(document: Document, documents: Documents) -> Iterator[Problem]:
    """Keys of `p`, `level` and `valves` that name nothing, and levels of vessels that hold no water."""
    for key, to in KEYED:
        ids = IDS[to]
        known = declared(documents, ids)
        if known is None:
            continue
        for path, _ in found_at(document.data, f"event.*.{key}.*"):
            name = str(path[-1])
            if name not in known:
                there = ", ".join(f'"{one}"' for one in known) or "none is declared"
                yield document.problem(path, f'"{name}"', f"{a(ids.word)} of {ids.place}: {there}",
                                       meant(name, known) or f"declare it in {ids.place}")  # fmt: skip
            elif key == "level" and known[name].get("content") == "air":
                yield document.problem(path, f'a level of "{name}", which holds air', "a water vessel",
                                       "give its pressure under `p`")  # fmt: skip


def ledger(
    document: Document, table: LedgerTable, instruments: Mapping[str, Instrument], bench: Bench | None,
    problems: list[Problem],
) -> Ledger:  # fmt: skip
    """The ledger; readings without a doubt of their own get that of the page, or one step of their last digit."""
    day, events = table.date, []
    for index, one in enumerate(table.event):
        day = one.date or day
        events.append(_event(document, table, one, index, day, instruments, problems))
        problems += _fits(document, one, index, bench)
    return Ledger(
        date=table.date,
        ambient=table.ambient
        and said_by(_doubted(table.ambient, None, "pressure"), f"{document.file}, ambient"),
        room=table.room and said_by(_doubted(table.room, None, "temperature"), f"{document.file}, room"),
        events=tuple(events),
    )


def _event(
    document: Document, table: LedgerTable, one: EventTable, index: int, day: datetime.date,
    instruments: Mapping[str, Instrument], problems: list[Problem],
) -> Event:  # fmt: skip
    values: dict[str, Stated] = {}
    words: dict[str, str] = {}
    for field in EVENTS[one.what].fields:
        said = getattr(one, field.name)
        if isinstance(said, Stated):
            doubt = table.p_doubt if field.kind == "gauge" else None
            values[field.name] = _doubted(said, doubt, field.dimension)
        elif field.reads:
            shows = _shows(
                document, index, field.name, said, instruments.get(getattr(one, field.reads)), problems
            )
            if shows is not None:
                values[field.name] = shows
        elif isinstance(said, str):
            words[field.name] = said
    return Event(
        number=index + 1, line=document.line(("event", index)), moment=datetime.datetime.combine(day, one.time),
        what=one.what, by=one.by, values=values, words=words, fresh=getattr(one, "fresh", None) is True,
        p_gauge={name: _doubted(said, table.p_doubt, "pressure") for name, said in one.p.items()},
        level={name: _doubted(said, table.level_doubt, "length") for name, said in one.level.items()},
        valves=dict(one.valves), note=one.note,
    )  # fmt: skip


def _shows(
    document: Document,
    index: int,
    key: str,
    text: str,
    instrument: Instrument | None,
    problems: list[Problem],
) -> Stated | None:
    """What an instrument shows, read as it measures."""
    if instrument is None:
        return None  # told as a pointer to nothing
    measure = MEASURES[instrument.measures]
    number = Number(dimension=measure.dimension, kind=measure.kind)
    try:
        said = number.read(text)
    except QuantityError as error:
        problems.append(quantity_problem(document, ("event", index, key), error))
        return None
    stated = said if isinstance(said, Stated) else Stated(value=number_of(said), text=text)
    return _doubted(stated, None, measure.dimension)


def _doubted(stated: Stated, limits: float | None, dimension: str) -> Stated:
    """A reading with its doubt: its own, the page's, or one step of the last digit that was written."""
    if stated.u > 0:
        return stated
    return replace(stated, u=(limits or _last_digit(stated.text, dimension)) / sqrt(3), dist="rectangular")


def _last_digit(text: str, dimension: str) -> float:
    """One step of the last digit of a quantity as written [SI]."""
    kind: Wanted | None = "abs-or-gauge" if dimension == "pressure" else None
    found = NUMBER.match(text)
    try:
        said = find_unit(parse_quantity(text, dimension=dimension, kind=kind).unit, dimension)
    except QuantityError:
        said = None
    if found is None or said is None:
        return 0.0
    step = Fraction(1, 10 ** len(found["fraction"] or ""))
    return float(said[0].to_si(step) - said[0].to_si(Fraction(0)))


def _fits(document: Document, one: EventTable, index: int, bench: Bench | None) -> Iterator[Problem]:
    """What an event does to a vessel that cannot be."""
    vessels = bench.vessels if bench else {}
    if (
        one.what == "drain"
        and (vessel := vessels.get(getattr(one, "vessel", "")))
        and vessel.content == "air"
    ):
        yield document.problem(("event", index, "vessel"), f'"{vessel.id}", which holds air', "a water vessel",
                               'what = "vent" lets air out')  # fmt: skip
    if one.what in ("state", "note") and not (one.p or one.level or one.valves or one.note):
        yield document.problem(("event", index), f'"{one.what}" that says nothing', "p, level, valves or note",
                               'p = { "AV-A" = "31.0 bar(g)" }')  # fmt: skip
    for key in ("p", "level"):
        for name, said in getattr(one, key).items():
            vessel = vessels.get(name)
            if vessel is None or key == "p" or vessel.section is None:
                continue
            held = vessel.below + vessel.section.value * said.value
            most = vessel.volume.value + 2 * (vessel.volume.u + vessel.section.u * abs(said.value))
            if held > most or held < 0:
                yield document.problem(("event", index, "level", name), f'"{said.text}", {1e3 * held:.4g} L of water',
                                       f"between none and what {name} holds, {1e3 * vessel.volume.value:.4g} L",
                                       "check the level, and volume, section and below in bench.toml")  # fmt: skip


def feeds(documents: Mapping[str, Document | None], bench: Bench | None) -> dict[str, tuple[str, ...]]:
    """Vessels behind the lines of each run; runs of which not all are known are left out."""
    out: dict[str, tuple[str, ...]] = {}
    for run, document in documents.items():
        if document is None or bench is None:
            continue
        lines = [str(name) for _, name in found_at(document.data, "flow.*.lines.*")]
        behind = [bench.lines[name].vessel if name in bench.lines else None for name in lines]
        if behind and all(name is not None for name in behind):
            out[run] = tuple(dict.fromkeys(name for name in behind if name is not None))
    return out
