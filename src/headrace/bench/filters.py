"""Filters before the converter, each as the delay that it puts on a slow signal. Start at `delay_of`.

A drop that falls over seconds is slow against any filter that is fit for it; what a filter of whatever order does to
it is then a plain delay, its first moment: the sum of its time constants. Above a tenth of the corner frequency that is
not so, and nothing here mends it. To add a kind: one function, one line in `FILTERS`.
"""

from collections.abc import Callable, Mapping
from math import factorial, pi, sin
from types import MappingProxyType

from headrace.errors import OutOfDomain

MOST = 10
"""Highest order: beyond it nobody builds them."""


def _equal(order: int) -> float:
    return float(order)


def _butterworth(order: int) -> float:
    return 1 / sin(pi / (2 * order))


def _bessel(order: int) -> float:
    """The corner (3 dB) of the filter whose delay is 1: its polynomial has the coefficients below; by bisection."""
    terms = [
        factorial(2 * order - k) / (2 ** (order - k) * factorial(k) * factorial(order - k))
        for k in range(order + 1)
    ]

    def loss(w: float) -> float:
        value = sum(term * (1j * w) ** k for k, term in enumerate(terms))
        return float(abs(value) ** 2 / terms[0] ** 2 - 2)

    low, high = 0.0, 4.0 * order
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if loss(middle) < 0 else (low, middle)
    return low


FILTERS: Mapping[str, Callable[[int], float]] = MappingProxyType(
    {
        "rc": _equal,  # so many equal first-order stages, each with this corner
        "butterworth": _butterworth,
        "bessel": _bessel,
    }
)
"""Delay of a slow signal times the corner's angular frequency, by order."""


def delay_of(*, kind: str, order: int, corner: float) -> float:
    """Delay of a slow signal behind a low-pass filter [s].

    Args:
        kind: key of `FILTERS`. order: 1 to 10. corner: frequency at which it takes 3 dB (of one stage, for "rc");
            above 0 [Hz].
    Raises:
        OutOfDomain: an order or a corner that no filter has.
    Source: textbook forms of the three filters (from memory); the delay at zero frequency is b1/b0 of the polynomial.

    >>> round(delay_of(kind="butterworth", order=2, corner=10.0), 6)
    0.022508
    """
    if not 1 <= order <= MOST:
        raise OutOfDomain("order", order, f"1 to {MOST}")
    if not 0 < corner < float("inf"):
        raise OutOfDomain("corner", corner, "above 0")
    return FILTERS[kind](order) / (2 * pi * corner)
