"""E has a trend over the readings: what explains it, or what could not be told apart."""

from collections.abc import Callable, Mapping
from math import exp
from types import MappingProxyType

from headrace.findings.evidence import CampaignEvidence
from headrace.notices import Notice, Severity
from headrace.records.readings import Cause, Characteristic

LIMIT = "Akaike's criterion over all readings of the runs that count, 4 between suspects; common practice"


def find(evidence: CampaignEvidence) -> tuple[Notice, ...]:
    """One notice for each characteristic whose E is not flat."""
    met = ((one, one.cause) for one in evidence.characteristics.values())
    return tuple(
        TOLD[cause.verdict](one, cause) for one, cause in met if cause is not None and cause.verdict in TOLD
    )


def _reynolds(one: Characteristic, cause: Cause) -> Notice:
    carried = "constant E is carried all the same" if one.model == "constant" else "a slope is carried"
    return Notice(
        code="trend-cause",
        severity=Severity.INFO,
        text=(
            f"Circuit {one.key}: E goes with Reynolds number, d ln E/d ln Re = {cause.slope or 0.0:+.3f}; 1/dp and "
            f"K do not explain it, and {carried}."
        ),
        facts=_facts(cause),
        limit=LIMIT,
        try_="the engine's Reynolds number lies elsewhere: widen the span with warm water",
        about=f"circuit {one.key}",
    )


def _zero_error(one: Characteristic, cause: Cause) -> Notice:
    zero, u = cause.zero or 0.0, cause.u_zero or 0.0
    return Notice(
        code="trend-cause",
        severity=Severity.DOUBT,
        text=(
            f"Circuit {one.key}: E goes with 1/dp as if the drop read {abs(zero) / 100:.1f} ± {2 * u / 100:.1f} mbar "
            f"too {'high' if zero > 0 else 'low'} at the tap (or as much, in its ratio, at the meter). That is a fault "
            "and not in the interval: E at low drop is wrong by more than E at high drop."
        ),
        facts=_facts(cause),
        limit=LIMIT,
        try_=(
            "take the zero again before and after, at line pressure; look for air or hanging water in the impulse "
            "leg, and at the height of the tap; use the upper end of the sweep"
        ),
        about=f"circuit {one.key}",
    )


def _cavitation(one: Characteristic, cause: Cause) -> Notice:
    return Notice(
        code="trend-cause",
        severity=Severity.DOUBT,
        text=(
            f"Circuit {one.key}: below K = {cause.onset or 0.0:.2f} E falls with the root of K: the holes cavitate. "
            "The engine runs at another K, and E there is that of the upper end of K."
        ),
        facts=_facts(cause),
        limit=LIMIT,
        try_="lower the drop, or run against back-pressure: E comes back at the same drop if it is cavitation",
        about=f"circuit {one.key}",
    )


def _flip(one: Characteristic, cause: Cause) -> Notice:
    apart = 100 * (1 - exp(-(cause.jump or 0.0)))
    return Notice(
        code="trend-cause",
        severity=Severity.STOP,
        text=(
            f"Circuit {one.key}: E has two levels, {apart:.1f} % apart, over the same drops, as of jets that detach "
            "and do not come back (hydraulic flip). A mean of the two is a number that never occurs."
        ),
        facts=_facts(cause),
        limit=LIMIT,
        try_=(
            "look at the jet, glassy when flipped; run up and down in drop; leave out the flipped runs, with the "
            "reason; look at the edges of the holes. Two levels run by run may also be a valve, a seal or a unit"
        ),
        about=f"circuit {one.key}",
    )


def _not_separated(one: Characteristic, cause: Cause) -> Notice:
    return Notice(
        code="trend-cause",
        severity=Severity.DOUBT,
        text=f"Circuit {one.key}: E has a trend whose cause is {cause.why}.",
        facts=_facts(cause),
        limit=LIMIT,
        try_="separate the causes: water at two temperatures (Re), back-pressure (K), a zero before and after (1/dp)",
        about=f"circuit {one.key}",
    )


def _facts(cause: Cause) -> tuple[tuple[str, float], ...]:
    known = (("slope", cause.slope), ("zero", cause.zero), ("onset", cause.onset), ("jump", cause.jump))
    return tuple((name, value) for name, value in known if value is not None)


TOLD: Mapping[str, Callable[[Characteristic, Cause], Notice]] = MappingProxyType(
    {
        "reynolds": _reynolds,
        "zero error": _zero_error,
        "cavitation": _cavitation,
        "flip": _flip,
        "not separated": _not_separated,
    }
)
"""What is said of each verdict that is not flat."""
