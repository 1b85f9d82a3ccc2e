"""The temperature of the water, and whether it was changed for fresh."""

from headrace.jobs.day.events.base import EventField, EventKind
from headrace.jobs.day.standing import Bench
from headrace.records.ledger import Event


def apply(bench: Bench, event: Event) -> frozenset[str]:
    """Fresh water has not soaked: in the vessel named, or in all."""
    if "temperature" in event.values:
        bench.water_temperature = event.stated("temperature")
    named = event.words.get("vessel")
    for name, vessel in bench.vessels.items():
        if event.fresh and named in (None, name):
            vessel.soaked = 0.0
    return frozenset()


KIND = EventKind(
    title="temperature of the water; runs afterwards take it from here",
    fields=(
        EventField(
            name="temperature",
            help="of the water",
            example="17.2 degC ± 0.5 K",
            dimension="temperature",
            above=273.0,
            below=373.2,
        ),
        EventField(
            name="vessel", help="in which vessel; default: all", example="WV-A", to="vessel", required=False
        ),
        EventField(
            name="fresh",
            help="true when it was changed and has not soaked",
            example=True,
            flag=True,
            required=False,
        ),
    ),
    apply=apply,
    tell=lambda event: event.values["temperature"].text + (", fresh" if event.fresh else ""),
)
