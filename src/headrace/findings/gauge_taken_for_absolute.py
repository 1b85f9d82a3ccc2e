"""A pressure that is off by the barometer: an absolute transmitter taken for a gauge one, or the reverse.

The hard evidence is the zero, at rest and open to air. Without a zero, the flow tells: m_dot squared against the tap's
pressure is a straight line through no drop, and one that misses it by the barometer has taken one kind for the other.
"""

import numpy as np
from numpy.typing import NDArray

from headrace.findings.channels import BAR, MARKS, PRESSURES, carrying
from headrace.findings.evidence import RunEvidence, StreamEvidence
from headrace.notices import Notice, Severity

Array = NDArray[np.float64]

NEAR = 0.1
"""A zero counts as the barometer, or as none, when it is within this share of the barometer. Common practice."""

SURE = 0.1
"""The line of m_dot squared must place the zero within this share of the barometer (standard uncertainty)."""

LEAST_FALL = 0.05
"""Least relative range of m_dot squared from which a line may be drawn out to no flow."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """One *stop* for each channel of the effective area; a *doubt* where the channel only watches."""
    ambient = evidence.run.ambient.value
    carries = carrying(evidence)
    out = []
    for tag, zero in evidence.zeros.items():
        kind = evidence.campaign.bench.instruments[tag].measures
        if kind in PRESSURES and _wrong(kind, zero.before, ambient):
            hard = tag in carries
            place = f", {carries[tag].place}" if hard else ""
            out.append(_notice(evidence, tag, place, kind, zero.before, hard=hard))
    out.extend(
        _notice(
            evidence, reading.instrument, f", read by hand {reading.moment}", kind, reading.value, hard=True
        )
        for reading in evidence.run.hand
        if reading.moment in ("before", "after")
        and _wrong(
            kind := evidence.campaign.bench.instruments[reading.instrument].measures, reading.value, ambient
        )
    )
    for stream in evidence.streams.values():
        out.extend(_by_flow(evidence, stream))
    return tuple(out)


def _wrong(kind: str, zero: float, ambient: float) -> bool:
    expected = {"gauge": ambient, "drop": ambient, "abs": 0.0}.get(kind)
    return expected is not None and abs(zero - expected) < NEAR * ambient


def _notice(evidence: RunEvidence, tag: str, place: str, kind: str, zero: float, *, hard: bool) -> Notice:
    ambient = evidence.run.ambient.value
    said = {
        "abs": "which is no pressure at all: a gauge transmitter is entered as absolute",
        "gauge": "which is the barometer: an absolute transmitter is entered as one for gauge pressure",
        "drop": "which is the barometer: an absolute transmitter is entered as one for a drop",
    }[kind]
    return Notice(
        code="gauge-taken-for-absolute",
        severity=Severity.STOP if hard else Severity.DOUBT,
        text=(
            f"Run {evidence.run.id}, {tag}{place}: at rest it reads {zero / BAR:.3f} {MARKS[kind]}, {said} "
            f"(barometer {ambient / BAR:.3f} bar(a))."
        ),
        facts=(("p_zero", zero), ("p_ambient", ambient)),
        limit=f"within {100 * NEAR:g} % of the barometer, common practice",
        try_=(
            f'likely first: "measures" of {tag} in bench.toml is the wrong kind; else the channel map names another '
            "transmitter; else the line was not open to air while the zero was taken. The zero is taken "
            "off, but range, class and cavitation number rest on the kind: correct it and reduce again"
        ),
        run=evidence.run.id,
        about=f"channel {tag}",
    )


def _by_flow(evidence: RunEvidence, stream: StreamEvidence) -> tuple[Notice, ...]:
    """For a tap without a zero: where the drop stands when the flow is drawn out to none."""
    tag, ambient = stream.flow.p_tap, evidence.run.ambient.value
    good = stream.within & np.isfinite(stream.m_dot) & np.isfinite(stream.dp)
    if tag in evidence.zeros or np.count_nonzero(good) < 20:
        return ()
    square = stream.m_dot[good] ** 2
    if np.ptp(square) < LEAST_FALL * np.mean(square):
        return ()
    offset, u = _intercept(square, stream.dp[good])
    if u > SURE * ambient or abs(abs(offset) - ambient) > 2 * max(u, NEAR * ambient):
        return ()
    kind = evidence.campaign.bench.instruments[tag].measures
    high = offset > 0
    return (
        Notice(
            code="gauge-taken-for-absolute",
            severity=Severity.STOP,
            text=(
                f"Run {evidence.run.id}, {tag}, tap of circuit {'+'.join(stream.flow.circuits)}: drawn out "
                f"to no flow the drop would be {offset / BAR:+.2f} ± {2 * u / BAR:.2f} bar, about one "
                f"barometer too {'much' if high else 'little'}; no zero was taken, so E carries it."
            ),
            facts=(("dp_zero", offset), ("u", u), ("p_ambient", ambient)),
            limit=f"within {200 * NEAR:g} % of the barometer, common practice",
            try_=(
                f"likely first: {tag} is entered as {kind} and is {'an absolute' if high else 'a gauge'} "
                "transmitter; take zeros open to air before and after"
            ),
            run=evidence.run.id,
            about=f"channel {tag}",
        ),
    )


def _intercept(x: Array, y: Array) -> tuple[float, float]:
    """Value of y at x = 0 by a straight line through block means, with its standard uncertainty."""
    blocks = min(x.size // 5, 20)
    at = np.array([float(np.mean(part)) for part in np.array_split(x, blocks)])
    value = np.array([float(np.mean(part)) for part in np.array_split(y, blocks)])
    apart = at - at.mean()
    square = float(np.sum(apart**2))
    slope = float(np.sum(apart * value)) / square
    rest = value - value.mean() - slope * apart
    sd = float(np.sqrt(np.sum(rest**2) / max(blocks - 2, 1)))
    return float(value.mean() - slope * at.mean()), sd * float(np.sqrt(1 / blocks + at.mean() ** 2 / square))
