"""Events of the ledger whose time lies before that of the event above them."""

from itertools import pairwise

from headrace.findings.evidence import DayEvidence
from headrace.notices import Notice, Severity


def find(evidence: DayEvidence) -> tuple[Notice, ...]:
    """One notice for each step back."""
    events = [step.event for step in evidence.day.steps]
    return tuple(
        Notice(
            code="time-back",
            severity=Severity.DOUBT,
            text=(
                f"ledger.toml, line {late.line}, {late.place}: {(early.moment - late.moment).total_seconds() / 60:.4g} "
                f"min before the event above it ({early.place})."
            ),
            facts=(("time", (early.moment - late.moment).total_seconds()),),
            limit="events in the order of the day",
            try_="mend the time; if the next day begins here, give the event its `date`; or move it up",
            about=f"event {late.number}",
        )
        for early, late in pairwise(events)
        if late.moment < early.moment
    )
