"""What stands: pressures, levels and valves as they were read, nothing done."""

from headrace.jobs.day.events.base import EventKind, nothing

KIND = EventKind(title="what stands, read off", fields=(), apply=nothing, tell=lambda event: event.note)
