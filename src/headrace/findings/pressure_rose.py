"""A pressure that rose with nothing moved, by more than cold gas warming up explains: a supply valve that weeps."""

from headrace.findings.evidence import DayEvidence
from headrace.findings.pressures import CLEAR, ShutIn, place, shut_in
from headrace.notices import Notice, Severity


def find(evidence: DayEvidence) -> tuple[Notice, ...]:
    """One notice for each pair of readings that shows it."""
    return tuple(_told(one) for one in shut_in(evidence) if one.after > one.high + CLEAR * one.u)


def _told(one: ShutIn) -> Notice:
    return Notice(
        code="pressure-rose",
        severity=Severity.DOUBT,
        text=(
            f"{place(one)}: {one.vessel} rose with all shut from {one.before / 1e5:.4g} to {one.after / 1e5:.4g} "
            f"bar(g) in {one.time / 60:.4g} min; gas that warms up after its expansion, n = 1.4, brings it to "
            f"{one.high / 1e5:.4g} bar(g) at most."
        ),
        facts=(("p_rise", one.after - one.before), ("time", one.time), ("u", one.u)),
        limit=f"{CLEAR:g} standard uncertainties beyond (V/V0)^(n-1) at n = 1.4; common practice",
        try_=(
            "likely in this order: the supply valve weeps (isolate the supply; a vessel that fills by itself is a "
            "hazard, local rules apply); a fill not written down; a reading mistyped"
        ),
        about=f"vessel {one.vessel}",
    )
