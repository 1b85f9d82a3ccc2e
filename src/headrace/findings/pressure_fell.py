"""A pressure that fell with nothing moved, by more than warm gas cooling down explains: a leak."""

from headrace.findings.evidence import DayEvidence
from headrace.findings.pressures import CLEAR, ShutIn, place, shut_in
from headrace.notices import Notice, Severity


def find(evidence: DayEvidence) -> tuple[Notice, ...]:
    """One notice for each pair of readings that shows it."""
    return tuple(_told(one) for one in shut_in(evidence) if one.after < one.low - CLEAR * one.u)


def _told(one: ShutIn) -> Notice:
    fall = one.before - one.after
    rate = f", {60 * fall / one.time / 100:.3g} mbar a minute" if one.time > 0 else ""
    return Notice(
        code="pressure-fell",
        severity=Severity.DOUBT,
        text=(
            f"{place(one)}: {one.vessel} fell with all shut from {one.before / 1e5:.4g} to {one.after / 1e5:.4g} "
            f"bar(g) in {one.time / 60:.4g} min{rate}; by cooling alone it could have come to "
            f"{one.low / 1e5:.4g} bar(g)."
        ),
        facts=(("p_fall", fall), ("time", one.time), ("u", one.u)),
        limit=f"{CLEAR:g} standard uncertainties beyond the coldest it may have become; common practice",
        try_=(
            "likely in this order: a fitting or valve that leaks (look with soapy water from where your local rules "
            "let you stand, never tighten under pressure); a move or vent not written down; a reading mistyped"
        ),
        about=f"vessel {one.vessel}",
    )
