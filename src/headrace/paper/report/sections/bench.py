"""Bench and day: days with barometer and water, lines with their meters, instruments and what vouches for them."""

import math
from collections.abc import Mapping
from typing import Any

from headrace.notices import spelled
from headrace.paper.report.content import ReportContent
from headrace.paper.report.parts import Cell, table
from headrace.paper.report.words import NONE, barometer, spanned, temperature
from headrace.paper.sources import in_words
from headrace.records.day import Known, Standing
from headrace.records.given import Certificate, RunGiven
from headrace.records.ledger import Event
from headrace.units import printed


def build(content: ReportContent) -> Mapping[str, Any]:
    """Tables; those without rows are left out."""
    return {
        "tables": [
            one
            for one in (
                table("Days", ("day", "barometer", "water, typed", "runs"), _days(content)),
                table("Lines and meters", ("line", "meter", "kind", "thermometer"), _lines(content)),
                table(
                    "Meters calibrated in place, by runs against scale or level",
                    ("meter", "true over metered, k = 2", "by runs", "Re of its pipe", "largest doubt"),
                    _in_place(content),
                ),
                table(
                    "Instruments",
                    ("tag", "measures", "range", "class or promise", "certificate"),
                    _instruments(content),
                ),
                table(
                    "What stands at the end of the ledger, k = 2",
                    ("vessel", "pressure", "level", "as of"),
                    _standing(content),
                ),
                table(
                    "The day's events",
                    ("no.", "time", "what", "by", "written down"),
                    _events(content),
                    long=True,
                ),
                table(
                    "Certificates",
                    ("certificate", "date", "states", "rests on", "written in"),
                    _certificates(content),
                ),
            )
            if one is not None
        ]
    }


def _days(content: ReportContent) -> list[tuple[Cell, ...]]:
    days: dict[str, list[RunGiven]] = {}
    for run in content.campaign.runs.values():
        days.setdefault(run.date.isoformat(), []).append(run)
    return [
        (
            day,
            _each(barometer(run.ambient.value) for run in runs),
            _each(temperature(run.water_temperature) for run in runs),
            ", ".join(run.id for run in runs),
        )
        for day, runs in sorted(days.items())
    ]


def _each(words: Any) -> str:
    return ", ".join(dict.fromkeys(word for word in words if word != NONE)) or NONE


def _lines(content: ReportContent) -> list[tuple[Cell, ...]]:
    meters = content.campaign.bench.meters
    return [
        (
            line.id,
            line.meter or "no meter",
            meters[line.meter].kind if line.meter is not None else NONE,
            line.temperature or NONE,
        )
        for line in content.campaign.bench.lines.values()
    ]


def _in_place(content: ReportContent) -> list[tuple[Cell, ...]]:
    out: list[tuple[Cell, ...]] = []
    for meter, one in content.reduced.in_place.items():
        doubts = {part.name: abs(part.weight * part.u) for part in one.parts}
        whole = one.factor * math.sqrt(sum(u**2 for u in doubts.values()))
        span = f"{spelled(one.re[0], 3)} to {spelled(one.re[1], 3)}" if one.re is not None else NONE
        out.append((
            meter, str(printed(one.factor, dimension="ratio", unit="1", expanded=2 * whole)).strip(),
            ", ".join(one.runs), span, in_words(max(doubts, key=lambda name: doubts[name])) if doubts else NONE,
        ))  # fmt: skip
    return out


def _instruments(content: ReportContent) -> list[tuple[Cell, ...]]:
    campaign = content.campaign
    known = dict(campaign.bench.instruments)
    if campaign.engine is not None:
        known |= campaign.engine.instruments
    return [
        (
            one.tag,
            one.measures if one.measures != "abs" else "absolute",
            spanned(one.low, one.high, one.measures),
            one.accuracy.text or NONE,
            one.certificate or NONE,
        )
        for one in known.values()
    ]


def _certificates(content: ReportContent) -> list[tuple[Cell, ...]]:
    return [
        (one.id, one.date.isoformat(), one.accuracy.text or NONE, _behind(content, one), one.origin or NONE)
        for one in content.campaign.certificates.values()
    ]


def _behind(content: ReportContent, one: Certificate) -> str:
    if one.reference is None:
        return NONE
    known = content.campaign.references.get(one.reference)
    return one.reference if known is None else f"{one.reference} ({known.origin})"


def _standing(content: ReportContent) -> list[tuple[Cell, ...]]:
    """What each vessel stands at when the ledger ends."""
    if content.day is None:
        return []
    return [
        (name, _known(one.p_gauge, "pressure", "gauge"), _known(one.level, "length", None), _stale(one))
        for name, one in content.day.vessels.items()
    ]


def _known(known: Known | None, dimension: str, kind: str | None) -> str:
    if known is None:
        return NONE
    unit = "m" if dimension == "length" else None
    return str(printed(known.value, dimension=dimension, kind=kind, unit=unit, expanded=2 * known.u))


def _stale(one: Standing) -> str:
    told = [
        f"{words} {known.how} at {known.moment:%H:%M}" + (f", but {known.stale}" if known.stale else "")
        for words, known in (("pressure", one.p_gauge), ("level", one.level))
        if known is not None
    ]
    return "; ".join(told) or "never read"


def _events(content: ReportContent) -> list[tuple[Cell, ...]]:
    ledger = content.campaign.ledger
    return [
        (
            str(one.number),
            f"{one.moment:%Y-%m-%d} {one.clock}",
            one.what.replace("-", " "),
            one.by or NONE,
            _told(one),
        )
        for one in (ledger.events if ledger is not None else ())
    ]


def _told(one: Event) -> str:
    """What was written down with an event, as it was written."""
    parts = [f"{key} {value}" for key, value in one.words.items()]
    parts += [
        f"{key} {stated.text}"
        for group in (one.values, one.p_gauge, one.level)
        for key, stated in group.items()
    ]
    parts += [f"{valve} {position}" for valve, position in one.valves.items()]
    return "; ".join((*parts, one.note) if one.note else parts) or NONE
