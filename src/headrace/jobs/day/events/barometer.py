"""The barometer, read again."""

from headrace.jobs.day.events.base import EventField, EventKind
from headrace.jobs.day.standing import Bench
from headrace.records.ledger import Event


def apply(bench: Bench, event: Event) -> frozenset[str]:
    """It holds until the next one."""
    bench.ambient = event.stated("ambient")
    return frozenset()


KIND = EventKind(
    title="the barometer read again; runs afterwards take it from here",
    fields=(
        EventField(
            name="ambient",
            help="what it shows",
            example="1009 mbar(a) ± 1 mbar",
            dimension="pressure",
            kind="abs",
            above=1e4,
            below=1.2e5,
        ),
    ),
    apply=apply,
    tell=lambda event: event.values["ambient"].text,
)
