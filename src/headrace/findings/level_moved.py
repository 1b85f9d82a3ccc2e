"""A level of water that rose or fell although nothing was filled, drained or run."""

from headrace.findings.evidence import DayEvidence
from headrace.notices import Notice, Severity
from headrace.records.day import Known, Step

CLEAR = 2.0
"""Standard uncertainties of the difference beyond which a level moved."""

MOVES = ("fill", "drain", "run")


def find(evidence: DayEvidence) -> tuple[Notice, ...]:
    """One notice for each level read twice that does not stand still; a run that raises a level is one, too."""
    out = []
    for step in evidence.day.steps:
        for name, after in step.after.items():
            old, new = step.before[name].level, after.level
            if old is None or new is None or new.number != step.event.number or old.stale:
                continue
            moved = new.value - old.value
            u = (old.u**2 + new.u**2) ** 0.5
            run = step.event.what == "run" and name in step.touched
            own = step.event.what in ("fill", "drain") and step.event.words["vessel"] == name
            if abs(moved) <= CLEAR * u or own or (run and moved < 0):
                continue
            out.append(_told(step, name, old, new, u))
    return tuple(out)


def _told(step: Step, name: str, old: Known, new: Known, u: float) -> Notice:
    moved = new.value - old.value
    likely = (
        "water let in and not written down, or a supply valve that weeps; a level read under pressure and one read "
        "vented; one of the two mistyped"
        if moved > 0
        else "a drain or a run not written down, or a leak; one of the two mistyped"
    )
    return Notice(
        code="level-moved",
        severity=Severity.DOUBT,
        text=(
            f"ledger.toml, line {step.event.line}, {step.event.place}: the level of {name} "
            f"{'rose' if moved > 0 else 'fell'} by itself, from {1e3 * old.value:.4g} mm (event {old.number}) to "
            f"{1e3 * new.value:.4g} mm; ±{1e3 * CLEAR * u:.3g} mm is what the two readings may differ by."
        ),
        facts=(("level", moved), ("u", u)),
        limit=f"{CLEAR:g} standard uncertainties of the difference, common practice",
        try_=f"likely in this order: {likely}",
        about=f"vessel {name}",
    )
