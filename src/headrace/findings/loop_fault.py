"""A current loop outside what a healthy transmitter puts out: broken wire, short circuit, or its own alarm."""

import numpy as np

from headrace.findings.channels import carrying, share
from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity

LOOP = (4e-3, 20e-3)
"""A loop of 4 to 20 mA [A]; other signals have no agreed fault levels."""

LOW, HIGH = 3.6e-3, 21e-3
"""Currents below and above which a loop signals a fault [A]. NAMUR NE 43 (from memory)."""

SPIKES = 2
"""So many samples may lie there: spikes of the logger."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *stop* when the channel carries the effective area, else a *doubt*."""
    if evidence.run.trace is None:
        return ()
    carries = carrying(evidence)
    out = []
    for tag, values in evidence.run.trace.channels.items():
        instrument = evidence.campaign.bench.instruments.get(tag)
        if (
            instrument is None
            or instrument.signal is None
            or not np.allclose(instrument.signal, LOOP, rtol=1e-9)
        ):
            continue
        known = values[np.isfinite(values)]
        current = LOOP[0] + (known - instrument.low) / instrument.span * (LOOP[1] - LOOP[0])
        fault = (current < LOW) | (current > HIGH)
        if np.count_nonzero(fault) <= SPIKES:
            continue
        worst = float(current[np.argmax(np.abs(current - sum(LOOP) / 2))])
        out.append(
            Notice(
                code="loop-fault",
                severity=Severity.STOP if tag in carries else Severity.DOUBT,
                text=(
                    f"Run {evidence.run.id}, {tag}: its loop stood as far off as {1e3 * worst:.2f} mA in "
                    f"{100 * share(fault):.1f} % of the record; that is a fault signal, not a measurement."
                ),
                facts=(("current", worst), ("share", share(fault))),
                limit="3.6 to 21 mA, NAMUR NE 43 (from memory)",
                try_="likely in this order: broken wire or loose terminal; short circuit; the transmitter's own alarm",
                run=evidence.run.id,
                about=f"channel {tag}",
            )
        )
    return tuple(out)
