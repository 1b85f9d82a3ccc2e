"""A meter that answers too slowly for the run it measured: what its lag is taken to be decides the result."""

from headrace.bench.timing import delay
from headrace.findings.channels import drop_lines, meter_tag
from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity

LONG = 0.05
"""Share of the time of flow that a meter's delay may have. Common practice: five time constants are a quarter then."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *doubt* for each meter with an output of its own (Coriolis, turbine); a drop is as fast as its cell."""
    out = []
    for stream in evidence.streams.values():
        flowed = stream.on[1] - stream.on[0]
        for line in stream.dp_by_line:
            if line in drop_lines(evidence, stream):
                continue
            tag = meter_tag(evidence, line)
            late = delay(evidence.campaign.bench.instruments[tag])
            if late <= LONG * flowed:
                continue
            meter = evidence.campaign.bench.lines[line].meter
            out.append(
                Notice(
                    code="meter-slow",
                    severity=Severity.DOUBT,
                    text=(
                        f"Run {evidence.run.id}: meter {meter} answers {late:.2g} s late, in a run of {flowed:.3g} s; "
                        "what it shows is still on its way to the flow for a good part of it."
                    ),
                    facts=(("lag", late), ("duration", flowed)),
                    limit=f"{100 * LONG:g} % of the time of flow, common practice",
                    try_="a longer run, a meter that answers faster, or the water weighed",
                    run=evidence.run.id,
                    about=f"meter {meter}",
                )
            )
    return tuple(out)
