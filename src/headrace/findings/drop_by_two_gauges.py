"""A drop taken as the difference of two gauges: what share of the doubt of E that costs."""

import numpy as np

from headrace.findings.channels import BAR
from headrace.findings.evidence import RunEvidence, TwoGauges
from headrace.notices import Notice, Severity

MOST = 0.5
"""Share of the square of the doubt of E from which the two gauges are what limits it."""

TOLD = 0.1
"""Share below which a back-pressure gauge is not worth a word; a meter read so is always told."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *doubt* where the two gauges make most of the doubt of E or no common zero was taken, else information."""
    return tuple(
        notice
        for name, stream in evidence.streams.items()
        for pair in stream.two_gauges
        for notice in _judge(evidence, name, pair)
    )


def _judge(evidence: RunEvidence, name: str, pair: TwoGauges) -> tuple[Notice, ...]:
    whole = [one.u / one.area_eff for one in evidence.readings if one.stream == name]
    if not whole:
        return ()
    share = min((pair.u_ln_area / float(np.mean(whole))) ** 2, 1.0)
    if pair.role == "tap" and share < TOLD:
        return ()
    place = "the meter's drop" if pair.role == "meter" else "the drop of the injector"
    high, low = pair.tags
    grave = share > MOST or (pair.role == "meter" and not pair.tared)
    return (
        Notice(
            code="drop-by-two-gauges",
            severity=Severity.DOUBT if grave else Severity.INFO,
            text=(
                f"Run {evidence.run.id}, circuit {name}: {place}, {pair.dp / BAR:.3g} bar, is {high} less {low}, "
                f"{'after a common zero' if pair.tared else 'without a common zero'}. That costs "
                f"{100 * pair.u_ln_area:.2f} % of E (k = 1), {100 * share:.0f} % of the square of its doubt."
            ),
            facts=(("dp", pair.dp), ("u", pair.u_ln_area), ("share", share)),
            limit=f"{100 * MOST:g} % of the square of the doubt, common practice",
            try_=(
                "read it with one transmitter for a drop; else take a common zero at line pressure with the valve "
                "shut (at_pressure of [tare]), so that only what changes since then counts"
            ),
            run=evidence.run.id,
            about=f"{high} and {low}",
        ),
    )
