"""Kinds of event of the ledger: one file and one line each."""

from collections.abc import Mapping
from types import MappingProxyType

from headrace.jobs.day.events import (
    barometer,
    drain,
    fill,
    leak_check,
    move,
    note,
    run,
    state,
    valve,
    vent,
    water,
    zero_check,
)
from headrace.jobs.day.events.base import EventKind

EVENTS: Mapping[str, EventKind] = MappingProxyType(
    {
        "state": state.KIND,
        "fill": fill.KIND,
        "vent": vent.KIND,
        "move": move.KIND,
        "drain": drain.KIND,
        "leak-check": leak_check.KIND,
        "zero-check": zero_check.KIND,
        "valve": valve.KIND,
        "barometer": barometer.KIND,
        "water": water.KIND,
        "run": run.KIND,
        "note": note.KIND,
    }
)

NAMED: Mapping[str, str] = MappingProxyType(
    {field.name: field.to for kind in EVENTS.values() for field in kind.fields if field.to}
)
"""What each key of an event names, where it names something of bench.toml."""
