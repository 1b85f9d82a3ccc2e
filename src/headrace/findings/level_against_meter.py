"""A level that fell in a run by more or less than its meter says: a drain that weeps, another line, or the meter."""

from headrace.findings.evidence import DayEvidence
from headrace.notices import Notice, Severity
from headrace.records.day import Step

CLEAR = 2.0
"""Standard uncertainties of the difference beyond which the two disagree."""

RHO = 998.0
"""Water of a bench, to a third of a percent [kg/m3]."""


def find(evidence: DayEvidence) -> tuple[Notice, ...]:
    """One notice for each run with both levels known and its water metered."""
    steps = evidence.day.steps
    return tuple(
        notice
        for at, step in enumerate(steps)
        if step.event.what == "run" and step.event.words["run"] in evidence.metered
        for notice in _compared(evidence, step, steps[at:])
    )


def _compared(evidence: DayEvidence, step: Step, later: tuple[Step, ...]) -> tuple[Notice, ...]:
    run = step.event.words["run"]
    vessels = [name for name in step.touched if evidence.campaign.bench.vessels[name].content == "water"]
    drawn, u2 = 0.0, 0.0
    for name in vessels:
        section = evidence.campaign.bench.vessels[name].section
        old, new = step.before[name].level, _next_level(name, later)
        if section is None or old is None or old.stale or new is None:
            return ()
        drawn += section.value * (old.value - new[0])
        u2 += section.value**2 * (old.u**2 + new[1] ** 2) + (old.value - new[0]) ** 2 * section.u**2
    metered, u = evidence.metered[run]
    volume, u_volume = metered / RHO, u / RHO
    total = (u2 + u_volume**2) ** 0.5
    if not vessels or abs(drawn - volume) <= CLEAR * total:
        return ()
    likely = (
        "a drain, a second line or a leak that took water as well; a level mistyped, or read under pressure once and "
        "vented once; the meter"
        if drawn > volume
        else "water that came in meanwhile; a level mistyped; the meter or its zero"
    )
    return (
        Notice(
            code="level-against-meter",
            severity=Severity.DOUBT,
            text=(
                f"Run {run}, ledger.toml, line {step.event.line}: the level of {', '.join(vessels)} fell by "
                f"{1e3 * drawn:.4g} L, its meter says {1e3 * volume:.4g} L; ±{1e3 * CLEAR * total:.3g} L is what they "
                "may differ by."
            ),
            facts=(("witnessed", drawn * RHO), ("metered", metered), ("u", total * RHO)),
            limit=f"{CLEAR:g} standard uncertainties of the difference, common practice",
            try_=f"likely in this order: {likely}",
            run=run,
            about=f"vessel {', '.join(vessels)}",
        ),
    )


def _next_level(name: str, steps: tuple[Step, ...]) -> tuple[float, float] | None:
    """The level read with the run or later, before its water was moved again."""
    for at, step in enumerate(steps):
        moves = step.event.what in ("run", "fill", "drain")
        if at and moves and name in step.touched:
            return None
        if name in step.event.level:
            return step.event.level[name].value, step.event.level[name].u
    return None
