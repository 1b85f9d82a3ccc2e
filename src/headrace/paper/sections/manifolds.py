"""Front: where the manifold gauges should stand, in two bands: primed but unlit, and lit."""

import math

from headrace.paper.content import SIDES, SheetContent
from headrace.paper.markup import Literal, call
from headrace.paper.numbers import bounds

STATES = (("manifold_unlit", "primed, unlit"), ("manifold_lit", "lit"))
SIDE_WORDS = {"ox": "Oxidiser", "fuel": "Fuel"}
BAR = 1e5


def typst(sheet: SheetContent) -> str:
    """Four lanes on one scale, with the tank's set pressure as a tick."""
    if not sheet.has_set_points:
        return ""
    top = _top(sheet)
    lanes: list[Literal] = []
    for state, words in STATES:
        for side in SIDES:
            value = sheet.value(f"{state}.{side}")
            if value is None:
                continue
            lanes.append(
                {
                    "side": side,
                    "words": f"{SIDE_WORDS[side]}, {words}",
                    "ticks": [sheet.answer.values[f"tanks.{side}"].value / top],
                    "low": max(value.low, 0.0) / top,
                    "high": max(value.high, 0.0) / top,
                    "bounds": bounds(value),
                }
            )
    if not lanes:
        return ""
    scale: Literal = {"ticks": _ticks(top), "unit": "bar(g)"}
    return (
        call("breathe", 1)
        + call("head", "Manifold gauges", note="bands of 95 %; the tick is the tank, flowing")
        + call("ladder", scale, lanes)
        + call(
            "note",
            "Unlit: primed and flowing against ambient. Neither band is an abort limit until the crew makes it one.",
        )
        + call("breathe", 1)
    )


def _top(sheet: SheetContent) -> float:
    most = max(sheet.answer.values[f"tanks.{side}"].high for side in SIDES)
    return math.ceil(most / (5 * BAR)) * 5 * BAR


def _ticks(top: float) -> list[Literal]:
    step = 5 if top <= 30 * BAR else 10 if top <= 80 * BAR else 50
    return [[bar * BAR / top, str(bar)] for bar in range(0, int(top / BAR) + 1, step)]
