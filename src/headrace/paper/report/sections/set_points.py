"""Set points with their intervals, what to expect, and three spreads kept apart; or why there are none."""

from collections.abc import Mapping
from typing import Any

from headrace.notices import Severity
from headrace.paper.numbers import bounds, half, half_width, part_of
from headrace.paper.report.content import ReportContent
from headrace.paper.report.parts import Cell, Marked, quantity, table
from headrace.paper.report.words import NONE, barometer
from headrace.paper.sections.expected import LINES
from headrace.paper.sections.manifolds import SIDE_WORDS, STATES
from headrace.paper.sections.spreads import GROUPS
from headrace.records.answers import Answer, Estimate
from headrace.records.given import Engine
from headrace.units import format_value

SIDES = ("ox", "fuel")
TANKS = {"ox": "oxidiser tank", "fuel": "fuel tank"}


def build(content: ReportContent) -> Mapping[str, Any]:
    """Everything that the sheet says in numbers."""
    sheet, answer = content.sheet, content.answer
    engine = content.campaign.engine
    if sheet is None or answer is None or engine is None:
        return {"engine": False, "there": False, "stops": [], "tables": [], "foot": ""}
    stops = [notice.text for notice in content.of(Severity.STOP)]
    if not sheet.has_set_points:
        return {"engine": True, "there": False, "stops": stops, "tables": [], "foot": ""}
    tables = [_tanks(answer, engine), _expected(answer), _required(answer), _others(answer)]
    return {
        "engine": True,
        "there": True,
        "stops": stops,
        "tables": [one for one in tables if one is not None],
        "foot": _foot(answer, engine),
    }


def _foot(answer: Answer, engine: Engine) -> str:
    parts = [f"Gauge pressures, at a barometer of {barometer(engine.ambient.value)}."]
    if answer.correlation is not None:
        parts.append(
            "Chamber pressure and mixture ratio go together with a correlation of "
            f"{answer.correlation:+.2f}.".replace("-", "−")
        )
    if answer.draws:
        lost = f", {answer.lost} without an answer" if answer.lost else ""
        draws = f"{answer.draws:,}".replace(",", "\N{NO-BREAK SPACE}")
        parts.append(f"Intervals by Monte Carlo, {draws} draws{lost}.")
    return " ".join(parts)


def _tanks(answer: Answer, engine: Engine) -> Any:
    rows: list[tuple[Cell, ...]] = []
    for side in SIDES:
        tank, static = engine.sides[side].tank, answer.values.get(f"static.{side}")
        flowing = answer.values[f"tanks.{side}"]
        rows.append((
            Marked(words=TANKS[side], side=side), quantity(flowing), bounds(flowing),
            quantity(static) if static is not None else NONE,
            bounds(static) if static is not None else NONE, _limit(tank.relief), _limit(tank.rating),
        ))  # fmt: skip
    head = ("tank", "set, flowing", "interval, 95 %", "static", "interval, 95 %", "relief", "rating")
    return table("Tank pressures", head, rows)


def _limit(value: float | None) -> str:
    return NONE if value is None else format_value(value, dimension="pressure", kind="gauge", digits=3)


def _expected(answer: Answer) -> Any:
    rows: list[tuple[Cell, ...]] = []
    for path, words, symbol, side in LINES:
        value = answer.values.get(f"as_set.{path}") or answer.values.get(path)
        if value is not None:
            rows.append(_line(f"{words}, {''.join(symbol)}", side, value))
    for side, words in (("ox", "Oxidiser injector drop"), ("fuel", "Fuel injector drop")):
        value = answer.values.get(f"as_set.drop.{side}") or answer.values.get(f"drop.{side}")
        if value is not None:
            rows.append(_line(words, side, value))
    for state, words in STATES:
        for side in SIDES:
            value = answer.values.get(f"{state}.{side}")
            if value is not None:
                rows.append(_line(f"{SIDE_WORDS[side]} manifold, {words}", side, value))
    return table("To be expected, when set so", ("quantity", "value", "interval, 95 %"), rows)


def _line(words: str, side: str | None, value: Estimate) -> tuple[Cell, ...]:
    return (Marked(words=words, side=side or ""), quantity(value), bounds(value))


def _required(answer: Answer) -> Any:
    """First spread: the doubt of the required pressure, by groups of sources."""
    parts = [answer.parts.get(f"tanks.{side}", {}) for side in SIDES]
    totals = [answer.values[f"tanks.{side}"] for side in SIDES]
    groups = [group for group in GROUPS if any(group in part for part in parts)]
    groups += sorted({group for part in parts for group in part} - set(GROUPS))
    rows: list[tuple[Cell, ...]] = [
        (
            GROUPS.get(group, group),
            *(_half(part.get(group), total) for part, total in zip(parts, totals, strict=True)),
        )
        for group in groups
    ]
    if rows:
        rows.append(("together", *(_half(total.u, total) for total in totals)))
    return table("First spread: doubt of the required pressure, half widths at 95 %",
                 ("from", "oxidiser tank", "fuel tank"), rows)  # fmt: skip


def _half(u: float | None, total: Estimate) -> str:
    if u is None or total.u == 0:
        return NONE
    shown = part_of(u / total.u * half_width(total), half_width(total), total.unit)
    return shown if shown.startswith("<") else f"±{shown}"


def _others(answer: Answer) -> Any:
    """Second and third spread: what the stand's gauges and the crew's tolerance do to the point."""
    facts = answer.facts
    rows: list[tuple[Cell, ...]] = []
    if "gauge.p_chamber" in facts:
        rows.append(("second spread: scatter when set on these gauges, k = 2",
                     half(2 * facts["gauge.p_chamber"], "Pa"), half(2 * facts["gauge.of_ratio"], "1")))  # fmt: skip
    if "setting.p_chamber" in facts:
        rows.append(("third spread: setting tolerance of the crew, limits",
                     half(facts["setting.p_chamber"], "Pa"), half(facts["setting.of_ratio"], "1")))  # fmt: skip
    return table("Two other spreads, not to be added to the first by hand",
                 ("spread", "chamber pressure", "mixture ratio"), rows)  # fmt: skip
