"""Water or air into a vessel, by what the vessel holds."""

from headrace.jobs.day.events.base import VESSEL, EventField, EventKind
from headrace.jobs.day.standing import Bench
from headrace.records.ledger import Event


def apply(bench: Bench, event: Event) -> frozenset[str]:
    """What was read before stands no more; water into an empty vessel, or marked as fresh, has not soaked."""
    vessel = bench.vessels[event.words["vessel"]]
    touched = bench.moved(vessel.given.id, event)
    if vessel.given.content == "water":
        vessel.level_moved(event)
        if event.fresh or vessel.emptied:
            vessel.soaked = 0.0
        vessel.emptied = False
        if "temperature" in event.values:
            bench.water_temperature = event.stated("temperature")
    return touched


KIND = EventKind(
    title="water or air into a vessel",
    fields=(
        VESSEL,
        EventField(
            name="temperature",
            help="of the water let in",
            example="14.5 degC ± 0.5 K",
            dimension="temperature",
            above=273.0,
            below=373.2,
            required=False,
        ),
        EventField(
            name="fresh",
            help="true when the old water went out first, so that none has soaked",
            example=True,
            flag=True,
            required=False,
        ),
    ),
    apply=apply,
    tell=lambda event: f"into {event.words['vessel']}" + (", fresh" if event.fresh else ""),
)
