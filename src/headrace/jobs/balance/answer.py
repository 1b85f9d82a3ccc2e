"""From the frozen engine chain to an `Answer`: estimates, budgets, and what the draws say against them.

The interval is Monte Carlo's and u is the GUM's; where they disagree, or draws have no answer, a notice says so.
Start at `answer_of`.
"""

from collections.abc import Mapping
from math import hypot, isfinite

from headrace.chain.water import WaterChain
from headrace.errors import Infeasible
from headrace.jobs.balance.build import Builder
from headrace.notices import Notice, Severity, merged
from headrace.records.answers import Answer, BudgetLine, Estimate
from headrace.records.given import Campaign
from headrace.uncertainty.compare import compare
from headrace.uncertainty.errors_map import Model
from headrace.uncertainty.gum import GumResult, gum
from headrace.uncertainty.monte_carlo import MonteCarloResult, monte_carlo

SEED = 20_011
"""Of every answer's draws: the same folder gives the same numbers."""

ROUNDS = 5
"""An adaptive run ends at this many times the draws asked for at the latest."""

KINDS: Mapping[str, tuple[str, str | None]] = {
    "p_chamber": ("Pa", "abs"),
    "of_ratio": ("1", None),
    "m_dot": ("kg/s", None),
    "drop": ("Pa", "drop"),
    "area_hot": ("m2", None),
    "manifold_lit": ("Pa", "gauge"),
    "manifold_unlit": ("Pa", "gauge"),
    "tanks": ("Pa", "gauge"),
    "static": ("Pa", "gauge"),
}

FAR_OFF = "look in engine.toml for a value far off, such as the throat, or a doubt as large as its value"

LOST = 0.01
"""Share of draws without an answer beyond which the rest speak for no interval of 95 %. Common practice."""


def answer_of(
    campaign: Campaign,
    builder: Builder,
    model: Model,
    water: WaterChain,
    outputs: tuple[str, ...],
    nominal: Mapping[str, float],
    notices: tuple[Notice, ...],
) -> Answer:
    sources = builder.all_sources(water)
    defaults = campaign.defaults
    first = gum(model, sources, outputs=outputs)
    drawn = monte_carlo(
        model,
        sources,
        draws=defaults.draws,
        seed=SEED,
        outputs=outputs,
        coverage=defaults.coverage,
        adaptive=True,
        digits=1,
        max_draws=ROUNDS * defaults.draws,
    )
    values = {name: _estimate(name, nominal[name], first, drawn) for name in outputs}
    if not all(isfinite(one.u) and isfinite(one.low) and isfinite(one.high) for one in values.values()):
        raise _no_doubt(drawn, notices)
    budgets = {name: _budget(first, name) for name in outputs}
    prefix = "as_set." if "as_set.p_chamber" in values else ""
    pair = [first.outputs.index(f"{prefix}{name}") for name in ("p_chamber", "of_ratio")]
    correlation = float(first.correlation[pair[0], pair[1]])
    lost = max(drawn.lost.values(), default=0)
    found = merged(
        builder.reduced.notices,
        builder.notices,
        notices,
        honest(first, drawn, lost, campaign.defaults.coverage),
    )
    return Answer(
        values=values,
        budgets=budgets,
        correlation=correlation if isfinite(correlation) else None,
        parts={name: parts_of(lines) for name, lines in budgets.items()},
        facts={},
        notices=found,
        draws=drawn.draws,
        lost=lost,
        assumptions=tuple(builder.assumptions),
    )


def _no_doubt(drawn: MonteCarloResult, notices: tuple[Notice, ...]) -> Infeasible:
    """A point that closes at nominal only: whatever is off by its doubt leaves no balance, so no interval exists."""
    lost = max(drawn.lost.values(), default=0)
    why = f"no doubt can be told here: {lost} of {drawn.draws} draws have no answer"
    stops = [notice.text for notice in notices if notice.severity is Severity.STOP]
    return Infeasible(
        "both sides",
        ". ".join((why, *(text.rstrip(".") for text in stops))),
        try_=FAR_OFF,
    )


def _estimate(name: str, value: float, first: GumResult, drawn: MonteCarloResult) -> Estimate:
    unit, kind = KINDS[name.removeprefix("as_set.").split(".")[0]]
    low, high = drawn.interval(name)
    return Estimate(
        value=value,
        u=first.u[name],
        low=low,
        high=high,
        unit=unit,
        kind=kind,
        coverage=drawn.coverage,
        method="monte-carlo",
        dof=first.dof[name],
    )


def _budget(first: GumResult, name: str) -> tuple[BudgetLine, ...]:
    return tuple(
        BudgetLine(
            source=row.source,
            contribution=row.contribution,
            share=row.share,
            scope=row.scope,
            group=row.group,
            origin=row.origin,
        )
        for row in first.budget(name)
        if row.contribution != 0
    )


def parts_of(lines: tuple[BudgetLine, ...]) -> dict[str, float]:
    """Standard uncertainty by group of sources."""
    out: dict[str, float] = {}
    for line in lines:
        out[line.group] = hypot(out.get(line.group, 0.0), line.contribution)
    return out


def honest(first: GumResult, drawn: MonteCarloResult, lost: int, coverage: float) -> tuple[Notice, ...]:
    """Draws without an answer, and where GUM and Monte Carlo disagree."""
    out: list[Notice] = []
    if lost:
        out.append(
            Notice(
                code="draws-lost",
                severity=Severity.STOP if lost > LOST * drawn.draws else Severity.DOUBT,
                text=f"{lost} of {drawn.draws} draws had no answer (a pressure or a flow turned negative).",
                facts=(("lost", float(lost)), ("draws", float(drawn.draws))),
                limit=f"none should be lost, stop beyond {100 * LOST:g} %",
                try_="look for a reading near zero, or a doubt as large as the value it belongs to",
            )
        )
    differ = [name for name, found in compare(first, drawn, digits=1).items() if not found.agrees]
    if differ:
        out.append(
            Notice(
                code="linear-not-enough",
                severity=Severity.INFO,
                text=f"Linear propagation and Monte Carlo differ for {', '.join(differ)}; intervals are Monte Carlo's.",
                limit=f"JCGM 101:2008, clause 8, one digit, {100 * coverage:g} %",
                try_="use the printed interval, not u alone",
            )
        )
    return tuple(out)
