"""A circuit that was shut shows pressure while its neighbour flows: water passes between them."""

import numpy as np
from numpy.typing import NDArray

from headrace.bench.elements import ELEMENTS
from headrace.bench.instruments import Zero
from headrace.findings.channels import BAR
from headrace.findings.evidence import RunEvidence, StreamEvidence
from headrace.notices import Notice, Severity
from headrace.records.given import Circuit

Array = NDArray[np.float64]

LEAST = 0.002
"""Share of the flowing circuit's pressure that a neighbour may show. Common practice."""

GRAVE = 0.02
"""Share beyond which the run is of no use: with equal holes a seventh of the water goes the wrong way."""

CLEAR = 3.0
"""Standard uncertainties of the zero that the rise must exceed."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """One notice for each logged tap of a circuit that does not flow in this run and yet feels it."""
    flowing = {circuit for flow in evidence.run.flows for circuit in flow.circuits}
    used = {flow.p_tap for flow in evidence.run.flows}
    parts = {one.id for one in evidence.campaign.article.circuits.values() if ELEMENTS[one.element].part}
    if flowing & parts:
        return ()  # what lies before or behind a line or a valve shows pressure, and is no shut neighbour
    out: list[Notice] = []
    for tag, neighbour in _taps(evidence).items():
        zero = evidence.zeros.get(tag)
        if neighbour in flowing | parts or tag in used or zero is None or tag not in evidence.signals:
            continue
        for stream in evidence.streams.values():
            out.extend(_judge(evidence, stream, tag, neighbour, zero))
    return tuple(out)


def _taps(evidence: RunEvidence) -> dict[str, str]:
    """Which instrument reads which circuit, as the campaign's runs say; only where they agree."""
    seen: dict[str, set[str]] = {}
    for run in evidence.campaign.runs.values():
        for flow in run.flows:
            if len(flow.circuits) == 1:
                seen.setdefault(flow.p_tap, set()).add(flow.circuits[0])
    return {tag: next(iter(circuits)) for tag, circuits in seen.items() if len(circuits) == 1}


def _judge(
    evidence: RunEvidence, stream: StreamEvidence, tag: str, neighbour: str, zero: Zero
) -> tuple[Notice, ...]:
    signal = evidence.signals[tag]
    good = stream.within & np.isfinite(signal) & np.isfinite(stream.p_tap)
    if not np.any(good):
        return ()
    after = zero.before if zero.after is None else zero.after
    rise = float(np.mean(signal[good] - np.interp(stream.time[good], stream.on, (zero.before, after))))
    p_tap = float(np.mean(stream.p_tap[good]))
    wander = evidence.campaign.limits.tare_shift * evidence.campaign.bench.instruments[tag].span
    if rise <= max(CLEAR * zero.u, LEAST * p_tap, wander) or p_tap <= 0:
        return ()
    article = evidence.campaign.article.circuits
    flow_share = np.sqrt(rise / p_tap) * _holes(article[neighbour]) / _holes(stream.circuit)
    return (
        Notice(
            code="neighbour-leak",
            severity=Severity.STOP if rise > GRAVE * p_tap else Severity.DOUBT,
            text=(
                f"Run {evidence.run.id}: circuit {neighbour} is shut, yet {tag} rises by {rise / BAR:.3f} "
                f"bar while circuit {'+'.join(stream.flow.circuits)} flows at {p_tap / BAR:.2f} bar(g). By "
                f"the size of its holes about {100 * flow_share:.1f} % of the metered water leaves there."
            ),
            facts=(("p_rise", rise), ("p_tap", p_tap), ("flow_share", float(flow_share))),
            limit=f"{100 * LEAST:g} % of the tap pressure, stop beyond {100 * GRAVE:g} %; common practice",
            try_=(
                "likely in this order: seal or braze between the circuits leaks (blank the outlets, press "
                "one, watch the other); the neighbour's supply valve weeps; its gauge is knocked or "
                "crosstalks in the logger"
            ),
            run=evidence.run.id,
            about=f"circuit {neighbour}",
        ),
    )


def _holes(circuit: Circuit) -> float:
    return circuit.count * circuit.bore.value**2
