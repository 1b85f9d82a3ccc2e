"""The zero of a channel, taken while nothing flows."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Zero:
    """A zero taken before and perhaps after the run, SI; u: standard uncertainty of the zero that is taken off.

    at_pressure: the zero at rest under line pressure, where it was taken; it is then the one that counts.

    Source of the middle way: the true zero during the run lies somewhere between the two, rectangular, so
    u holds |after - before| / sqrt(12).
    """

    before: float
    after: float | None
    u: float
    at_pressure: float | None = None
