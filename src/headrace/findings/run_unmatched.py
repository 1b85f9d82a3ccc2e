"""A run that stands in the ledger and not under runs/, or the other way round on a day that the ledger covers."""

from collections import Counter

from headrace.findings.evidence import DayEvidence
from headrace.notices import Notice, Severity


def find(evidence: DayEvidence) -> tuple[Notice, ...]:
    """One notice for each run that is missing on one side, or stands in the ledger twice."""
    events = [step.event for step in evidence.day.steps if step.event.what == "run"]
    days = {step.event.moment.date() for step in evidence.day.steps}
    told = Counter(event.words["run"] for event in events)
    out = []
    for event in events:
        run = event.words["run"]
        if run not in evidence.known:
            out.append(
                _notice(
                    Severity.DOUBT, run,
                    f"ledger.toml, line {event.line}: run {run} stands in the ledger, but there is no runs/{run}.",
                    "bring its file in, or mend the id",
                )
            )  # fmt: skip
        elif told[run] > 1 and event is next(one for one in events if one.words["run"] == run):
            out.append(
                _notice(Severity.DOUBT, run,
                        f"ledger.toml, line {event.line}: run {run} stands in the ledger {told[run]} times.",
                        "mend the id of all but one")
            )  # fmt: skip
    missing = [one for one in evidence.campaign.runs.values() if one.kind == "water" and one.id not in told]
    out += [
        _notice(Severity.INFO, one.id,
                f"Run {one.id} of {one.date} does not stand in ledger.toml, which covers that day.",
                f'add an event: what = "run", run = "{one.id}"')
        for one in missing if one.date in days
    ]  # fmt: skip
    return tuple(out)


def _notice(severity: Severity, run: str, text: str, try_: str) -> Notice:
    return Notice(
        code="run-unmatched",
        severity=severity,
        text=text,
        limit="every run once under runs/ and once in the ledger of its day",
        try_=try_,
        about=f"run {run}",
    )
