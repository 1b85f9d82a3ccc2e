"""ledger.toml: the bench day, event by event, as it is copied from paper. What an event may say comes from its kind."""

import datetime
import re
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from pydantic import create_model, model_validator

from headrace.errors import QuantityError
from headrace.files.schema.fields import ByKey, Id, Inside, Key, Q, Said, Table, V, _Text, shown, told
from headrace.jobs.day.events import EVENTS
from headrace.jobs.day.events.base import EventField, EventKind
from headrace.jobs.day.events.valve import POSITIONS
from headrace.records.given import Stated
from headrace.units.quantity import Wanted

LEAST = -1e4
"""A gauge on a vessel that shows less is not at rest there [Pa]."""

GAUGE = Q("pressure", "gauge", above=LEAST)
CLOCK = re.compile(r"([01]?\d|2[0-3])[:.h]([0-5]\d)(?:[:.]([0-5]\d))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock(_Text):
    """A time of day."""

    def read(self, value: object) -> datetime.time:
        """Hours, minutes and maybe seconds; TOML's own local time is taken as well."""
        if isinstance(value, datetime.time):
            return value
        found = CLOCK.fullmatch(value.strip()) if isinstance(value, str) else None
        if found is None:
            raise QuantityError(shown(value), "a time of day, hours and minutes", '"09:10"')
        return datetime.time(int(found[1]), int(found[2]), int(found[3] or 0))

    def describe(self) -> dict[str, Any]:
        """JSON Schema: text of that pattern, or a time as an editor shows it."""
        return {"type": "string", "title": "time of day"}


_MODELS: dict[str, type[Table]] = {}  # filled below, one per kind of event


class EventTable(Table):
    """What every event may say; its own keys come from its kind."""

    variants: ClassVar[ByKey | None] = ByKey(key="what", models=_MODELS)
    time: Annotated[datetime.time, Clock()] = told("when it was over", "09:10")
    date: datetime.date | None = told(
        "the day, from here on; default: that of the event before", datetime.date(2026, 3, 13), default=None
    )
    by: str = told("initials", "AB", default="")
    what: Annotated[str, Key(what="kind of event", names=tuple(EVENTS))] = told("what was done", "state")
    p: dict[str, Annotated[Stated, GAUGE]] = told(
        "pressures read once it was over, by vessel", {"AV-A": "31.0 bar(g) ± 0.2 bar"}, default_factory=dict
    )
    level: dict[str, Annotated[Stated, Q("length")]] = told(
        "levels of water read once it was over, by vessel", {"WV-A": "1.20 m ± 2 mm"}, default_factory=dict
    )
    valves: dict[str, Annotated[str, Key(what="position", names=POSITIONS)]] = told(
        "how valves stand once it is over: open or shut", {"V-A": "shut"}, default_factory=dict
    )
    note: str = told("anything else", "AV-B left open over lunch", default="")

    @model_validator(mode="after")
    def _two_vessels(self) -> "EventTable":
        first, second = getattr(self, "from", None), getattr(self, "to", None)
        if first is not None and first == second:
            raise Inside(("to", QuantityError(shown(second), "another vessel than `from`", "")))
        return self


def _field(one: EventField) -> Any:
    if one.flag:
        return bool
    if one.dimension:
        bounds = {
            name: value for name, value in (("above", one.above), ("below", one.below)) if value is not None
        }
        if one.kind == "gauge":
            bounds["above"] = LEAST
        wanted: Wanted | None = one.kind  # type: ignore[assignment]  # one of its own words
        return Annotated[Stated, Q(one.dimension, wanted, **bounds)]
    if one.names:
        return Annotated[str, Key(what=one.name, names=one.names)]
    return Annotated[str, Said()] if one.reads else Annotated[str, Id()]


def _model(name: str, kind: EventKind) -> type[Table]:
    fields: dict[str, Any] = {
        "what": (Annotated[str, Key(what="kind of event", names=(name,))], told(kind.title, name))
    }
    for one in kind.fields:
        annotation = _field(one)
        fields[one.name] = (
            (annotation, told(one.help, one.example))
            if one.required
            else (annotation | None, told(one.help, one.example, default=None))
        )
    return create_model(f"Event_{name.replace('-', '_')}", __base__=EventTable, **fields)


_MODELS.update({name: _model(name, kind) for name, kind in EVENTS.items()})


class LedgerTable(Table):
    """ledger.toml."""

    date: datetime.date = told("day of the first event", datetime.date(2026, 3, 12))
    ambient: Annotated[Stated, Q("pressure", "abs", above=1e4, below=1.2e5)] | None = told(
        "barometer, until a barometer event says otherwise", "1009 mbar(a) ± 1 mbar", default=None
    )
    room: Annotated[Stated, Q("temperature", above=233.0, below=333.0)] | None = told(
        "temperature of the room, to which air in vessels settles, and that of instruments in runs that do not say it",
        "16 degC ± 2 K",
        default=None,
    )
    p_doubt: Annotated[float, V("pressure", "drop", above=0)] | None = told(
        "limits of every pressure read here that has no ± of its own; default: one step of its last digit",
        "0.2 bar",
        default=None,
    )
    level_doubt: Annotated[float, V("length", above=0)] | None = told(
        "the same of levels", "2 mm", default=None
    )
    event: list[Annotated[EventTable, EventTable.variants]] = told(
        "what was done and read, in the order of the day", [], default_factory=list
    )
