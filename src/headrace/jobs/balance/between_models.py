"""How far models of E against Re that may hold as well lie from the one carried, at the engine. Start at `gap_of`."""

from dataclasses import dataclass

import numpy as np

from headrace.chain.models import MODELS
from headrace.notices import Notice, Severity, spelled
from headrace.records.readings import Characteristic, ModelSeen

LIMIT = "Akaike's criterion, corrected for small samples; two standard uncertainties of a slope"


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """ln of the widest distance, where it comes from, and the notice that tells it."""

    size: float
    origin: str
    notice: Notice


def gap_of(circuit: str, found: Characteristic, re_hot: float) -> Gap | None:
    """The gap of a circuit at its Reynolds number in the engine; None where no other model may hold as well."""
    there = [_ln_ratio(rival, re_hot) - _ln_ratio(found.carried, re_hot) for rival in found.rivals]
    if not there:
        return None
    widest = max(there, key=abs)
    told = _not_separated if found.choice == "not separated" else _undecided
    origin, notice = told(circuit, found, widest, re_hot)
    return Gap(size=abs(widest), origin=origin, notice=notice)


def _not_separated(circuit: str, found: Characteristic, widest: float, _re_hot: float) -> tuple[str, Notice]:
    gap = abs(widest)
    return "slope seen in water, its cause not separated: gap between constant and sloped E", Notice(
        code="slope-not-separated",
        severity=Severity.DOUBT,
        text=(
            f"Circuit {circuit}: E changes with Reynolds number in water (d ln E/d ln Re = {found.slope_seen:+.3f}), "
            f"but Re, K and 1/dp were not told apart. Constant E is carried; the gap of {100 * gap:.1f} % counts as "
            "doubt."
        ),
        facts=(("slope", found.slope_seen), ("gap", gap)),
        limit=LIMIT,
        try_="separate the causes: water at two temperatures, or back-pressure, or a zero before and after",
        about=f"circuit {circuit}",
    )


def _undecided(circuit: str, found: Characteristic, widest: float, re_hot: float) -> tuple[str, Notice]:
    carried = MODELS[found.model].words
    others = " and ".join(MODELS[rival.name].words for rival in found.rivals)
    return f"{carried} carried, {others} not told from it: gap at the engine's Reynolds number", Notice(
        code="model-undecided",
        severity=Severity.DOUBT,
        text=(
            f"Circuit {circuit}: the water runs do not decide between models of E against Re; {carried} is carried, "
            f"{others} fits about as well and gives {100 * np.expm1(widest):+.1f} % at the engine's Reynolds number "
            f"{spelled(re_hot, 3)}. The gap counts as doubt."
        ),
        facts=(("slope", found.slope_seen), ("gap", abs(widest))),
        limit=LIMIT,
        try_=(
            "widen the span of Reynolds numbers: warmer water, or a higher drop with back-pressure; or repeat runs at "
            "both ends of it"
        ),
        about=f"circuit {circuit}",
    )


def _ln_ratio(model: ModelSeen, re: float) -> float:
    """ln of E at a Reynolds number over E at the mean of the readings."""
    return model.coefficient * float(MODELS[model.name].basis(re, model.re_ref))
