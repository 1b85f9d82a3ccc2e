"""A drop read by two gauges: which roles stand in for which, and the instrument that their difference is.

Everything behind this sees one instrument with `parts`; only zeros and error terms go back to the two. Start at
`pair_of`.
"""

from collections.abc import Mapping
from math import hypot
from types import MappingProxyType

from headrace.records.given import Accuracy, Instrument

PAIRS: Mapping[str, tuple[str, str]] = MappingProxyType({"dp": ("p_high", "p_low")})
"""Roles of two gauges whose difference stands in for one role of a meter, whatever the meter's kind."""


def pair_tag(high: str, low: str) -> str:
    """The name of their difference."""
    return f"{high} - {low}"


def pair_of(high: Instrument, low: Instrument) -> Instrument:
    """Their difference as one instrument: what it promises is what both promise, independently."""
    span = max(high.span, low.span)
    parts = [
        hypot(one.accuracy.of_span, one.accuracy.of_reading) * one.span + one.accuracy.absolute
        for one in (high, low)
    ]
    return Instrument(
        tag=pair_tag(high.tag, low.tag),
        measures="drop",
        low=0.0,
        high=span,
        accuracy=Accuracy(of_span=hypot(*parts) / span, text=f"{high.accuracy.text}, twice"),
        parts=(high.tag, low.tag),
        origin=f"{high.origin}; {low.origin}",
    )
