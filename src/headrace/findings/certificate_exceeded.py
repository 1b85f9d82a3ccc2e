"""An instrument that was read outside the points of its certificate, where its correction is only held."""

import numpy as np

from headrace.bench.certificates import reach
from headrace.findings.channels import carrying
from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity

SLACK = 0.02
"""Share of span by which a reading may lie beyond the last point. Common practice."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *doubt* for each channel that carries the effective area, and for each gauge read by eye."""
    campaign, run = evidence.campaign, evidence.run
    read: dict[str, list[float]] = {}
    for one in run.hand:
        read.setdefault(one.instrument, []).append(one.value)
    if run.trace is not None:
        for tag in carrying(evidence):
            seen = _in_flow(evidence, tag)
            if seen is not None:
                read.setdefault(tag, []).extend(seen)
    out = []
    for tag, values in read.items():
        instrument = campaign.bench.instruments.get(tag)
        paper = None if instrument is None else campaign.certificates.get(instrument.certificate or "")
        span = None if paper is None else reach(paper, campaign.certificates, run.date)
        if instrument is None or span is None:
            continue
        slack = SLACK * instrument.span
        low, high = min(values), max(values)
        worst = high if high - span[1] > span[0] - low else low
        if span[0] - slack <= worst <= span[1] + slack:
            continue
        share = (worst - instrument.low) / instrument.span
        ends = tuple((end - instrument.low) / instrument.span for end in span)
        out.append(
            Notice(
                code="certificate-exceeded",
                severity=Severity.DOUBT,
                text=(
                    f"Run {run.id}, {tag}: read at {100 * share:.0f} % of its span, where certificate "
                    f"{instrument.certificate} has points from {100 * ends[0]:.0f} % to {100 * ends[1]:.0f} % only; "
                    "its last correction is held."
                ),
                facts=(("found", worst), ("low", span[0]), ("high", span[1])),
                limit=f"points of certificate {instrument.certificate}",
                try_="have it calibrated over the whole of what is read, or read it inside its points",
                run=run.id,
                about=f"channel {tag}",
            )
        )
    return tuple(out)


def _in_flow(evidence: RunEvidence, tag: str) -> tuple[float, float] | None:
    """Least and greatest of a channel in the windows of its run, as indicated; spikes left out."""
    trace = evidence.run.trace
    values = None if trace is None else trace.channels.get(tag)
    if trace is None or values is None:
        return None
    inside = np.zeros(trace.time.shape, dtype=bool)
    for stream in evidence.streams.values():
        inside |= (trace.time >= stream.window.start) & (trace.time <= stream.window.end)
    known = values[inside & np.isfinite(values)]
    if not known.size:
        return None
    low, high = np.percentile(known, [1, 99])
    return float(low), float(high)
