"""Keep physical arguments inside the domain of a formula; one rule for numbers and for draws.

A lone number outside the domain is nonsense that someone typed or computed: `OutOfDomain` is raised.
An entry of an array (one dimension or more) outside the domain is a rare draw or a bad sample: that entry
becomes NaN, so the result is NaN there and sound elsewhere. Nothing is clipped and nothing warns; whoever
holds the draws counts the NaN. NaN and infinity are outside every domain.
"""

import numpy as np
from numpy.typing import NDArray

from headrace.errors import OutOfDomain

Values = float | NDArray[np.float64]
"""One SI number, or an array of them (slices first, draws last)."""


def positive(name: str, value: Values, hint: str = "") -> Values:
    """`value` where it is above 0 and finite.

    Raises:
        OutOfDomain: a lone number that is not.

    >>> positive("rho", 998.2)
    998.2
    >>> positive("dp", np.array([2.0, -1.0]))
    array([ 2., nan])
    """
    if _inside(value, 0, strict=True):
        return value
    return kept(name, value, np.greater(value, 0) & np.isfinite(value), "above 0", hint)


def not_negative(name: str, value: Values, hint: str = "") -> Values:
    """`value` where it is 0 or more and finite.

    Raises:
        OutOfDomain: a lone number that is not.
    """
    if _inside(value, 0, strict=False):
        return value
    return kept(name, value, np.greater_equal(value, 0) & np.isfinite(value), "0 or more", hint)


def finite(name: str, value: Values, hint: str = "") -> Values:
    """`value` where it is a finite number of either sign.

    Raises:
        OutOfDomain: a lone number that is not.
    """
    if _inside(value, -np.inf, strict=True):
        return value
    return kept(name, value, np.isfinite(value), "a finite number", hint)


def between(name: str, value: Values, low: float, high: float, hint: str = "") -> Values:
    """`value` where it lies strictly between `low` and `high`.

    Raises:
        OutOfDomain: a lone number that does not.
    """
    ok = np.greater(value, low) & np.less(value, high)
    return kept(name, value, ok, f"between {low:g} and {high:g}", hint)


def _inside(value: Values, low: float, *, strict: bool) -> bool:
    """Whether all is well, by the least and the greatest entry alone: quick, and false for any NaN."""
    values = np.asarray(value, dtype=float)
    least, most = values.min(initial=np.inf), values.max(initial=-np.inf)
    return bool((least > low if strict else least >= low) and most < np.inf)


def kept(name: str, value: Values, ok: NDArray[np.bool_] | bool, allowed: str, hint: str = "") -> Values:
    """`value` where `ok` holds; for a condition that the functions above do not know.

    Args:
        name: Glossary name, for the message.
        value: What is judged.
        ok: Whether it is inside; written so that NaN is not.
        allowed: The condition in words.
        hint: What is usually wrong.
    Raises:
        OutOfDomain: a lone number for which `ok` does not hold.
    """
    if np.all(ok):
        return value
    if np.ndim(ok) == 0:
        raise OutOfDomain(name, float(value), allowed, hint)
    return np.where(ok, value, np.nan)
