"""A zero taken while water flowed: the span that [tare] names overlaps the flow that was found in the record."""

from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity

WORDS = {"before": "before the run", "after": "after the run", "at_pressure": "under pressure"}


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """One *stop* for each typed span that overlaps the flow."""
    if not evidence.streams:
        return ()
    start = min(stream.on[0] for stream in evidence.streams.values())
    end = max(stream.on[1] for stream in evidence.streams.values())
    run = evidence.run
    spans = {"before": run.tare_before, "after": run.tare_after, "at_pressure": run.tare_at_pressure}
    return tuple(
        Notice(
            code="tare-in-flow",
            severity=Severity.STOP,
            text=(
                f"Run {run.id}: the zero {WORDS[when]} is taken from {span[0]:.2f} to {span[1]:.2f} s, and "
                f"water flowed from {start:.2f} to {end:.2f} s. What was taken off as zero is a measurement; no "
                "effective area of this run holds."
            ),
            facts=(("start", start), ("end", end)),
            limit="a zero is taken at rest, common practice",
            try_=f"mend {when} of [tare] in run.toml, or leave it out: the rest beside the flow is then looked for",
            run=run.id,
            about=f"tare {when}",
        )
        for when, span in spans.items()
        if span is not None and span[0] < end and span[1] > start
    )
