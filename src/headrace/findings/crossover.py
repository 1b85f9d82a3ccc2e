"""Two circuits by two lines and swapped: how much of a difference is the lines', and what neither explains."""

from headrace.findings.evidence import CampaignEvidence
from headrace.notices import Notice, Severity
from headrace.records.readings import Crossover

CLEAR = 2.0
"""Standard uncertainties beyond which a part counts. Common practice."""


def find(evidence: CampaignEvidence) -> tuple[Notice, ...]:
    """One notice for each crossover in which the lines differ, or differ in one circuit only."""
    return tuple(_told(one) for one in evidence.crossovers if _clear(one))


def _clear(one: Crossover) -> bool:
    return any(abs(part.value) > CLEAR * part.u for part in (one.line_bias, one.unexplained))


def _told(one: Crossover) -> Notice:
    first, second = one.lines
    lines = (
        f"line {first} reads {_percent(one.line_bias.value, one.line_bias.u)} % against line {second} in both"
    )
    if abs(one.unexplained.value) > CLEAR * one.unexplained.u:
        verdict = (
            f"and the lines differ by {_percent(2 * one.unexplained.value, 2 * one.unexplained.u)} % more in "
            f"{one.circuits[0]} than in {one.circuits[1]}: not the meters alone"
        )
        try_ = (
            "a meter reads the same whatever it feeds; look for what changes with the pair: a tap or leg that moved "
            "with the line, flow that leaves between meter and tap, one run of the four (repeat it)"
        )
    else:
        verdict = "and that is the lines', not the circuits'"
        try_ = (
            "likely in this order: coefficient or throat bore of one meter; burr or edge at one of its taps; range or "
            "zero of one cell. Swap the cells; calibrate both meters against one scale"
        )
    return Notice(
        code="crossover",
        severity=Severity.DOUBT,
        text=f"Circuits {' and '.join(one.circuits)} by lines {first} and {second}, swapped: {lines}, {verdict}.",
        facts=(
            ("line_bias", one.line_bias.value),
            ("u_line_bias", one.line_bias.u),
            ("unexplained", one.unexplained.value),
            ("u_unexplained", one.unexplained.u),
        ),
        limit=f"{CLEAR:g} standard uncertainties of each part, shared errors cancelled; common practice",
        try_=try_,
        about=f"circuits {one.circuits[0]} and {one.circuits[1]}, lines {first} and {second}",
    )


def _percent(value: float, u: float) -> str:
    return f"{100 * value:+.2f} ± {100 * CLEAR * u:.2f}"
