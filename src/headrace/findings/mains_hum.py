"""Mains hum on a channel that carries the effective area: how strong, at which frequency, and what it does."""

import numpy as np

from headrace.findings.channels import carrying
from headrace.findings.evidence import RunEvidence, StreamEvidence
from headrace.notices import Notice, Severity, spelled
from headrace.stats.hum import Hum, mains_hum

GUARD = 0.3
"""Seconds before the flow that are no rest any more."""

WORTH_DOUBT = 0.07
"""Amplitude over mean, above which a root of a humming drop is off by a thousandth: 3/16 of its square."""

SLOWEST = 2.0
"""Hz below which hum that slow sampling has folded does not average out over a slice. Common practice."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """An *info* for each such channel; a *doubt* where it is strong, or does not average out over a slice."""
    out = []
    for tag, role in carrying(evidence).items():
        stream = evidence.streams.get(role.stream)
        values = evidence.signals.get(tag)
        if stream is None or values is None:
            continue
        run = mains_hum(evidence.time[stream.within], values[stream.within])
        rest = evidence.time < stream.on[0] - GUARD
        still = mains_hum(evidence.time[rest], values[rest])
        hum = run or still
        if hum is not None:
            out.append(_notice(evidence, tag, role.place, stream, hum, run is not None, still is not None))
    return tuple(out)


def _notice(
    evidence: RunEvidence, tag: str, place: str, stream: StreamEvidence, hum: Hum, in_run: bool, at_rest: bool
) -> Notice:
    values = evidence.signals[tag][stream.within]
    zero = evidence.zeros.get(tag)
    mean = abs(float(np.nanmean(values)) - (0.0 if zero is None else zero.before))
    part = hum.amplitude / mean if mean > 0 else float("inf")
    slow = hum.seen < SLOWEST
    folded = abs(hum.seen - hum.frequency) > 1.0
    where = " and ".join(word for word, there in (("in the run", in_run), ("at rest", at_rest)) if there)
    seen = f", which sampling this slow shows at {spelled(hum.seen, 3)} Hz" if folded else ""
    what = (
        "That is too slow to average out over a slice."
        if slow
        else "Slices are taken over whole periods of it; what is left is what a root of a humming drop is off by, "
        f"{spelled(100 * 3 / 16 * part**2, 2)} % of E at most."
        if in_run
        else "It averages out of the zero."
    )
    return Notice(
        code="mains-hum",
        severity=Severity.DOUBT if in_run and (slow or part > WORTH_DOUBT) else Severity.INFO,
        text=(
            f"Run {evidence.run.id}, {tag}, {place}: hum of {hum.frequency:g} Hz{seen} {where}, amplitude "
            f"{spelled(100 * part, 2)} % of its mean in the window. {what}"
        ),
        facts=(("amplitude", hum.amplitude), ("frequency", hum.frequency), ("frequency_seen", hum.seen)),
        limit=f"a doubt above {100 * WORTH_DOUBT:g} % of the mean, or below {SLOWEST:g} Hz recorded, common practice",
        try_="ground the shield at one end only, keep signal and mains cables apart, look for a ground loop; a filter "
        "before the converter, since what sampling has folded no filter behind it removes",
        run=evidence.run.id,
        about=f"channel {tag}",
    )
