"""A quantity written as text ("12.40 ± 0.05 bar(g), k=2"), read into SI with its kind and its doubt.

Refuses what can be read two ways, a unit of another dimension, a pressure that does not say its kind where it
must or says one where it must not, a temperature below absolute zero; every refusal says what to write.
Gauge stays gauge: only `pressures.absolute` leaves it, with an ambient pressure. Start at `parse_quantity`.

What a doubt means: a bare "± 0.05 bar" is a limit, so the error is taken as rectangular and u is the half
width over √3; "± 0.05 bar, k=2" is an expanded uncertainty, so the error is taken as normal and u is the half
width over k (GUM 4.3.7 and 4.3.3). "± 0.5 %" is a share of the value.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from headrace.errors import QuantityError
from headrace.units.names import MARK, Kind, dimension_of, find_unit, read_unit, words
from headrace.units.numbers import NUMBER, plain, read_number
from headrace.units.table import BARE, DISPLAY, Dimension, Unit

Wanted = Literal["abs", "gauge", "drop", "abs-or-gauge"]
"""What a field of pressure asks for."""
Dist = Literal["normal", "rectangular"]

KINDS_FOR: dict[str, tuple[Kind, ...]] = {
    "abs": (Kind.ABS,),
    "gauge": (Kind.GAUGE,),
    "drop": (Kind.DROP,),
    "abs-or-gauge": (Kind.GAUGE, Kind.ABS),
}
_WORD = {Kind.ABS: "absolute", Kind.GAUGE: "gauge", Kind.DROP: "drop"}
_SAYS = {
    Kind.ABS: "it reads the barometer in open air",
    Kind.GAUGE: "it reads 0 in open air",
    Kind.DROP: "it is a difference of two pressures",
}
_K = re.compile(rf"[,;]?\s*(?:\(\s*k\s*=\s*(?P<in>{NUMBER})\s*\)|(?<![A-Za-z])k\s*=\s*(?P<out>{NUMBER}))")
_LEFT = re.compile(rf"(?P<number>{NUMBER})\s*(?P<unit>.*)")
_GROUP = re.compile(rf"\(\s*(?P<value>{NUMBER})\s*±\s*(?P<half>{NUMBER})\s*\)\s*(?P<unit>.*)")
_PERCENT = re.compile(
    r"%(?!\s*/)\s*(?P<of>of\s+(?:the\s+)?(?:value|reading)|of\s+rdg\.?|rdg\.?)?\s*(?P<rest>.*)", re.IGNORECASE
)
LARGEST_BARE_RATIO = 5
"""Above this, "65 ± 1 %" is more likely 65 % than the number 65: it is asked, not guessed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One quantity in SI, as its text stated it.

    value: [SI]; a gauge pressure is gauge. kind: of a pressure, else None.
    half: half width as written [SI], None if no doubt was written (which is not a doubt of zero).
    k: coverage factor as written, None if none. unit: canonical name of the unit written. text: the original.
    """

    value: float
    dimension: Dimension
    kind: Kind | None = None
    half: float | None = None
    k: float | None = None
    unit: str = "1"
    text: str = ""

    @property
    def dist(self) -> Dist | None:
        """How the error is spread: "normal" where k was written, "rectangular" for a bare ±."""
        if self.half is None:
            return None
        return "rectangular" if self.k is None else "normal"

    @property
    def u(self) -> float | None:
        """Standard uncertainty [SI], or None where no doubt was written."""
        return None if self.half is None else standard(self.half, self.k)

    @property
    def u_rel(self) -> float | None:
        """u over the size of the value, or None where there is no doubt or the value is 0."""
        return None if self.u is None or self.value == 0 else self.u / abs(self.value)


def standard(half: float, k: float | None) -> float:
    """Standard uncertainty of a half width: over k, or over √3 where no k was given.

    Source: GUM 4.3.3 (stated multiple) and 4.3.7 (limits).

    >>> standard(0.5, 2.0), round(standard(0.5, None), 6)
    (0.25, 0.288675)
    """
    return half / math.sqrt(3) if k is None else half / k


def parse_quantity(text: object, *, dimension: str, kind: Wanted | None = None) -> Quantity:
    """Read one quantity.

    Args:
        text: as typed; decimal point or comma; a plain number only where no unit is needed (ratio, count).
        dimension: name of the dimension wanted (`Dimension`).
        kind: for a pressure, and only there: "abs", "gauge", "drop", or "abs-or-gauge" where the text may choose.
    Returns:
        The quantity in SI, correctly rounded.
    Raises:
        QuantityError: with what was found, expected, and what to write.

    >>> q = parse_quantity("12,40 ± 0,05 bar(g), k=2", dimension="pressure", kind="abs-or-gauge")
    >>> q.value, q.kind.value, q.u, q.dist
    (1240000.0, 'gauge', 2500.0, 'normal')
    """
    where = dimension_of(dimension)
    if (where is Dimension.PRESSURE) != (kind is not None):
        raise ValueError("a pressure, and nothing else, is read for a kind")
    said = _said(text, where)
    if not said:
        raise QuantityError("nothing", f"a {words(where)}", f'"{_sample(where, kind)}"')
    if re.search(r"(?i)(?<![a-z])(nan|inf|infinity)(?![a-z])", said):
        raise QuantityError(f'"{said}"', "a finite number", f'"{_sample(where, kind)}"')
    body, k = take_k(plain(said), said)
    number, doubt, unit_text = _taken_apart(body, said, where)
    unit, written = read_unit(unit_text, where, found=said)
    kind_read = _kind(written, kind, f"{number} {unit.name}", said)
    exact = read_number(number, found=said)
    si = unit.to_si(exact)
    half = None if doubt is None else _half(doubt, unit, si, number, said)
    if half is None and k is not None:
        raise QuantityError(
            f'"{said}", where k = {k:g} has no ± to speak of',
            "a k only after a ±",
            f'"{number} ± ... {unit.name}{MARK[kind_read] if kind_read else ""}, k={k:g}"',
        )
    if where is Dimension.TEMPERATURE and si < 0:
        raise QuantityError(f'"{said}"', "a temperature above absolute zero", "check sign and unit")
    if kind_read is Kind.ABS and si < 0:
        raise QuantityError(
            f'"{said}"', "an absolute pressure of 0 or more", f'"{number} {unit.name}(g)", if that is meant'
        )
    try:
        return Quantity(
            value=float(si), dimension=where, kind=kind_read, half=None if half is None else float(half),
            k=k, unit=unit.name, text=said,
        )  # fmt: skip
    except OverflowError:
        raise QuantityError(f'"{said}"', "a number that a computer can hold", "check the exponent") from None


def parse_one_of(text: object, *, dimensions: Sequence[str]) -> Quantity:
    """Read a quantity of whichever of several dimensions (none of them pressure) its unit belongs to.

    For a transmitter's signal, say: "4 mA", "0.5 V", "2 mV/V" or "6400 counts".
    Raises: QuantityError; a unit of none of them is refused in the words of the first.

    >>> parse_one_of("20 mA", dimensions=("current", "voltage")).value
    0.02
    """
    for dimension in dimensions:
        where = dimension_of(dimension)
        try:
            _, _, unit = _taken_apart(take_k(plain(_said(text, where)), "")[0], "", where)
        except QuantityError:
            continue
        if find_unit(unit, where) is not None:
            return parse_quantity(text, dimension=where)
    return parse_quantity(text, dimension=dimensions[0])


def _said(text: object, dimension: Dimension) -> str:
    if isinstance(text, str):
        return text.strip()
    if isinstance(text, int | float) and not isinstance(text, bool) and dimension in BARE:
        return repr(text)
    raise QuantityError(
        f"{text!r}", f"a {words(dimension)} as text in quotes, with its unit", f'"{_sample(dimension, None)}"'
    )


_SAMPLES = {Dimension.PRESSURE: "12.4 bar", Dimension.RATIO: "2.5 %", Dimension.TEMPERATURE: "20 degC"}


def _sample(dimension: Dimension, kind: Wanted | None) -> str:
    text = _SAMPLES.get(dimension) or f"12.4 {DISPLAY[dimension]}"
    return text + (MARK[KINDS_FOR[kind][0]] if kind else "")


def take_k(text: str, found: str) -> tuple[str, float | None]:
    """The text without its "k=2" or "(k=2)", and that k (above 0); k is None where none stands."""
    hits = list(_K.finditer(text))
    if not hits:
        return text, None
    if len(hits) > 1:
        raise QuantityError(f'"{found}"', "one k", "the k of the whole doubt")
    k = read_number(hits[0]["in"] or hits[0]["out"], found=found)
    if k <= 0:
        raise QuantityError(f'"{found}"', "a coverage factor k above 0", '"k=2"')
    return (text[: hits[0].start()] + " " + text[hits[0].end() :]).strip(), float(k)


_Doubt = tuple[str, str]
"""Half width and its unit, both as written; the unit is "%" for a share of the value."""


def _taken_apart(body: str, said: str, dimension: Dimension) -> tuple[str, _Doubt | None, str]:
    """Number, doubt and unit, as written."""
    group = _GROUP.fullmatch(body)
    if group:
        return group["value"], (group["half"], "="), group["unit"]
    sides = [side.strip() for side in body.split("±")]
    left = _LEFT.fullmatch(sides[0])
    if left is None or len(sides) > 2:
        raise QuantityError(
            f'"{said}"', f"a number, then a unit of {words(dimension)}", f'"{_sample(dimension, None)}"'
        )
    number, unit = left["number"], left["unit"]
    if re.match(r"[0-9]{3}(?![0-9])", unit):
        joined = number + re.sub(r"\s+(?=[0-9])", "", unit)
        raise QuantityError(
            f'"{said}"', "a number without thousands separators", f'"{joined}", if that is meant'
        )
    if re.match(r"\([0-9]+\)", unit):
        raise QuantityError(f'"{said}"', "a doubt written with ±", f'"{number} ± ..." with the doubt in full')
    if len(sides) == 1:
        return number, None, unit
    right = _LEFT.fullmatch(sides[1])
    if right is None or right["number"].startswith(("-", "+")):
        raise QuantityError(
            f'"{said}"', "a number after ±, without a sign", f'"{number} ± 0.05 {unit}"'.replace(' "', '"')
        )
    return _doubted(number, unit, right["number"], right["unit"], said, dimension)


def _doubted(
    number: str, unit: str, half: str, after: str, said: str, dimension: Dimension
) -> tuple[str, _Doubt, str]:
    share = _PERCENT.fullmatch(after)
    if share is None:
        if unit and not after:
            raise QuantityError(
                f'"{said}"', "a unit after the doubt", f'"± {half} {unit_only(unit)}" or "± {half} %"'
            )
        return (number, (half, after), unit) if unit else (number, (half, "="), after)
    if re.match(r"(?i)(of|f\.?s|span)\b", share["rest"]):
        raise QuantityError(
            f'"{said}"',
            "a doubt in a unit, or in % of the value",
            "say % of span where the instrument is described",
        )
    if dimension is Dimension.TEMPERATURE:
        raise QuantityError(
            f'"{said}"',
            "a difference of temperature after ±",
            '"± 0.5 K": a share of a temperature depends on its zero',
        )
    points = dimension is Dimension.RATIO and not share["of"]
    if points and (unit or abs(read_number(number, found=said)) > LARGEST_BARE_RATIO):
        raise QuantityError(
            f'"{said}", where {half} % may be points or a share of the value',
            "a doubt that can be read one way only",
            f'"({number} ± {half}) %" or "{number}{" " + unit if unit else ""} ± {half} % of value"',
        )
    if unit and share["rest"]:
        raise QuantityError(f'"{said}"', "one unit", f'"{number} {unit} ± {half} %"')
    return number, (half, "%"), unit or share["rest"]


def unit_only(text: str) -> str:
    """A pressure's unit without its kind ("bar(g)" gives "bar"); any other text unchanged."""
    hit = find_unit(text, Dimension.PRESSURE)
    return hit[0].name if hit else text


def difference_of(dimension: Dimension) -> Dimension:
    """The dimension of a difference of two such quantities: its own, but for temperatures."""
    return Dimension.TEMPERATURE_DIFFERENCE if dimension is Dimension.TEMPERATURE else dimension


def _half(doubt: _Doubt, unit: Unit, si: Fraction, number: str, said: str) -> Fraction:
    """Half width in SI."""
    half, after = doubt
    size = read_number(half, found=said)
    if after == "%":
        return abs(si) * size / 100
    if after == "=":
        return size * unit.factor
    own, written = read_unit(after, difference_of(unit.dimension), found=said)
    if written is not None:
        raise QuantityError(
            f'"{said}", where the doubt says "{after.strip()}"',
            "a doubt without a kind: it is a difference",
            f'"{number} {unit.name}{MARK[written]} ± {half} {own.name}"',
        )
    return size * own.factor


def _kind(written: Kind | None, wanted: Wanted | None, bare: str, said: str) -> Kind | None:
    """The kind of the pressure, where the text and the field agree."""
    if wanted is None:
        return None
    allowed = KINDS_FOR[wanted]
    if written in allowed:
        return written
    if written is None and allowed == (Kind.DROP,):
        return Kind.DROP
    if written is None:
        choices = ", or ".join(f'"{bare}{MARK[kind]}" if {_SAYS[kind]}' for kind in allowed)
        raise QuantityError(
            f'"{said}", which does not say gauge or absolute',
            " or ".join(f"{_WORD[kind]} pressure" for kind in allowed) + ", said by (g) or (a)",
            choices,
        )
    if allowed == (Kind.DROP,):
        raise QuantityError(
            f'"{said}", which says {_WORD[written]}',
            "a drop: a difference of two pressures, without (g) or (a)",
            f'"{bare}" if {_SAYS[Kind.DROP]}; a pressure against open air belongs in another key',
        )
    how = " or ".join(f'"... {MARK[kind]}" if {_SAYS[kind]}'.replace("... ", bare) for kind in allowed)
    raise QuantityError(
        f'"{said}", which says {_WORD[written]}',
        " or ".join(f"{_WORD[kind]} pressure" for kind in allowed),
        f"{how}; otherwise convert it with the day's ambient pressure",
    )
