"""A run in the ledger of which nobody wrote down what stood before or after it."""

from headrace.findings.evidence import DayEvidence
from headrace.notices import Notice, Severity
from headrace.records.day import Step


def find(evidence: DayEvidence) -> tuple[Notice, ...]:
    """One notice for each such run."""
    steps = evidence.day.steps
    out = []
    for at, step in enumerate(steps):
        if step.event.what != "run":
            continue
        lacking = [
            word for word, there in (("before", _before(step)), ("after", _after(steps[at:]))) if not there
        ]
        if lacking:
            run = step.event.words["run"]
            out.append(
                Notice(
                    code="run-unbracketed",
                    severity=Severity.INFO,
                    text=(
                        f"ledger.toml, line {step.event.line}: run {run} has no pressure and no level of its vessels "
                        f"{' and none '.join(lacking)} it."
                    ),
                    limit="levels and pressures before and after each run, common practice",
                    try_=(
                        "add a `state` with `p` and `level` before it, and give them with the run, while they are "
                        "still on paper"
                    ),
                    about=f"run {run}",
                )
            )
    return tuple(out)


def _before(step: Step) -> bool:
    """Whether anything that was read of its vessels still stood when it began."""
    known = [known for name in step.touched for known in (step.before[name].p_gauge, step.before[name].level)]
    return any(one is not None and not one.stale and one.how == "read" for one in known)


def _after(steps: tuple[Step, ...]) -> bool:
    """Whether anything of its vessels was read with it, or later before they were moved again."""
    vessels = steps[0].touched
    for at, step in enumerate(steps):
        if at and vessels & step.touched:
            return False
        if vessels & (step.event.p_gauge.keys() | step.event.level.keys()):
            return True
    return False
