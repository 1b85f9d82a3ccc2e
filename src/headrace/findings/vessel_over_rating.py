"""A vessel read above its rating, or above the set pressure of its relief."""

from collections.abc import Iterator

from headrace.findings.evidence import DayEvidence
from headrace.notices import Notice, Severity
from headrace.records.given import Stated
from headrace.records.ledger import Event


def find(evidence: DayEvidence) -> tuple[Notice, ...]:
    """One notice for each reading beyond a limit: the rating before the relief."""
    out = []
    for step in evidence.day.steps:
        for name, stated in _read(step.event):
            vessel = evidence.campaign.bench.vessels[name]
            for what, limit in (("rating", vessel.rating), ("relief", vessel.relief)):
                if limit is not None and stated.value > limit:
                    out.append(
                        Notice(
                            code="vessel-over-rating",
                            severity=Severity.STOP,
                            text=(
                                f"ledger.toml, line {step.event.line}, {step.event.place}: {name} at "
                                f"{stated.value / 1e5:.4g} bar(g), above its {what}, {limit / 1e5:.4g} bar(g)."
                            ),
                            facts=(("p_gauge", stated.value), (what, limit)),
                            limit=f"{what} of {name}, bench.toml",
                            try_=(
                                "if it is so: keep away, let it down from a distance as your local rules say, and have "
                                "vessel and relief examined before it is used again; if it was mistyped: mend it"
                            ),
                            about=f"vessel {name}",
                        )
                    )
                    break
    return tuple(out)


def _read(event: Event) -> Iterator[tuple[str, Stated]]:
    """Every pressure that an event states, of its vessel."""
    yield from event.p_gauge.items()
    if event.what == "leak-check":
        for key in ("p_before", "p_after"):
            yield event.words["vessel"], event.values[key]
