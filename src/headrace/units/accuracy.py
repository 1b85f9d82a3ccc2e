"""How good an instrument or an estimate is, as its maker or owner writes it.

`parse_accuracy` reads "0.1 % of reading + 0.05 % FS", "0.25 % of span, k=2", "0.02 bar", "class 1.6".
`parse_doubt` reads the doubt of one number kept in a field of its own: "3 %", "0.5 % (k=1)", "0.2 bar".
Refused: a bare per cent of an instrument (of what?), the same part twice, a share of a temperature.

As for `parse_quantity`: without k these are limits (rectangular, over √3), with k an expanded uncertainty.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, overload

from headrace.errors import QuantityError
from headrace.units.names import dimension_of, read_unit, words
from headrace.units.numbers import NUMBER, plain, read_number
from headrace.units.quantity import Dist, difference_of, parse_quantity, standard, take_k
from headrace.units.table import Dimension

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_PLUS = re.compile(r"(?<![eE])\+")
_TERM = re.compile(rf"(?P<number>{NUMBER})\s*(?P<unit>.*)")
_CLASS = re.compile(rf"(?:class|cl\.?)\s*(?P<number>{NUMBER})", re.IGNORECASE)

Part = Literal["of_reading", "of_span", "absolute"]
_SPOKEN: dict[Part, str] = {
    "of_span": "fs fso fullscale span ofspan offs offullscale ofthespan ofrange",
    "of_reading": "rdg rd reading ofreading ofrdg ofrd ofvalue ofthereading ofthevalue value",
}
_OF: dict[str, Part] = {word: part for part, spoken in _SPOKEN.items() for word in spoken.split()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Accuracy:
    """Half width of an instrument's error: the sum of up to three parts.

    of_reading, of_span: shares (0.001 is 0.1 %), 0 or more. absolute: [SI], 0 or more.
    k: coverage factor as written; None means limits. text: the original.
    """

    of_reading: float = 0.0
    of_span: float = 0.0
    absolute: float = 0.0
    k: float | None = None
    dimension: Dimension
    text: str = ""

    @property
    def dist(self) -> Dist:
        """How the error is spread: "normal" where k was written, else "rectangular"."""
        return "rectangular" if self.k is None else "normal"

    @overload
    def half(self, *, reading: float, span: float) -> float: ...
    @overload
    def half(self, *, reading: NDArray[np.float64], span: float) -> NDArray[np.float64]: ...
    def half(self, *, reading: float | NDArray[np.float64], span: float) -> float | NDArray[np.float64]:
        """Half width [SI] at a reading [SI, on the instrument's own zero] of an instrument of that span [SI]."""
        return reading.__abs__() * self.of_reading + (span * self.of_span + self.absolute)

    def u(self, *, reading: float, span: float) -> float:
        """Standard uncertainty [SI] at a reading."""
        return standard(self.half(reading=reading, span=span), self.k)


def parse_accuracy(text: str, *, dimension: str) -> Accuracy:
    """Read an instrument's accuracy: parts in % of reading, % of span (FS) and a unit, joined by "+".

    Args:
        text: as on the data sheet; a leading ± is allowed; "class 1.6" is 1.6 % of span (EN 837-1).
        dimension: of what the instrument measures.
    Raises:
        QuantityError: with what to write.

    >>> parse_accuracy("±(0.1 % of reading + 0.05 % FS), k=2", dimension="pressure").of_span
    0.0005
    """
    where = dimension_of(dimension)
    said = text.strip() if isinstance(text, str) else repr(text)
    body, k = take_k(plain(said), said)
    body = body.removeprefix("±").strip()
    if body.startswith("(") and body.endswith(")"):
        body = body[1:-1].strip()
    parts: dict[Part, float] = {}
    for term in _PLUS.split(body):
        part, size = _part(term.strip().removeprefix("±").strip(), said, where)
        if part in parts:
            raise QuantityError(f'"{said}", which states the same part twice', "each part once", "their sum")
        parts[part] = size
    return Accuracy(dimension=where, k=k, text=said, **parts)


def _part(term: str, said: str, dimension: Dimension) -> tuple[Part, float]:
    graded = _CLASS.fullmatch(term)
    if graded:
        return "of_span", float(read_number(graded["number"], found=said) / 100)
    match = _TERM.fullmatch(term)
    if match is None or match["number"].startswith(("-", "+")):
        raise QuantityError(
            f'"{said}"', "an accuracy", '"0.25 % FS", "0.1 % of reading + 0.05 % FS" or a unit'
        )
    size, unit = read_number(match["number"], found=said), match["unit"]
    if not unit.startswith("%") or "/" in unit:
        own, kind = read_unit(unit, difference_of(dimension), found=said)
        if kind is not None:
            raise QuantityError(
                f'"{said}"', "a difference, without (g) or (a)", f'"{match["number"]} {own.name}"'
            )
        return "absolute", float(size * own.factor)
    word = re.sub(r"[^a-z]", "", unit.lower())
    part = _OF.get(word)
    number = match["number"]
    if part is None:
        raise QuantityError(
            f'"{said}", where the per cent does not say of what' if not word else f'"{said}"',
            "% of reading or % of span",
            f'"{number} % FS" or "{number} % of reading"',
        )
    if part == "of_reading" and dimension is Dimension.TEMPERATURE:
        raise QuantityError(
            f'"{said}"', "a difference or % of span", '"0.5 K": a share of a temperature depends on its zero'
        )
    return part, float(size / 100)


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """A doubt in a field of its own. half: a share of the value where `relative`, else [SI]. k as written."""

    half: float
    relative: bool
    k: float | None = None
    text: str = ""

    @property
    def dist(self) -> Dist:
        """How the error is spread: "normal" where k is known, else "rectangular"."""
        return "rectangular" if self.k is None else "normal"

    @property
    def u(self) -> float:
        """Standard uncertainty: a share where `relative`, else [SI]."""
        return standard(self.half, self.k)


def parse_doubt(text: str, *, dimension: str = "ratio", k: float | None = None) -> Doubt:
    """Read the doubt of one number: "3 %" of it, or an amount in its unit; 0 is allowed (exact).

    Args:
        text: as typed, with or without ±. dimension: of the number doubted.
        k: coverage factor that the field implies where the text states none; None for limits.
    Raises:
        QuantityError: with what to write.

    >>> parse_doubt("0.5 % (k=1)").u
    0.005
    """
    where = difference_of(dimension_of(dimension))
    said = text.strip() if isinstance(text, str) else repr(text)
    body, k_said = take_k(plain(said), said)
    body = body.removeprefix("±").strip()
    relative = body.endswith("%")
    if relative and dimension == Dimension.TEMPERATURE:
        raise QuantityError(f'"{said}"', "a difference of temperature", '"0.5 K"')
    amount = parse_quantity(
        body,
        dimension=Dimension.RATIO if relative else where,
        kind="drop" if where is Dimension.PRESSURE and not relative else None,
    )
    if amount.half is not None or amount.value < 0:
        raise QuantityError(f'"{said}"', f"a doubt of {words(where)}, 0 or more", '"0.5 %"')
    return Doubt(half=amount.value, relative=relative, k=k if k_said is None else k_said, text=said)
