"""E has a trend over the readings: what explains it, or what could not be told apart."""

from collections.abc import Callable, Mapping
from math import exp
from types import MappingProxyType

from headrace.findings.evidence import CampaignEvidence
from headrace.notices import Notice, Severity
from headrace.records.readings import Cause, Characteristic


def find(evidence: CampaignEvidence) -> tuple[Notice, ...]:
    """One notice for each characteristic whose E is not flat."""
    met = ((one, one.cause) for one in evidence.characteristics.values())
    return tuple(_told(one, cause) for one, cause in met if cause is not None and cause.verdict in TOLD)


def _told(one: Characteristic, cause: Cause) -> Notice:
    severity, text, try_ = TOLD[cause.verdict](one, cause)
    known = {name: getattr(cause, name) for name in ("slope", "zero", "onset", "step")}
    return Notice(
        code="trend-cause",
        severity=severity,
        text=f"Circuit {one.key}: {text}",
        facts=(
            *((name, value) for name, value in known.items() if value is not None),
            *((f"score_{name.replace(' ', '_')}", score) for name, score in cause.scores.items()),
        ),
        limit="Akaike's criterion on all readings of runs that count, 4 between suspects; common practice",
        try_=try_,
        about=f"circuit {one.key}",
    )


Told = tuple[Severity, str, str]


def _reynolds(one: Characteristic, cause: Cause) -> Told:
    carried = "constant E is carried all the same" if one.model == "constant" else "a slope is carried"
    return (
        Severity.INFO,
        f"E goes with Reynolds number, d ln E/d ln Re = {cause.slope or 0.0:+.3f}; 1/dp and K do not explain it, "
        f"and {carried}.",
        "the engine's Reynolds number lies elsewhere: widen the span with warm water",
    )


def _zero_error(_one: Characteristic, cause: Cause) -> Told:
    zero, u = cause.zero or 0.0, cause.u_zero or 0.0
    return (
        Severity.DOUBT,
        f"E goes with 1/dp as if the drop read {abs(zero) / 100:.1f} ± {2 * u / 100:.1f} mbar too "
        f"{'high' if zero > 0 else 'low'} at the tap (or as much, in its ratio, at the meter). That is a fault and not "
        "in the interval: E at low drop is wrong by more than E at high drop.",
        "take the zero again before and after, at line pressure; look for air or hanging water in the impulse leg, and "
        "at the height of the tap; use the upper end of the sweep",
    )


def _cavitation(_one: Characteristic, cause: Cause) -> Told:
    return (
        Severity.DOUBT,
        f"below K = {cause.onset or 0.0:.2f} E falls with the root of K: the holes cavitate. The engine runs at "
        "another K, and E there is that of the upper end of K.",
        "lower the drop, or run against back-pressure: E comes back at the same drop if it is cavitation",
    )


def _flip(_one: Characteristic, cause: Cause) -> Told:
    step = cause.step or 0.0
    return (
        Severity.STOP,
        f"E has two levels, {100 * (1 - exp(-step)):.1f} % apart, over the same drops: the jets detach and do "
        "not come back (hydraulic flip). A mean of the two is a number that never occurs.",
        "look at the jet: glassy when flipped; run up and down in drop; mark and leave out the flipped runs or parts "
        "of runs, with the reason; look at the edges of the holes",
    )


def _not_separated(_one: Characteristic, cause: Cause) -> Told:
    return (
        Severity.DOUBT,
        f"E has a trend that the runs do not explain ({cause.why}).",
        "separate the causes: water at two temperatures (Re), back-pressure (K), a zero before and after (1/dp)",
    )


TOLD: Mapping[str, Callable[[Characteristic, Cause], Told]] = MappingProxyType(
    {
        "reynolds": _reynolds,
        "zero error": _zero_error,
        "cavitation": _cavitation,
        "flip": _flip,
        "not separated": _not_separated,
    }
)
"""What is said of each verdict that is not flat."""
