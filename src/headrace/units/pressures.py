"""The one place where a gauge pressure becomes absolute, and it demands the ambient pressure.

Refuses a drop, an ambient pressure that is not absolute, and a result below vacuum. Start at `absolute`
(numbers) or `to_absolute` (quantities).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, overload

from headrace.errors import OutOfDomain
from headrace.units.names import Kind
from headrace.units.quantity import Quantity

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@overload
def absolute(*, p_gauge: float, p_ambient: float) -> float: ...
@overload
def absolute(
    *, p_gauge: float | NDArray[np.float64], p_ambient: float | NDArray[np.float64]
) -> float | NDArray[np.float64]: ...
def absolute(
    *, p_gauge: float | NDArray[np.float64], p_ambient: float | NDArray[np.float64]
) -> float | NDArray[np.float64]:
    """The one step from gauge to absolute pressure.

    Args:
        p_gauge: above the ambient pressure; not below vacuum. [Pa]
        p_ambient: of the air around the instrument when it was read, absolute; above 0. [Pa]
    Returns:
        Absolute pressure. [Pa]
    Raises:
        OutOfDomain: ambient not above 0, or a result below vacuum; NaN in either.
    Source:
        Definition of gauge pressure.

    >>> absolute(p_gauge=5e5, p_ambient=101325.0)
    601325.0
    """
    if not _all(p_ambient > 0):
        raise OutOfDomain("p_ambient", p_ambient, "above 0", "a barometer reads absolute pressure")
    p_abs = p_gauge + p_ambient
    if not _all(p_abs >= 0):
        raise OutOfDomain("p_gauge", p_gauge, "above vacuum", "an absolute pressure taken for a drop?")
    return p_abs


def _all(test: Any) -> bool:
    """True if the comparison holds everywhere; without numpy, which this package does not load."""
    return bool(test.all()) if hasattr(test, "all") else bool(test)


def to_absolute(q: Quantity, *, ambient: Quantity) -> Quantity:
    """A pressure as absolute; one that is absolute already comes back unchanged.

    Args:
        q: gauge or absolute pressure. ambient: absolute pressure of the air around the instrument.
    Returns:
        The absolute pressure *without a doubt*: gauge and barometer are two sources of error, and the
        barometer is often shared, so they are declared apart and not added up here.
    Raises:
        OutOfDomain: as `absolute`. ValueError: q is no pressure or a drop; ambient is not absolute.

    >>> from headrace.units import parse_quantity
    >>> gauge = parse_quantity("5 bar(g)", dimension="pressure", kind="gauge")
    >>> air = parse_quantity("1 atm(a)", dimension="pressure", kind="abs")
    >>> to_absolute(gauge, ambient=air).value
    601325.0
    """
    if q.kind not in (Kind.GAUGE, Kind.ABS) or ambient.kind is not Kind.ABS:
        raise ValueError("a gauge or absolute pressure and an absolute ambient pressure are needed")
    if q.kind is Kind.ABS:
        return q
    value = absolute(p_gauge=q.value, p_ambient=ambient.value)
    return replace(q, value=value, kind=Kind.ABS, half=None, k=None)
