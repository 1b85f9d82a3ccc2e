"""Estimates as the sheet prints them: rounded by their doubt, with unit and kind. Start at `pieces`."""

import math
import re
from collections.abc import Sequence

from headrace.paper.markup import Literal
from headrace.records.answers import Estimate
from headrace.records.given import Stated
from headrace.units import Printed, format_range, format_value, printed

DIMENSIONS = {
    "Pa": "pressure",
    "m2": "area",
    "m": "length",
    "kg/s": "mass_flow",
    "kg/m3": "density",
    "m/s": "velocity",
    "K": "temperature_difference",
    "1": "ratio",
}
"""Dimension of each SI unit that an `Estimate` may have."""

EXPONENT = re.compile(r"\b(kg/m|[kcm]?m)([23])\b")


def half_width(estimate: Estimate) -> float:
    """Half width of its interval [its unit]; the wider side where the two differ."""
    return max(estimate.high - estimate.value, estimate.value - estimate.low)


def pieces(estimate: Estimate) -> Printed:
    """Number, doubt and unit of an estimate, apart for layout."""
    return printed(
        estimate.value,
        dimension=DIMENSIONS[estimate.unit],
        kind=estimate.kind,
        unit=_unit(estimate.unit),
        expanded=half_width(estimate),
    )


def bounds(estimate: Estimate) -> str:
    """Its interval by both ends, rounded outwards."""
    return format_range(
        estimate.low,
        estimate.high,
        dimension=DIMENSIONS[estimate.unit],
        kind=estimate.kind,
        unit=_unit(estimate.unit),
    ).rstrip()


def bounds_alike(estimates: Sequence[Estimate]) -> list[str]:
    """Their intervals of one unit and kind, as `bounds`, all to the place of the widest."""
    widest = max((one.high - one.low for one in estimates), default=0.0) / 2
    return [
        format_range(
            one.low,
            one.high,
            dimension=DIMENSIONS[one.unit],
            kind=one.kind,
            unit=_unit(one.unit),
            half=widest,
        ).rstrip()
        for one in estimates
    ]


def half(value: float, unit: str) -> str:
    """A half width by itself, rounded up as doubts are; "–" when there is none."""
    if not math.isfinite(value):
        return "–"
    if value == 0:
        return "0"
    kind = "drop" if unit == "Pa" else None
    width = abs(value)
    shown = printed(width, dimension=DIMENSIONS[unit], kind=kind, unit=_unit(unit), expanded=width)
    return f"±{shown.doubt} {shown.unit}".strip()


def part_of(part: float, whole: float, unit: str) -> str:
    """A part of a doubt, to the place of the second significant digit of the whole, so that a column lines up."""
    if not whole > 0:
        return "0"
    kind = "drop" if unit == "Pa" else None
    place = 1.5 * 10.0 ** math.floor(math.log10(whole))  # a doubt that starts with 1 keeps two digits

    def shown(value: float, u: float) -> str:
        return format_value(value, dimension=DIMENSIONS[unit], kind=kind, unit=_unit(unit), u=u).strip()

    text = shown(part, place)
    if part and not re.search("[1-9]", text):
        return f"< {shown(place / 30, place / 10)}"  # half a step of the last place: what rounds to nothing
    return text


def quantity(estimate: Estimate) -> dict[str, Literal]:
    """An estimate for the template's quantity cells."""
    shown = pieces(estimate)
    return {"number": shown.number, "doubt": shown.doubt, "unit": shown.unit}


def stated(given: Stated, *, dimension: str, kind: str | None = None, unit: str | None = None) -> str:
    """A stated number as its owner wrote it, or in our words when it was not written."""
    return typeset(given.text) or restated(given, dimension=dimension, kind=kind, unit=unit)


def typeset(text: str) -> str:
    """A quantity as its owner typed it, with raised exponents of its units.

    >>> typeset("810 kg/m3 ± 5 kg/m3, area 2.9 mm2")
    '810 kg/m³ ± 5 kg/m³, area 2.9 mm²'
    """
    return EXPONENT.sub(lambda hit: hit[1] + {"2": "²", "3": "³"}[hit[2]], text)


def restated(given: Stated, *, dimension: str, kind: str | None = None, unit: str | None = None) -> str:
    """A stated number in the unit it is printed in everywhere: its limits, or its doubt with k = 2."""
    if given.u == 0:
        return format_value(given.value, dimension=dimension, kind=kind, unit=unit)
    limits = given.dist == "rectangular"
    half = given.u * (math.sqrt(3) if limits else 2)
    shown = printed(given.value, dimension=dimension, kind=kind, unit=unit, expanded=half)
    return f"{shown} ({'limits' if limits else 'k = 2'})"


def _unit(si: str) -> str | None:
    """The display unit where the dimension's own would mislead: 1 stays 1, temperatures here are differences."""
    return {"K": "K", "1": "1"}.get(si)
