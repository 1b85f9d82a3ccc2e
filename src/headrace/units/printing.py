"""Quantities as text: rounded by their doubt, with unit and kind.

A doubt is printed to one significant digit, or to two where its first digit is 1 or 2, and the value to the
same place (GUM 7.2.6). A doubt is rounded up, unless the nearest rounding is less than 4 % below it, so that
print never flatters. Without a doubt a value gets four significant digits. Refuses NaN (ValueError: an answer
that does not exist is not printed). Start at `format_interval`; `printed` gives the same in pieces for layout.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from headrace.units.names import MARK, Kind, dimension_of, exact, find_unit
from headrace.units.quantity import Quantity
from headrace.units.table import DISPLAY, UNITS, Dimension, Unit

DIGITS = 4
"""Significant digits of a value that has no doubt of its own."""
MOST_DIGITS = 15
"""Significant digits that a float can bear: no doubt, however small, asks for more."""
FLATTERY = Fraction(4, 100)
"""Largest share by which a printed doubt may lie below the computed one."""
_NO_BLANK_BEFORE = frozenset({"°"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A quantity ready for layout: number, doubt (None if none is shown) and unit with its kind."""

    number: str
    doubt: str | None
    unit: str

    def __str__(self) -> str:
        blank = "" if self.unit in _NO_BLANK_BEFORE or not self.unit else " "
        if self.doubt is None:
            return f"{self.number}{blank}{self.unit}"
        if self.unit and (self.unit == "%" or not blank):
            return f"({self.number} ±{self.doubt}){blank}{self.unit}"
        return f"{self.number} ±{self.doubt}{blank}{self.unit}"


def printed(
    value: float,
    *,
    dimension: str,
    kind: str | None = None,
    unit: str | None = None,
    u: float | None = None,
    expanded: float | None = None,
    digits: int = DIGITS,
) -> Printed:
    """A value, rounded, in pieces.

    Args:
        value: [SI]. dimension: its name. kind: of a pressure (abs, gauge, drop), else None.
        unit: to print in; None for the dimension's own of `DISPLAY`.
        u: standard uncertainty [SI] that rounds the value and is not shown.
        expanded: half width [SI] that rounds the value and is shown after ±; wins over u.
        digits: significant digits where neither is given.
    Raises:
        ValueError: not a number, a negative doubt, an unknown unit, or a pressure without its kind.
    """
    where, own = dimension_of(dimension), _unit(dimension, unit)
    if (where is Dimension.PRESSURE) != (kind is not None):
        raise ValueError("a pressure, and nothing else, is printed with a kind")
    mark = MARK[Kind(kind)] if kind is not None else ""
    amount = own.from_si(exact(value))
    doubt = expanded if expanded is not None else u
    if doubt is None:
        return Printed(number=_fixed(amount, _place(amount, digits)), doubt=None, unit=own.show + mark)
    if not doubt >= 0:
        raise ValueError(f"a doubt of {doubt} is none")
    half = exact(doubt) / own.factor
    if half == 0:
        return Printed(
            number=_shortest(amount), doubt=None if expanded is None else "0", unit=own.show + mark
        )
    place, rounded = rounded_doubt(half)
    lowest = _place(amount, MOST_DIGITS)
    if amount and place < lowest:
        place = lowest
        rounded = math.ceil(half / _ten(place)) * _ten(place)
    number = _fixed(amount, place)
    return Printed(
        number=number, doubt=None if expanded is None else _fixed(rounded, place), unit=own.show + mark
    )


def format_value(
    value: float,
    *,
    dimension: str,
    kind: str | None = None,
    unit: str | None = None,
    u: float | None = None,
    digits: int = DIGITS,
) -> str:
    """A value to the digits that its doubt allows, with unit and kind; arguments as `printed`.

    >>> format_value(3.1415e6, u=3e4, dimension="pressure", kind="gauge")
    '31.4 bar(g)'
    """
    return str(printed(value, dimension=dimension, kind=kind, unit=unit, u=u, digits=digits))


def format_interval(
    value: float, expanded: float, *, dimension: str, kind: str | None = None, unit: str | None = None
) -> str:
    """A value and the half width of its interval, rounded together; arguments as `printed`.

    >>> format_interval(3.1415e6, 5.0e4, dimension="pressure", kind="gauge")
    '31.4 ±0.5 bar(g)'
    """
    return str(printed(value, dimension=dimension, kind=kind, unit=unit, expanded=expanded))


def format_range(
    low: float,
    high: float,
    *,
    dimension: str,
    kind: str | None = None,
    unit: str | None = None,
    half: float | None = None,
) -> str:
    """An interval by its ends [SI], rounded outwards to the place of its half width, or of `half` [SI].

    >>> format_range(3.0913e6, 3.1872e6, dimension="pressure", kind="gauge")
    '30.9 to 31.9 bar(g)'
    """
    if not low <= high:
        raise ValueError(f"{low} to {high} is no interval")
    own = _unit(dimension, unit)
    ends = own.from_si(exact(low)), own.from_si(exact(high))
    wide = (ends[1] - ends[0]) / 2 if half is None else exact(half) / own.factor
    lowest = _place(max(ends, key=abs), MOST_DIGITS)
    place = max(rounded_doubt(wide)[0], lowest) if wide else lowest
    step = _ten(place)
    down, up = math.floor(ends[0] / step) * step, math.ceil(ends[1] / step) * step
    shown = printed(high, dimension=dimension, kind=kind, unit=unit)
    return str(Printed(number=f"{_fixed(down, place)} to {_fixed(up, place)}", doubt=None, unit=shown.unit))


def format_quantity(q: Quantity) -> str:
    """A quantity that was read, in the unit it was written in; its half width shown if it has one."""
    return str(printed(q.value, dimension=q.dimension, kind=q.kind, unit=q.unit, expanded=q.half))


def rounded_doubt(half: Fraction) -> tuple[int, Fraction]:
    """Power of ten of the last digit kept, and the doubt rounded there; half is above 0.

    >>> [float(rounded_doubt(Fraction(x))[1]) for x in ("10.47", "28.05", "0.349", "0.96")]
    [11.0, 28.0, 0.4, 1.0]
    """
    first = _exponent(half)
    place = first - 1 if half < 3 * _ten(first) else first
    step = _ten(place)
    nearest = round(half / step) * step
    if half - nearest >= FLATTERY * half:
        nearest += step
    return place, nearest


def _unit(dimension: str, name: str | None) -> Unit:
    where = dimension_of(dimension)
    hit = find_unit(DISPLAY[where] if name is None else name, where)
    if hit is None or hit[0] not in UNITS[where] or hit[1] is not None:
        raise ValueError(f"{name} is no unit of {where} to print in")
    return hit[0]


def _ten(power: int) -> Fraction:
    return Fraction(10) ** power


def _exponent(amount: Fraction) -> int:
    """Power of ten of the first digit of an amount that is not 0."""
    size = abs(amount)
    guess = len(str(size.numerator)) - len(str(size.denominator))
    return guess if size >= _ten(guess) else guess - 1


def _place(amount: Fraction, digits: int) -> int:
    """Power of ten of the last of so many significant digits."""
    return _exponent(amount) - digits + 1 if amount else 0


def _shortest(amount: Fraction) -> str:
    """An exact number without idle zeros, to 12 significant digits."""
    text = _fixed(amount, min(0, _place(amount, 12)))
    return text.rstrip("0").rstrip(".") if "." in text else text


def _fixed(amount: Fraction, place: int) -> str:
    """Decimal text down to that power of ten, halves to even; no "-0"."""
    steps = round(amount / _ten(place))
    if place >= 0:
        return str(steps * 10**place)
    digits = f"{abs(steps):0{1 - place}d}"
    return f"{'-' if steps < 0 else ''}{digits[:place]}.{digits[place:]}"
