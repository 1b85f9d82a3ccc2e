"""Water that stood long under air before a run: dissolved air comes out at the holes and lowers the effective area."""

from headrace.findings.evidence import DayEvidence
from headrace.notices import Notice, Severity

LONG = 3600.0
"""Time under pressure after which dissolved air is to be reckoned with [s]. Common practice."""


def find(evidence: DayEvidence) -> tuple[Notice, ...]:
    """One notice for each run of the ledger whose water had soaked too long."""
    out = []
    for step in evidence.day.steps:
        if step.event.what != "run":
            continue
        soaked = {name: step.before[name].soak or 0.0 for name in step.touched}
        worst = max(soaked, key=lambda name: soaked[name], default=None)
        if worst is None or soaked[worst] <= LONG:
            continue
        run = step.event.words["run"]
        out.append(
            Notice(
                code="soak-long",
                severity=Severity.DOUBT,
                text=(
                    f"Run {run}: the water of {worst} had stood {soaked[worst] / 60:.0f} min under air "
                    f"(ledger.toml, line {step.event.line}); beyond {LONG / 60:.0f} min dissolved air that comes out "
                    "at the holes may lower the effective area and bring cavitation early."
                ),
                facts=(("soak", soaked[worst]), ("limit", LONG)),
                limit=f"{LONG / 60:.0f} min under more than 0.5 bar(g), common practice",
                try_="repeat the run with fresh water and a short soak, and compare the two",
                run=run if run in evidence.known else None,
                about=f"vessel {worst}",
            )
        )
    return tuple(out)
