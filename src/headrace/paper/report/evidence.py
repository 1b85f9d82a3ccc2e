"""A finding's evidence, drawn: its number against its limit, and its place in time. Start at `against_limit`, `mark`.

One line per code in `SCALES` and `PLACES`; a code without one is told in words alone.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from headrace.figures.traces import Mark
from headrace.findings import (
    gas_breakthrough,
    line_against_line,
    neighbour_leak,
    run_against_run,
    values_missing,
    window_short,
)
from headrace.notices import Notice, spelled
from headrace.records.given import Limits
from headrace.units import format_value


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """A value on a line with its limits: words, value, limits with their words; all in one unit, printed by `shown`."""

    words: str
    value: float
    limits: tuple[tuple[str, float], ...]
    shown: Callable[[float], str]
    logarithmic: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruler:
    """A scale ready to be set: places from 0 to 100 along it."""

    words: str
    value: str
    at: float
    limits: tuple[tuple[str, float], ...]
    told: str


Facts = Mapping[str, float]


def _pressure(value: float) -> str:
    return format_value(value, dimension="pressure", kind="drop", digits=3)


def _share(value: float) -> str:
    return f"{100 * value:.3g} %"


def _plain(value: float) -> str:
    return spelled(value, 3)


def _tare(facts: Facts, _: Limits) -> Scale | None:
    value = facts.get("shift", facts.get("p_zero"))
    if value is None or "limit" not in facts:
        return None
    words = "zero moved by" if "shift" in facts else "zero stands at"
    return Scale(words=words, value=abs(value), limits=(("allowed", facts["limit"]),), shown=_pressure)


def _closure(facts: Facts, limits: Limits) -> Scale:
    allowed = limits.closure * facts["u"]
    return Scale(words="meter over witness, less 1", value=abs(facts["closure"]),
                 limits=(("allowed", allowed), ("stop", 2 * allowed)), shown=_share)  # fmt: skip


def _gas(facts: Facts, _: Limits) -> Scale:
    allowed = max(gas_breakthrough.WOBBLE * facts["scatter_usual"], gas_breakthrough.FLOOR)
    return Scale(words="E wobbles by", value=facts["scatter"], limits=(("allowed", allowed),), shown=_share)


def _trend(facts: Facts, _: Limits) -> Scale | None:
    if "trend" not in facts:
        return None
    allowed = max(window_short.TREND, window_short.CLEAR * facts["u"])
    return Scale(words="ln E changes over the window by", value=abs(facts["trend"]),
                 limits=(("allowed", allowed),), shown=_share)  # fmt: skip


def _neighbour(facts: Facts, _: Limits) -> Scale:
    return Scale(words="neighbour rises, of the tap pressure", value=abs(facts["p_rise"] / facts["p_tap"]),
                 limits=(("doubt", neighbour_leak.LEAST), ("stop", neighbour_leak.GRAVE)), shown=_share,
                 logarithmic=True)  # fmt: skip


def _differ(clear: float, grave: float) -> Callable[[Facts, Limits], Scale]:
    def scale(facts: Facts, _: Limits) -> Scale:
        return Scale(words="they differ by", value=abs(facts["ln_ratio"]),
                     limits=(("doubt", clear * facts["u"]), ("stop", grave * facts["u"])), shown=_share)  # fmt: skip

    return scale


def _cavitates(facts: Facts, limits: Limits) -> Scale:
    return Scale(words="least K", value=facts["cav"],
                 limits=(("left out below", limits.cavitation_stop), ("clear above", limits.cavitation_doubt)),
                 shown=_plain)  # fmt: skip


def _beyond(facts: Facts, _: Limits) -> Scale:
    return Scale(words="Reynolds number in the engine", value=facts["re"],
                 limits=(("tested from", facts["re_low"]), ("to", facts["re_high"])), shown=_plain,
                 logarithmic=True)  # fmt: skip


def _scope(facts: Facts, _: Limits) -> Scale | None:
    named = {"low", "high"} & set(facts)
    value = next((number for name, number in facts.items() if name not in ("low", "high")), None)
    if value is None or len(named) < 2 or not value > 0:
        return None
    return Scale(words="seen", value=value, limits=(("from", facts["low"]), ("to", facts["high"])), shown=_plain,
                 logarithmic=facts["low"] > 0)  # fmt: skip


def _throat(facts: Facts, _: Limits) -> Scale:
    return Scale(words="least pressure in the throat, absolute", value=facts["p_throat"],
                 limits=(("vapour pressure", facts["p_vap"]),), shown=_pressure)  # fmt: skip


def _missing(facts: Facts, _: Limits) -> Scale:
    return Scale(words="samples missing", value=facts["share"],
                 limits=(("allowed", values_missing.ALLOWED),), shown=_share)  # fmt: skip


SCALES: Mapping[str, Callable[[Facts, Limits], Scale | None]] = MappingProxyType(
    {
        "tare-drift": _tare,
        "closure": _closure,
        "gas-breakthrough": _gas,
        "window-short": _trend,
        "neighbour-leak": _neighbour,
        "line-against-line": _differ(line_against_line.CLEAR, line_against_line.GRAVE),
        "run-against-run": _differ(run_against_run.CLEAR, run_against_run.GRAVE),
        "article-cavitates": _cavitates,
        "re-outside": _beyond,
        "meter-out-of-scope": _scope,
        "meter-throat-cavitates": _throat,
        "values-missing": _missing,
    }
)
"""How the number of a finding stands to its limit, by code."""


def against_limit(notice: Notice, limits: Limits) -> Ruler | None:
    """The finding's number on a line with its limits; None where it has none."""
    make = SCALES.get(notice.code)
    try:
        scale = make(dict(notice.facts), limits) if make is not None else None
    except (KeyError, ZeroDivisionError):
        return None  # another notice of this code, which speaks of something without a number
    if scale is None or not all(math.isfinite(one) for one in (scale.value, *(at for _, at in scale.limits))):
        return None
    return _ruled(scale)


def _ruled(scale: Scale) -> Ruler:
    numbers = [scale.value, *(at for _, at in scale.limits)]
    if scale.logarithmic and min(numbers) > 0:
        low, high = math.log(min(numbers)), math.log(max(numbers))
        room = 0.12 * (high - low) or 1.0
        places = [100 * (math.log(one) - low + room) / (high - low + 2 * room) for one in numbers]
    else:
        high = 1.15 * max(numbers) or 1.0
        places = [100 * max(one, 0.0) / high for one in numbers]
    limits = tuple(
        (f"{words} {scale.shown(at)}", place)
        for (words, at), place in zip(scale.limits, places[1:], strict=True)
    )
    value = scale.shown(scale.value)
    told = f"{scale.words} {value}; {', '.join(words for words, _ in limits)}"
    return Ruler(words=scale.words, value=value, at=places[0], limits=limits, told=told)


PLACES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {"gas-breakthrough": ("time", "duration"), "clock-jump": ("time", ""), "tare-in-flow": ("start", "-end")}
)
"""Facts that say when, by code: beginning, and how long (or, with "-", the end)."""


def mark(notice: Notice, letter: str) -> Mark | None:
    """Where a finding lies on the time of its run; None where it has no place there."""
    facts, names = dict(notice.facts), PLACES.get(notice.code)
    if names is None or names[0] not in facts:
        return None
    start, last = facts[names[0]], names[1]
    end = facts.get(last[1:]) if last.startswith("-") else (start + facts[last] if last in facts else None)
    return Mark(letter=letter, start=start, end=end, severity=notice.severity.value)
