"""What an instrument shows where it should show none (or, read as absolute, the barometer)."""

from headrace.jobs.day.events.base import EventField, EventKind, nothing

KIND = EventKind(
    title="what an instrument shows at rest, open to air",
    fields=(
        EventField(name="instrument", help="its tag", example="PM-OX", to="instrument"),
        EventField(
            name="shows", help="what it shows, as it measures", example="0.02 bar(g)", reads="instrument"
        ),
    ),
    apply=nothing,
    tell=lambda event: f"{event.words['instrument']} shows {event.values['shows'].text}",
)
