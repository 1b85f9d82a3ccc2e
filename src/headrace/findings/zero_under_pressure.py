"""A cell that reads a drop shows another zero under line pressure than open to air."""

from headrace.findings.channels import BAR, carrying
from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity

CLEAR = 2.0
"""A difference is told when it exceeds so many standard uncertainties of the zero."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """Information, or a *doubt* beyond the limit for a zero's shift."""
    out = []
    for tag, role in carrying(evidence).items():
        zero = evidence.zeros.get(tag)
        if zero is None or zero.at_pressure is None or zero.at_pressure == zero.before:
            continue
        shift = zero.at_pressure - zero.before
        span = evidence.campaign.bench.instruments[tag].span
        limit = evidence.campaign.limits.tare_shift * span
        if abs(shift) <= min(CLEAR * zero.u, limit):
            continue
        out.append(
            Notice(
                code="zero-under-pressure",
                severity=Severity.DOUBT if abs(shift) > limit else Severity.INFO,
                text=(
                    f"Run {evidence.run.id}, {tag}, {role.place}: its zero under line pressure is "
                    f"{shift / BAR:+.4f} bar from that at open air ({100 * abs(shift) / span:.2f} % of span); "
                    f"{limit / BAR:.4f} bar is allowed. The zero under pressure was taken off."
                ),
                facts=(("shift", shift), ("limit", limit)),
                limit=f"{100 * evidence.campaign.limits.tare_shift:g} % of span, owner's limit",
                try_=(
                    "likely in this order: the valve weeps, so water flowed; air in one impulse line; the cell's own "
                    "static-pressure effect (its data sheet states it). Take both zeros again with the valve shut"
                ),
                run=evidence.run.id,
                about=f"channel {tag}",
            )
        )
    return tuple(out)
