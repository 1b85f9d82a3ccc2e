"""The verdict on one run. Start at `judge`."""

from collections.abc import Mapping
from dataclasses import replace
from math import expm1, floor, log10
from statistics import fmean
from types import MappingProxyType
from typing import Any

from headrace.chain.water import Reduced
from headrace.findings.run_against_run import CLEAR
from headrace.jobs.verdict.settle import settled
from headrace.notices import Notice, Severity, merged
from headrace.records.answers import Estimate
from headrace.records.day import Day
from headrace.records.given import Campaign, RunGiven
from headrace.records.readings import Contrast, RunResult, characteristic_key
from headrace.records.verdict import Verdict

REPEAT, CHANGE, GO_ON = "repeat", "change", "go on"

NOTHING: Mapping[str, Any] = MappingProxyType({})

BY_CHANCE = frozenset({"clock-jump", "values-missing", "run-against-run", "closure", "level-against-meter"})
"""Doubts that a second run answers as it is; before any other something must be changed first."""

OF_CAMPAIGN = frozenset({"one-run-carries-all"})
"""Doubts of a characteristic that carry a run's name: they say nothing against the run's own record."""


def judge(
    campaign: Campaign, reduced: Reduced, run: str, *, day: Day, found: tuple[Notice, ...],
    water: tuple[float, float] | None,
) -> Verdict:  # fmt: skip
    """Is this run good, does it agree, what next.

    Args:
        run: id of a run of the folder; it may wait for an answer.
        found: notices of the day. water: that the run metered, and the standard uncertainty of that [kg].
    """
    notices = tuple(one for one in (*reduced.notices, *found) if _own(one, run))
    notices = tuple(dict.fromkeys(notices))
    given, result = campaign.runs.get(run), reduced.runs.get(run)
    if given is None:
        return _verdict(
            run,
            CHANGE,
            _advice(notices),
            ("it waits for answers and is not used", *_brings(notices)),
            notices,
        )
    if given.kind != "water":
        why = "it is a hot run: none but water runs are reduced"
        return _verdict(run, GO_ON, "nothing here rests on it", (why,), notices)
    pressures, basis, lacking = settled(campaign, given, result, day, water)
    if given.excluded is not None:
        reasons = (f"it was left out: {given.excluded}", *lacking)
        return _verdict(run, GO_ON, "it enters no result", reasons, notices, pressures=pressures, basis=basis)
    heavy = [
        one for one in merged(notices) if one.severity is not Severity.INFO and one.code not in OF_CAMPAIGN
    ]
    held = _held(reduced, result)
    stands = tuple(_stands(*one) for one in held)
    apart = [one for one, _ in held if _apart(one)]
    used = result is not None and any(one.used for one in result.readings)
    reasons = (*_says(given, result, water), *(stands or _alone(result)), *_brings(tuple(heavy)), *lacking)
    worst = heavy[0] if heavy else None
    if worst is not None:
        word = REPEAT if worst.code in BY_CHANCE else CHANGE
        return _verdict(run, word, _advice(tuple(heavy)), reasons, notices, pressures=pressures, basis=basis)
    if apart:
        return _verdict(
            run,
            REPEAT,
            "one run more tells which of them holds",
            reasons,
            notices,
            pressures=pressures,
            basis=basis,
        )
    if not used:
        return _verdict(
            run,
            CHANGE,
            "no reading of it counts; see why",
            reasons,
            notices,
            pressures=pressures,
            basis=basis,
        )
    first = (
        ""
        if stands
        else ", and repeat it before the day ends: one run alone tells nothing of its own scatter"
    )
    return _verdict(
        run,
        GO_ON,
        f"it enters the results{first}",
        reasons,
        notices,
        good=True,
        pressures=pressures,
        basis=basis,
    )


def _verdict(
    run: str, word: str, what: str, reasons: tuple[str, ...], notices: tuple[Notice, ...], *, good: bool = False,
    pressures: Mapping[str, Estimate] = NOTHING, basis: Mapping[str, str] = NOTHING,
) -> Verdict:  # fmt: skip
    return Verdict(run=run, good=good, next=word, what=what, reasons=reasons, settled=pressures, basis=basis,
                   notices=merged(notices))  # fmt: skip


def _own(notice: Notice, run: str) -> bool:
    """Whether a notice is about this run, be it of its campaign."""
    return notice.run == run or f"run {run}" in notice.about.split(", ")


def _advice(notices: tuple[Notice, ...]) -> str:
    return next((one.try_ for one in notices if one.try_), "look at its doubts")


def _brings(notices: tuple[Notice, ...]) -> tuple[str, ...]:
    return tuple(f"it brings a {one.severity.value}, {one.code}: {one.text}" for one in notices)


def _says(run: RunGiven, result: RunResult | None, water: tuple[float, float] | None) -> tuple[str, ...]:
    """Effective area of each stream, the mean of what counts of its readings; windows, closure, water."""
    if result is None or not result.readings:
        return (f"run {run.id} gives no reading",)
    out = []
    for stream in dict.fromkeys(one.stream for one in result.readings):
        own = [one for one in result.readings if one.stream == stream]
        used = [one for one in own if one.used]
        mean = fmean(one.area_eff for one in used or own)
        wide = 2 * max(one.u / one.area_eff for one in used or own) * mean
        window = result.windows.get(stream)
        where = "" if window is None else f", window {window.start:.2f} s to {window.end:.2f} s"
        out.append(
            f"circuit {stream}: {_with_doubt(1e6 * mean, 1e6 * wide)} mm² at k = 2, {len(used)} of {len(own)} "
            f"readings count{where}"
        )
    if water is not None:
        out.append(f"water by its meter: {_with_doubt(water[0], 2 * water[1])} kg at k = 2")
    if result.closure is not None:
        ratio = result.closure.ratio
        out.append(
            f"closure: meter over {result.closure.witness}, less 1: "
            f"{_with_doubt(100 * ratio.value, 200 * ratio.u, sign='+')} % at k = 2"
        )
    return tuple(out)


def _with_doubt(value: float, wide: float, *, sign: str = "") -> str:
    """A value with its doubt, to the digits that the doubt allows: two where it begins with 1 or 2.

    >>> _with_doubt(30.0014, 0.2711), _with_doubt(1234.5, 35.0)
    ('30.00 ±0.27', '1234 ±35')
    """
    if not wide > 0:
        return f"{value:{sign}.5g}"
    place = -floor(log10(wide))
    digits = max(place + (wide * 10**place < 3), 0)
    return f"{value:{sign}.{digits}f} ±{wide:.{digits}f}"


def _apart(one: Contrast) -> bool:
    return abs(one.ln_ratio) > CLEAR * one.u


def _held(reduced: Reduced, result: RunResult | None) -> list[tuple[Contrast, str]]:
    """What the campaign holds this run against: its fellows by the same line, or another line where it is its line's
    only run; the run stands first in each.
    """
    if result is None:
        return []
    found = []
    for one in reduced.contrasts:
        if one.kind == "runs" and one.a == result.run:
            found.append((one, f"{', '.join(one.b.split('+'))} by the same line"))
        elif one.kind in ("lines", "witness"):
            for own, other, sign in ((one.a, one.b, 1.0), (one.b, one.a, -1.0)):
                if _runs_by(reduced, one.stream, own) == {result.run}:
                    turned = replace(one, a=own, b=other, ln_ratio=sign * one.ln_ratio)
                    found.append((turned, f"the runs by line {other}"))
    return found


def _runs_by(reduced: Reduced, key: str, line: str) -> set[str]:
    """Runs that count for a characteristic by one line."""
    return {
        reading.run
        for result in reduced.runs.values()
        for reading in result.readings
        if reading.used and "+".join(reading.lines) == line
        and characteristic_key(reading.stream, reading.state) == key
    }  # fmt: skip


def _stands(one: Contrast, others: str) -> str:
    word = "does not agree" if _apart(one) else "agrees"
    return (
        f"circuit {one.stream}: {word} with {others}: {100 * expm1(one.ln_ratio):+.2f} %, standard "
        f"uncertainty {100 * one.u:.2g} %, limit {CLEAR:g} of them"
    )


def _alone(result: RunResult | None) -> tuple[str, ...]:
    if result is None or not result.readings:
        return ()
    return ("no other run of its circuit: there is nothing to hold it against",)
