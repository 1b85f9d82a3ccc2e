"""Which unit a word names, and which kind of pressure it says.

Refuses a word that is no unit of the dimension wanted, with the nearest that is. Case is forgiven where it
cannot mislead ("Bar", "PSI", "kg/H"); a leading "M" and "m" are never taken for each other, because they
are mega and milli. Start at `read_unit`; `find_unit` is the same without the refusal.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, overload

from headrace.errors import QuantityError
from headrace.units.table import BARE, UNITS, Dimension, Unit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Kind(StrEnum):
    """The three kinds of pressure. They are kinds, not units: no factor leads from one to another."""

    ABS = "abs"
    GAUGE = "gauge"
    DROP = "drop"


MARK = {Kind.ABS: "(a)", Kind.GAUGE: "(g)", Kind.DROP: ""}
"""What is written after the unit of a pressure to say its kind."""

_KINDS = {
    "a": Kind.ABS,
    "abs": Kind.ABS,
    "absolute": Kind.ABS,
    "g": Kind.GAUGE,
    "gauge": Kind.GAUGE,
    "gage": Kind.GAUGE,
    "d": Kind.DROP,
    "diff": Kind.DROP,
}
_WITH_KIND = re.compile(
    r"(?P<base>.+?)(?:[(\[](?P<mark>absolute|abs|a|gauge|gage|g|diff|d)[)\]]"
    r"|_?(?P<tail>absolute|abs|a|gauge|gage|g|diff|d))",
    re.IGNORECASE,
)

_SPELLINGS = str.maketrans(
    {
        "µ": "u", "μ": "u", "¹": "1", "²": "2", "³": "3", "⁴": "4", "₂": "2", "⁻": "-", "−": "-",
        "·": ".", "⋅": ".", "∙": ".", "•": ".", "*": ".", "^": None, "″": '"', "”": '"',
        "°": "deg", "º": "deg", "˚": "deg", "℃": "degC", "℉": "degF", "⁄": "/",
    }
)  # fmt: skip

CONFUSED = {
    "ata": 'kgf/cm2(a) or atm(a), whichever the dial means: they are 3 % apart',
    "kg/cm2": "kgf/cm2 (kilogram-force) if that is meant",
    "lb/in2": "psi if that is meant",
    "gal": "US gal or imp gal: they are 20 % apart",
    "gal/min": "US gal/min or imp gal/min: they are 20 % apart",
    "gpm": "US gal/min or imp gal/min: they are 20 % apart",
    "ton": "t (1000 kg), or the mass in lb",
    "scfm": "kg/s: a flow at normal conditions is a mass flow",
    "slpm": "kg/s: a flow at normal conditions is a mass flow",
    "nl/min": "kg/s: a flow at normal conditions is a mass flow",
    "nm3/h": "kg/s: a flow at normal conditions is a mass flow",
}  # fmt: skip
"""Words that the trade uses for more than one unit, and what to write instead."""


def key(text: str) -> str:
    """A unit's spelling without its typography: no blanks, plain letters, digits for raised ones.

    >>> key("kgf / cm²"), key("µPa·s"), key("°C")
    ('kgf/cm2', 'uPa.s', 'degC')
    """
    return "".join(text.replace("**", "").translate(_SPELLINGS).split())


def fold(spelling: str) -> str:
    """`key` without regard to case, but for the first letter of a word where it is "m" or "M".

    >>> fold("KPA"), fold("MPA"), fold("mpa"), fold("L/MIN")
    ('kpa', 'Mpa', 'mpa', 'l/min')
    """

    def word(match: re.Match[str]) -> str:
        letters = match[0]
        if letters.lower() == "min" or letters[0] != "M":
            return letters.lower()
        return "M" + letters[1:].lower()

    return re.sub(r"[A-Za-z]+", word, spelling)


def _spellings(unit: Unit) -> tuple[str, ...]:
    return tuple(dict.fromkeys(key(name) for name in (unit.name, unit.show, *unit.aliases) if name))


def _exact(units: Iterable[Unit]) -> dict[str, Unit]:
    return {spelling: unit for unit in units for spelling in _spellings(unit)}


def _folded(units: Iterable[Unit]) -> dict[str, Unit]:
    seen: dict[str, set[str]] = {}
    by_fold: dict[str, Unit] = {}
    for unit in units:
        for spelling in _spellings(unit):
            seen.setdefault(fold(spelling), set()).add(unit.name)
            by_fold[fold(spelling)] = unit
    return {spelling: unit for spelling, unit in by_fold.items() if len(seen[spelling]) == 1}


_EXACT = {dimension: _exact(units) for dimension, units in UNITS.items()}
_FOLDED = {dimension: _folded(units) for dimension, units in UNITS.items()}


def dimension_of(name: str) -> Dimension:
    """The dimension of that name; an unknown name is a fault of our own code (ValueError)."""
    return Dimension(name)


def find_unit(text: str, dimension: str) -> tuple[Unit, Kind | None] | None:
    """The unit that a word names within a dimension, and the kind of pressure it says; None if no unit.

    >>> unit, kind = find_unit("Barg", "pressure")
    >>> unit.name, kind.value
    ('bar', 'gauge')
    """
    where = dimension_of(dimension)
    spelling = key(text)
    if not spelling:
        return (_EXACT[where]["1"], None) if where in BARE else None
    if fold(spelling) in CONFUSED:
        return None
    unit = _EXACT[where].get(spelling) or _FOLDED[where].get(fold(spelling))
    if unit is not None:
        return unit, None
    if where is Dimension.PRESSURE and (split := _WITH_KIND.fullmatch(spelling)):
        base = _EXACT[where].get(split["base"]) or _FOLDED[where].get(fold(split["base"]))
        if base is not None:
            return base, _KINDS[(split["mark"] or split["tail"]).lower()]
    return None


def read_unit(text: str, dimension: str, *, found: str | None = None) -> tuple[Unit, Kind | None]:
    """As `find_unit`, but a word that is no such unit is refused with the nearest one.

    found: the whole text in which the unit stood, for the message.
    Raises: QuantityError.
    """
    hit = find_unit(text, dimension)
    if hit is not None:
        return hit
    where = dimension_of(dimension)
    quoted = f'"{found if found is not None else text.strip()}"'
    expected = f"a unit of {words(where)}"
    if not text.strip():
        raise QuantityError(f"{quoted} without a unit", expected, f"one of {_some(where)}")
    raise QuantityError(
        f'{quoted}, where "{text.strip()}" is no unit of {words(where)}', expected, _hint(text, where)
    )


def words(dimension: str) -> str:
    """A dimension's name as prose: "mass flow"."""
    return dimension.replace("_", " ")


def _some(dimension: Dimension) -> str:
    return ", ".join(unit.name for unit in UNITS[dimension] if unit.name != "1")


def _hint(text: str, dimension: Dimension) -> str:
    spelling = key(text)
    if dimension is Dimension.PRESSURE and (split := _WITH_KIND.fullmatch(spelling)) and split["mark"]:
        spelling = split["base"]
    if fold(spelling) in CONFUSED:
        return CONFUSED[fold(spelling)]
    case = [unit for name, unit in _EXACT[dimension].items() if name.lower() == spelling.lower()]
    if case:
        return f'{case[0].name}, if that is meant ("M" is mega, "m" is milli)'
    near = difflib.get_close_matches(spelling, _EXACT[dimension], n=1, cutoff=0.6)
    near = near or difflib.get_close_matches(fold(spelling), _FOLDED[dimension], n=1, cutoff=0.6)
    other = next((d for d in Dimension if d is not dimension and find_unit(text, d)), None)
    if other is not None:
        return f'one of {_some(dimension)} ("{text.strip()}" measures {words(other)})'
    if near:
        unit = _EXACT[dimension].get(near[0]) or _FOLDED[dimension][near[0]]
        return f"{unit.name}, if that is meant"
    return f"one of {_some(dimension)}"


@overload
def to_si(values: float, unit: Unit) -> float: ...
@overload
def to_si(values: NDArray[np.float64], unit: Unit) -> NDArray[np.float64]: ...
def to_si(values: float | NDArray[np.float64], unit: Unit) -> float | NDArray[np.float64]:
    """Numbers in a unit (a column of a file), in SI; NaN stays NaN.

    >>> to_si(20.0, find_unit("degC", "temperature")[0])
    293.15
    """
    if unit.zero:
        values = values + float(unit.zero)
    return values * float(unit.factor)


@overload
def from_si(values: float, unit: Unit) -> float: ...
@overload
def from_si(values: NDArray[np.float64], unit: Unit) -> NDArray[np.float64]: ...
def from_si(values: float | NDArray[np.float64], unit: Unit) -> float | NDArray[np.float64]:
    """SI numbers in a unit (an axis of a figure); the way back of `to_si`."""
    values = values / float(unit.factor)
    return values - float(unit.zero) if unit.zero else values


def exact(value: float) -> Fraction:
    """A float as the fraction that it is; not for NaN or infinity (ValueError)."""
    if not -float("inf") < value < float("inf"):
        raise ValueError(f"{value} is no number that can be written")
    return Fraction(value)
