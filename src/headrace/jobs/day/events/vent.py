"""Air let out of a vessel: to open air, unless a pressure was read afterwards."""

from headrace.jobs.day.events.base import VESSEL, EventKind
from headrace.jobs.day.standing import Bench
from headrace.records.ledger import Event


def apply(bench: Bench, event: Event) -> frozenset[str]:
    """Every vessel whose gas is joined to it stands at open air."""
    touched = bench.moved(event.words["vessel"], event)
    for name in touched:
        bench.vessels[name].vented(event)
    return touched


KIND = EventKind(
    title="air out of a vessel, to open air unless `p` says what was left",
    fields=(VESSEL,),
    apply=apply,
    tell=lambda event: event.words["vessel"],
)
