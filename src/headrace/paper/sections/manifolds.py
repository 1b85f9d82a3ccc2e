"""Front: where the manifold gauges should stand, in two bands: primed but unlit, and lit."""

import math

from headrace.paper.content import SIDES, SheetContent
from headrace.paper.markup import Literal, call
from headrace.paper.numbers import bounds_alike

STATES = (("manifold_unlit", "primed, unlit"), ("manifold_lit", "lit"))
SIDE_WORDS = {"ox": "Oxidiser", "fuel": "Fuel"}
BAR = 1e5
STEP = 5
"""The scale ends on whole steps. [bar]"""


def typst(sheet: SheetContent) -> str:
    """Four lanes on one scale, with the tank's set pressure as a tick."""
    if not sheet.has_set_points:
        return ""
    foot, top = _ends(sheet)
    named = [
        (side, words, value)
        for state, words in STATES
        for side in SIDES
        if (value := sheet.value(f"{state}.{side}")) is not None
    ]
    ends = bounds_alike([value for _, _, value in named])
    lanes: list[Literal] = []
    for (side, words, value), text in zip(named, ends, strict=True):
        lanes.append(
            {
                "side": side,
                "words": f"{SIDE_WORDS[side]}, {words}",
                "ticks": [(sheet.answer.values[f"tanks.{side}"].value - foot) / (top - foot)],
                "low": max(value.low - foot, 0.0) / (top - foot),
                "high": max(value.high - foot, 0.0) / (top - foot),
                "bounds": text,
            }
        )
    if not lanes:
        return ""
    scale: Literal = {"ticks": _ticks(foot, top), "unit": "bar(g)"}
    return (
        call("breathe", 1)
        + call("head", "Manifold gauges", note="bands of 95 %; the tick is the tank, flowing")
        + call("ladder", scale, lanes, void=sheet.stopped)
        + call(
            "note",
            "Unlit: primed and flowing against ambient. "
            "None of these bands is an abort limit until the crew makes it one.",
        )
        + call("breathe", 1)
    )


def _ends(sheet: SheetContent) -> tuple[float, float]:
    """The scale: whole steps around all bands and ticks; from zero where half the scale would not hold them."""
    most = max(sheet.answer.values[f"tanks.{side}"].high for side in SIDES)
    bands = [sheet.value(f"{state}.{side}") for state, _ in STATES for side in SIDES]
    least = min((band.low for band in bands if band is not None), default=0.0)
    step = STEP * BAR
    foot, top = math.floor(max(least, 0.0) / step) * step, math.ceil(most / step) * step
    return (foot if foot > top / 3 else 0.0), top


def _ticks(foot: float, top: float) -> list[Literal]:
    span = (top - foot) / BAR
    every = STEP if span <= 6 * STEP else 2 * STEP if span <= 16 * STEP else 10 * STEP
    marks = range(math.ceil(foot / BAR / every) * every, round(top / BAR) + 1, every)
    return [[(bar * BAR - foot) / (top - foot), str(bar)] for bar in marks]
