"""A zero that moved, stands far from none, or was not taken, on a channel that the effective area rests on."""

import numpy as np

from headrace.bench.instruments import Zero
from headrace.findings.channels import BAR, MARKS, PRESSURES, Role, carrying
from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity
from headrace.records.given import Instrument

AT_REST = 0.05
"""Share of span within which the zero of a channel at rest is looked for. Common practice."""

GRAVE = 0.15
"""Beyond this share of span no healthy transmitter rests: its scaling is wrong, or it was not at rest. A loop of
4 to 20 mA entered as 0 to 20 mA rests at 0.2. Common practice."""

CLEAR = 2.0
"""A shift counts when it exceeds this many of its own standard uncertainties."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """One notice for each carrying pressure channel whose zero moved too far, is one-sided, missing, or far off."""
    out = []
    for tag, role in carrying(evidence).items():
        instrument = evidence.campaign.bench.instruments[tag]
        if instrument.measures not in PRESSURES or tag not in evidence.signals or role.part:
            continue  # of a drop by two gauges only the common zero counts
        zero = evidence.zeros.get(tag)
        if zero is not None and zero.at_pressure == zero.before:
            continue  # taken under pressure only: what stands after the run is not its like
        if zero is None or zero.after is None:
            out.append(_missing(evidence, instrument, role, both=zero is None))
        else:
            out.extend(_moved(evidence, instrument, role, zero, zero.after - zero.before))
        if zero is not None:
            out.extend(_far_off(evidence, instrument, role, zero))
    return tuple(out)


def _moved(
    evidence: RunEvidence, instrument: Instrument, role: Role, zero: Zero, shift: float
) -> tuple[Notice, ...]:
    limit, whose = _allowed(evidence, instrument)
    # the zero's u holds shift/sqrt(12) and half the scatter of the two together
    scatter = 2 * float(np.sqrt(max(zero.u**2 - shift**2 / 12, 0.0)))
    if abs(shift) <= limit or abs(shift) <= CLEAR * scatter:
        return ()
    tag = instrument.tag
    return (
        Notice(
            code="tare-drift",
            severity=Severity.DOUBT,
            text=(
                f"Run {evidence.run.id}, {tag}, {role.place}: its zero moved by {shift / BAR:+.4f} bar over "
                f"the run ({100 * abs(shift) / instrument.span:.2f} % of span); {limit / BAR:.4f} bar is "
                "allowed. The zero in between was taken off, and what it may have done is in the doubt."
            ),
            facts=(("shift", shift), ("limit", limit)),
            limit=whose,
            try_=(
                "likely in this order: line not drained or not open to air for one of the zeros; air in an "
                "impulse line (bleed it); the cell warmed or was overloaded. Take both zeros again, then "
                "run again"
            ),
            run=evidence.run.id,
            about=f"channel {tag}",
        ),
    )


def _far_off(evidence: RunEvidence, instrument: Instrument, role: Role, zero: Zero) -> tuple[Notice, ...]:
    """A zero so far from none that the channel was not at rest, or is scaled wrongly. A whole barometer is another
    finding's. Where a person named the time at rest, the zero after the run is held to it, too, and it stops."""
    run, ambient, tag = evidence.run, evidence.run.ambient.value, instrument.tag
    floor = ambient if instrument.measures == "abs" else 0.0
    zeros = {"before": (zero.before - floor, run.tare_before is not None)}
    if zero.after is not None and run.tare_after is not None:
        zeros["after"] = (zero.after - floor, True)
    when, (off, typed) = max(zeros.items(), key=lambda one: abs(one[1][0]))
    if abs(off) <= AT_REST * instrument.span or abs(abs(off) - ambient) < 0.1 * ambient:
        return ()
    grave = typed or abs(off) > GRAVE * instrument.span
    return (
        Notice(
            code="tare-drift",
            severity=Severity.STOP if grave else Severity.DOUBT,
            text=(
                f"Run {run.id}, {tag}, {role.place}: {when} the run it stands at {off / BAR:+.4f} bar from none, "
                f"{100 * abs(off) / instrument.span:.1f} % of its span, and that was taken off as its zero. Its "
                "scaling or its zero is off."
            ),
            facts=(("p_zero", off), ("limit", AT_REST * instrument.span)),
            limit=(
                f"{100 * AT_REST:g} % of span, stop beyond {100 * GRAVE:g} % or where [tare] names the time; common "
                "practice"
            ),
            try_=(
                "likely in this order: the line was under pressure or not drained when the zero was taken "
                "(name a time at rest by [tare] in run.toml); range or signal of the transmitter entered "
                "wrongly (0 to 20 mA for 4 to 20 mA rests at 20 % of span); it is damaged"
            ),
            run=evidence.run.id,
            about=f"channel {tag}",
        ),
    )


def _allowed(evidence: RunEvidence, instrument: Instrument) -> tuple[float, str]:
    """The tighter of the owner's limit and of what the instrument promises at zero, certificate or class [Pa]."""
    owner = evidence.campaign.limits.tare_shift * instrument.span
    accuracy = instrument.accuracy
    spread = np.sqrt(3) if accuracy.dist == "rectangular" else 2.0
    promised = float(spread) * (accuracy.of_span * instrument.span + accuracy.absolute)
    paper = evidence.campaign.certificates.get(instrument.certificate or "")
    whose = f"class of {instrument.tag}"
    if paper is not None:
        stated = 2 * (paper.accuracy.of_span * instrument.span + paper.accuracy.absolute)
        if stated > promised:
            promised, whose = stated, f"certificate {paper.id}, k = 2"
    if 0 < promised < owner:
        return promised, whose
    return (
        owner,
        f"{100 * evidence.campaign.limits.tare_shift:g} % of span between before and after, owner's limit",
    )


def _missing(evidence: RunEvidence, instrument: Instrument, role: Role, *, both: bool) -> Notice:
    tag = instrument.tag
    seen = (
        f"no zero taken; its whole class counts as a constant error in {MARKS[instrument.measures]}"
        if both
        else "a zero before the run only; that it stayed within the allowed shift is assumed"
    )
    return Notice(
        code="tare-drift",
        severity=Severity.DOUBT,
        text=f"Run {evidence.run.id}, {tag}, {role.place}: {seen}.",
        limit="zero before and after each run, common practice",
        try_=(
            "record some seconds at rest, line full and open to air, before opening and after closing; or "
            "give them by [tare] before and after in run.toml"
        ),
        run=evidence.run.id,
        about=f"channel {tag}",
    )
