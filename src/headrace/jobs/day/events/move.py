"""Air from one vessel to another."""

from headrace.jobs.day.events.base import EventField, EventKind
from headrace.jobs.day.standing import Bench
from headrace.records.ledger import Event


def apply(bench: Bench, event: Event) -> frozenset[str]:
    """Where nothing was read afterwards, the two are taken to stand at one pressure."""
    first, second = event.words["from"], event.words["to"]
    even = bench.evened(first, second)
    touched = bench.moved(first, event) | bench.moved(second, event)
    if even is not None:
        for name in touched:
            bench.vessels[name].computed(even, event)
    return touched


KIND = EventKind(
    title="air from one vessel to another, until even unless `p` says otherwise",
    fields=(
        EventField(name="from", help="the vessel it came from", example="AV-B", to="vessel"),
        EventField(name="to", help="the vessel it went to", example="AV-A", to="vessel"),
    ),
    apply=apply,
    tell=lambda event: f"air from {event.words['from']} to {event.words['to']}",
)
