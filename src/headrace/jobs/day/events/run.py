"""A run of water: `time` is its end, what is read beside it is what stands right after."""

from headrace.jobs.day.events.base import EventField, EventKind
from headrace.jobs.day.standing import Bench
from headrace.records.ledger import Event


def apply(bench: Bench, event: Event) -> frozenset[str]:
    """Level and pressures of the vessels behind its lines must be read again; of all, where the bench does not say."""
    touched: frozenset[str] = frozenset()
    for name in bench.behind(event.words["run"]):
        touched |= bench.moved(name, event)
        bench.vessels[name].level_moved(event)
    return touched


KIND = EventKind(
    title="a run; `time` is its end, and what is read beside it stands right after",
    fields=(EventField(name="run", help="its id under runs/", example="W07"),),
    apply=apply,
    tell=lambda event: event.words["run"],
)
