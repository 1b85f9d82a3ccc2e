"""All shut, and a pressure read at both ends of a stretch of time."""

from headrace.jobs.day.events.base import VESSEL, EventField, EventKind
from headrace.jobs.day.standing import Bench
from headrace.records.ledger import Event


def apply(bench: Bench, event: Event) -> frozenset[str]:
    """The last reading is what stands."""
    bench.vessels[event.words["vessel"]].read_pressure(event.values["p_after"], event)
    return frozenset()


KIND = EventKind(
    title="a pressure watched with all shut; `time` is its end",
    fields=(
        VESSEL,
        EventField(
            name="p_before",
            help="as it began",
            example="30.0 bar(g) ± 0.1 bar",
            dimension="pressure",
            kind="gauge",
        ),
        EventField(
            name="p_after",
            help="as it ended",
            example="29.9 bar(g) ± 0.1 bar",
            dimension="pressure",
            kind="gauge",
        ),
        EventField(name="duration", help="how long", example="10 min", dimension="time", above=0.0),
    ),
    apply=apply,
    tell=lambda event: (
        f"{event.words['vessel']} {event.values['p_before'].text} to {event.values['p_after'].text} "
        f"in {event.values['duration'].text}"
    ),
)
