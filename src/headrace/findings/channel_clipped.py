"""A channel whose tops are cut flat at the end of its range: that part is no measurement and enters nothing."""

import numpy as np

from headrace.findings.channels import BAR, MARKS, PRESSURES, WEIGHED, carrying
from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *doubt* for a channel that carries E, a *stop* where the result is an integral over it, else an *info*."""
    carries, out = carrying(evidence), []
    for tag, aside in evidence.aside.items():
        rows = np.flatnonzero(aside.clipped)
        if rows.size == 0:
            continue
        instrument = evidence.campaign.bench.instruments[tag]
        size, unit = (BAR, MARKS[instrument.measures]) if instrument.measures in PRESSURES else (1.0, "(SI)")
        begin, end = float(evidence.time[rows[0]]), float(evidence.time[rows[-1]])
        whole = evidence.run.method == WEIGHED and tag in carries
        severity = Severity.STOP if whole else Severity.DOUBT if tag in carries else Severity.INFO
        out.append(
            Notice(
                code="channel-clipped",
                severity=severity,
                text=(
                    f"Run {evidence.run.id}, {tag}: {rows.size} samples from {begin:.2f} s to {end:.2f} s are cut "
                    f"flat at the end of its range, {instrument.high / size:g} {unit}; they are left out"
                    + (", but the result is an integral over them." if whole else " of every slice and mean.")
                ),
                facts=(
                    ("values_aside", float(rows.size)),
                    ("high", instrument.high),
                    ("start", begin),
                    ("end", end),
                ),
                limit="a flat top within 0.02 % of span at the end of the range, common practice",
                try_="use a wider range; totals and closure over this stretch are too low; a cell that was driven over "
                "its range may keep a shifted zero, so look at the zero after the run",
                run=evidence.run.id,
                about=f"channel {tag}",
            )
        )
    return tuple(out)
