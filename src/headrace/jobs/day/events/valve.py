"""A valve opened or shut."""

from headrace.jobs.day.events.base import EventField, EventKind
from headrace.jobs.day.standing import Bench
from headrace.records.ledger import Event

POSITIONS = ("open", "shut")


def apply(bench: Bench, event: Event) -> frozenset[str]:
    """An opened valve joins what stands on its two sides."""
    valve, position = event.words["valve"], event.words["position"]
    before = bench.positions.get(valve)
    bench.positions[valve] = position
    if position != "open" or before == "open":
        return frozenset()
    sides = [name for name in bench.given.valves[valve].between if name in bench.vessels]
    moved: frozenset[str] = frozenset()
    for name in sides:
        moved |= bench.moved(name, event)
    return moved


KIND = EventKind(
    title="a valve opened or shut",
    fields=(
        EventField(name="valve", help="which valve", example="V-A", to="valve"),
        EventField(name="position", help="how it stands now", example="open", names=POSITIONS),
    ),
    apply=apply,
    tell=lambda event: f"{event.words['valve']} {event.words['position']}",
)
