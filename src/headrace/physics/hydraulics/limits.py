"""Where a published formula holds, as data that meter, notice and manual read alike.

Leaving a range is no error here: `outside` only says which range was left. Start there.
"""

from dataclasses import dataclass

from headrace.physics.domain import finite


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """Closed range of one quantity, by glossary name. [SI]"""

    quantity: str
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """All ranges that one source sets, and the edition and clause that sets them."""

    source: str
    ranges: tuple[Range, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """One quantity outside its range: what was found, the range, and whose range it is. [SI]"""

    quantity: str
    found: float
    low: float
    high: float
    source: str


def outside(limits: Limits, **found: float) -> tuple[Breach, ...]:
    """Which of the given quantities lie outside the limits, in the order of the limits.

    Args:
        limits: Ranges of one source.
        found: Numbers by the names that the limits use, such as `d_pipe` [m], `beta` [-], `re` [-].
            A range whose quantity is not given is not judged.
    Returns:
        One `Breach` for each range left; empty when all hold.
    Raises:
        OutOfDomain: a number is NaN or infinite.
        KeyError: a name that the limits do not know (a slip of the caller).
    Source:
        The limits carry their own.

    >>> plate = Limits(source="an example", ranges=(Range(quantity="beta", low=0.1, high=0.75),))
    >>> outside(plate, beta=0.8)[0].high
    0.75
    """
    unknown = found.keys() - {span.quantity for span in limits.ranges}
    if unknown:
        raise KeyError(f"{limits.source} sets no range for {', '.join(sorted(unknown))}")
    for name, value in found.items():
        finite(name, value)
    return tuple(
        Breach(
            quantity=span.quantity,
            found=found[span.quantity],
            low=span.low,
            high=span.high,
            source=limits.source,
        )
        for span in limits.ranges
        if span.quantity in found and not span.low <= found[span.quantity] <= span.high
    )
