"""Words only; what was read may stand beside them."""

from headrace.jobs.day.events.base import EventKind, nothing

KIND = EventKind(title="words only: `note`", fields=(), apply=nothing, tell=lambda event: event.note)
