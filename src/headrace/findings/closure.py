"""Two witnesses of the same water that do not agree: the meter over the run, and scale or level."""

from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity

GRAVE = 2.0
"""So many times the owner's limit is a *stop*: one of the two witnesses is wrong."""

MORE = (
    "likely in this order when the meter says more: level read under pressure and then vented (0.2 % per "
    "40 bar); water left by another way before the witness (leak, splash, hold-up); meter reads high "
    "(coefficient, throat bore, zero)"
)
LESS = (
    "likely in this order when the meter says less: water passed beside the meter (bypass, drain weeping); "
    "level slope or meniscus; catch began before or ended after the record; meter reads low (worn edge, "
    "air in its lines, zero)"
)


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *doubt* beyond the owner's number of standard uncertainties, a *stop* beyond twice that."""
    closure = evidence.closure
    if closure is None or closure.ratio.u <= 0:
        return ()
    value, u, limit = closure.ratio.value, closure.ratio.u, evidence.campaign.limits.closure
    if abs(value) <= limit * u:
        return ()
    return (
        Notice(
            code="closure",
            severity=Severity.STOP if abs(value) > GRAVE * limit * u else Severity.DOUBT,
            text=(
                f"Run {evidence.run.id}: the meter says {closure.metered:.2f} kg, the {closure.witness} "
                f"{closure.witnessed:.2f} kg: {100 * value:+.2f} % where ±{100 * limit * u:.2f} % is what "
                "both may be off together."
            ),
            facts=(
                ("closure", value),
                ("u", u),
                ("metered", closure.metered),
                ("witnessed", closure.witnessed),
            ),
            limit=f"{limit:g} standard uncertainties, stop beyond {GRAVE * limit:g}; owner's limit",
            try_=MORE if value > 0 else LESS,
            run=evidence.run.id,
            about=", ".join(f"circuit {name}" for name in evidence.streams),
        ),
    )
