"""Circuits: the characteristic of each with its drawings, its runs and weights, its budget; what agrees with what."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from headrace.figures import budget, characteristic, diagnosis
from headrace.notices import spelled
from headrace.paper.numbers import bounds, part_of
from headrace.paper.report.content import ReportContent
from headrace.paper.report.parts import Cell, Figure, Link, Marked, Table, anchor, figure, quantity, table
from headrace.paper.report.words import NONE
from headrace.paper.sources import in_words
from headrace.records.answers import BudgetLine, Estimate
from headrace.records.readings import Characteristic, Reading
from headrace.units import format_interval, format_value, printed

LEAST = 0.0005
"""Share of u squared below which sources are told together; by themselves they stand among the sources of error."""

MEANT = {
    "lines": "one line against another",
    "witness": "a line against its witness",
    "runs": "a run against the others",
    "sum": "together against the sum of each alone",
    "neighbour": "alone against with its neighbour",
}


def build(content: ReportContent) -> Mapping[str, Any]:
    """An overview, each circuit by itself, the contrasts between results that should agree."""
    items = content.reduced.characteristics
    return {
        "overview": table(
            "Effective areas carried, with their intervals",
            ("circuit", "effective area E", "interval, 95 %", "Cd", "model", "Re tested", "least K", "days"),
            [_row(content, item) for item in items.values()],
        ),
        "circuits": [_circuit(content, item) for item in items.values()],
        "contrasts": [
            one
            for one in (
                table(
                    "Alone or together: ratio of effective areas, shared errors cancelled",
                    (
                        "compared",
                        "stream",
                        "first",
                        "second",
                        "ratio, less 1",
                        "interval, 95 %",
                        "the engine carries",
                    ),
                    _contrasts(content),
                ),
                table(
                    "Crossover: two circuits by two lines, and by the same lines swapped; shared errors cancelled",
                    (
                        "circuits",
                        "lines",
                        "line reads over line, less 1",
                        "E of first over second",
                        "left over, 95 %",
                        "runs",
                    ),
                    _crossovers(content),
                ),
            )
            if one is not None
        ],
    }


def _row(content: ReportContent, item: Characteristic) -> tuple[Cell, ...]:
    low, high = item.re_span
    return (
        Marked(words=item.key, side=content.sides.get(item.stream, "film")), quantity(item.area_eff),
        bounds(item.area_eff), quantity(item.cd) if item.cd is not None else NONE, item.model,
        f"{spelled(low, 3)} to {spelled(high, 3)}", f"{item.cav_least:.2f}", str(item.days),
    )  # fmt: skip


def _circuit(content: ReportContent, item: Characteristic) -> dict[str, Any]:
    side, readings = content.sides.get(item.stream, "film"), content.readings(item)
    name = anchor(item.key)
    re_hot = content.answer.facts.get(f"re_hot.{item.stream}") if content.answer is not None else None
    drawn = characteristic.draw(item, readings, side=side, re_hot=re_hot, width=140.0, height=70.0)
    figures = []
    own = f"diagnosis-{name}"
    alt = f"A {item.model} characteristic, {bounds(item.area_eff)}, with the readings around it."
    figures.append(figure(f"characteristic-{name}", drawn, alt=alt, beside=own))
    seen = diagnosis.draw(item, readings, side=side)
    alt = item.cause.why if item.cause is not None else "The same readings against three abscissae."
    figures.append(figure(own, seen, alt=alt, data=_thinned(readings)))
    if item.budget:
        figures.append(
            budget_figure(
                f"budget-{name}", item.budget, f"the effective area of {item.key}", side, item.area_eff
            )
        )
    return {
        "key": item.key,
        "kind": "Part" if _part(content, item) else "Circuit",
        "anchor": f"circuit-{name}",
        "facts": _part(content, item) + _facts(item),
        "figures": figures,
        "weights": table(
            "Runs and their share in the fit", ("run", "share"),
            [
                (
                    Link(words=run, to=anchor("run", run)),
                    Marked(words=f"{100 * weight:.1f} %".replace("-", "−"), share=weight),
                )
                for run, weight in item.weights.items()
            ],
        ),
    }  # fmt: skip


def budget_figure(
    name: str, lines: tuple[BudgetLine, ...], of: str, side: str | None, total: Estimate
) -> Figure:
    """A budget as bars, with every source, what it contributes, and whose word it is."""
    worded = [replace(line, source=in_words(line.source)) for line in lines]
    drawn = budget.draw(worded, name=of, side=side if side in ("ox", "fuel", "film") else None, width=150.0)
    ranked = sorted(lines, key=lambda line: (-line.share, in_words(line.source)))
    shown = [line for line in ranked if line.share >= LEAST] or ranked[:1]
    rows = [
        (
            in_words(line.source),
            budget.percent(line.share),
            _moves(line.contribution, total),
            line.scope,
            line.origin,
        )
        for line in shown
    ]
    rest = ranked[len(shown) :]
    if rest:
        together = sum(line.contribution**2 for line in rest) ** 0.5
        share = budget.percent(sum(line.share for line in rest))
        rows.append(
            (f"{len(rest)} smaller, together", share, _moves(together, total), NONE, "see sources of error")
        )
    drawn = replace(
        drawn, head=("source", "share of u²", "moves it, k = 1", "scope", "by whose word"), rows=tuple(rows)
    )
    largest = in_words(ranked[0].source), budget.percent(ranked[0].share)
    return figure(name, drawn, alt=f"The largest source is {largest[0]} with {largest[1]} of u squared.",
                  data="The sources, largest first")  # fmt: skip


def _moves(part: float, total: Estimate) -> str:
    return part_of(part, total.u, total.unit).replace("-", "−")


def _thinned(readings: Sequence[Reading]) -> Table | None:
    """What both drawings show: of each run its first, middle and last reading; all stand with their runs."""
    rows: list[tuple[Cell, ...]] = []
    for run in dict.fromkeys(one.run for one in readings):
        of_run = [one for one in readings if one.run == run]
        for one in dict.fromkeys(of_run[at] for at in (0, len(of_run) // 2, len(of_run) - 1)):
            counts = "yes" if one.used else "no" if one.why.startswith("run left out") else f"no: {one.why}"
            rows.append((
                Link(words=run, to=anchor("run", run)), " + ".join(one.lines) or NONE, spelled(one.re, 3),
                f"{one.cav:.2f}", f"{1e5 / one.dp:.3f}" if one.dp > 0 else NONE,
                format_value(one.dp, dimension="pressure", kind="drop"),
                format_interval(one.area_eff, 2 * one.u, dimension="area"), counts,
            ))  # fmt: skip
    head = ("run", "lines", "Re", "K", "1/Δp (1/bar)", "drop Δp", "effective area E, k = 2", "counts")
    return table("Readings drawn above: first, middle and last of each run", head, rows, long=True)


def _part(content: ReportContent, item: Characteristic) -> list[tuple[str, str]]:
    """What a part of a feed lies between; nothing of a circuit, which ends in open air or the chamber."""
    one = content.campaign.article.circuits.get(item.stream)
    if one is None or one.down_tap is None:
        return []
    return [("Part of a feed", f"{one.element}, between taps {one.tap} and {one.down_tap}")]


def _facts(item: Characteristic) -> list[tuple[str, str]]:
    facts = [
        ("Effective area E", f"{quantity_text(item.area_eff)}, 95 %, at Re {spelled(item.re_ref, 3)}"),
        ("Model carried", _why(item)),
        (
            "Slope seen",
            f"{item.slope_seen:+.4f} ±{2 * item.u_slope:.4f} (k = 2), d ln E / d ln Re".replace("-", "−"),
        ),
    ]
    if item.cause is not None:
        facts.append(("Cause test", _led(item.cause.verdict, item.cause.why)))
    if len(item.models) > 1:
        scores = ", ".join(f"{one.name} {one.score:.1f}" for one in item.models)
        facts.append(("Models, by the criterion", f"{scores} (less that of the best)"))
    return facts


def _why(item: Characteristic) -> str:
    return _led(item.model, item.why)


def _led(by: str, why: str) -> str:
    why = why.rstrip(".")
    return why if why.startswith(by) else f"{by}: {why}"


def quantity_text(estimate: Estimate) -> str:
    """An estimate as one piece of text."""
    shown = quantity(estimate)
    return f"{shown.whole}{shown.rest} {shown.doubt} {shown.unit}".replace("  ", " ").strip()


def _contrasts(content: ReportContent) -> list[tuple[Cell, ...]]:
    out: list[tuple[Cell, ...]] = []
    for one in content.reduced.comparisons:
        ratio = replace(one.ratio, value=one.ratio.value - 1, low=one.ratio.low - 1, high=one.ratio.high - 1)
        out.append((
            MEANT.get(one.kind, one.kind), one.stream, one.a, one.b,
            _percent(ratio.value), f"{_percent(ratio.low)} to {_percent(ratio.high)}",
            f"{one.carried}: {one.why}" if one.carried is not None else NONE,
        ))  # fmt: skip
    return out


def _crossovers(content: ReportContent) -> list[tuple[Cell, ...]]:
    """What is the lines' and what is the circuits', with what neither explains."""
    return [
        (
            " and ".join(one.circuits), f"{one.lines[0]} over {one.lines[1]}", _share(one.line_bias),
            quantity(one.circuit_ratio), _share(one.unexplained), ", ".join(one.runs),
        )
        for one in content.reduced.crossovers
    ]  # fmt: skip


def _share(one: Estimate) -> str:
    half = max(one.high - one.value, one.value - one.low)
    return str(printed(one.value, dimension="ratio", unit="%", expanded=half)).replace("-", "−")


def _percent(value: float) -> str:
    return f"{100 * value:+.2f} %".replace("-", "−")
