"""Two campaigns, or two dates of one, held against each other. Start at `compare`."""

from headrace.jobs.compare.compare import Half, compare

__all__ = ["Half", "compare"]
