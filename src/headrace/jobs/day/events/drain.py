"""Water out of a vessel other than by a run; empty, unless a level was read afterwards."""

from headrace.jobs.day.events.base import VESSEL, EventKind
from headrace.jobs.day.standing import Bench
from headrace.records.ledger import Event


def apply(bench: Bench, event: Event) -> frozenset[str]:
    """Level and pressure must be read again; what is filled in afterwards is fresh."""
    vessel = bench.vessels[event.words["vessel"]]
    touched = bench.moved(vessel.given.id, event)
    vessel.level_moved(event)
    vessel.emptied = vessel.given.id not in event.level
    return touched


KIND = EventKind(
    title="water out of a vessel, all of it unless `level` says what was left",
    fields=(VESSEL,),
    apply=apply,
    tell=lambda event: event.words["vessel"],
)
