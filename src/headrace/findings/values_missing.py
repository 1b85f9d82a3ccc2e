"""A channel that carries the effective area and has no value for part of the flow."""

import numpy as np

from headrace.findings.channels import carrying, share
from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity

ALLOWED = 0.01
"""Share of the samples of flow that may have no value. Common practice."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """One doubt for each such channel: the samples without a value are left out of every mean."""
    if evidence.run.trace is None:
        return ()
    roles, out = carrying(evidence), []
    for tag, values in evidence.run.trace.channels.items():
        stream = evidence.streams.get(roles[tag].stream) if tag in roles else None
        if stream is None:
            continue
        flowing = (evidence.time >= stream.on[0]) & (evidence.time <= stream.on[1])
        missing = share(~np.isfinite(values[flowing]))
        if missing <= ALLOWED:
            continue
        out.append(
            Notice(
                code="values-missing",
                severity=Severity.DOUBT,
                text=(
                    f"Run {evidence.run.id}, {tag}, {roles[tag].place}: {100 * missing:.0f} % of its samples have no "
                    "value while water flows; they are left out of every mean."
                ),
                facts=(("share", missing),),
                limit=f"{100 * ALLOWED:g} % of the samples, common practice",
                try_="look at the raw file: words or empty fields in this column, a loose connector, another rate",
                run=evidence.run.id,
                about=f"channel {tag}",
            )
        )
    return tuple(out)
