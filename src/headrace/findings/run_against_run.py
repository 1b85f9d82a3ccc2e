"""The same circuit through the same line, and runs that do not agree: something changed between them."""

from math import expm1

from headrace.findings.evidence import CampaignEvidence, Contrast
from headrace.notices import Notice, Severity

CLEAR = 3.0
"""Standard uncertainties of the difference beyond which a run stands apart: chance does that once in 400 runs."""

GRAVE = 4.0
"""Beyond this many no mean of the runs may be used. Common practice, as `CLEAR`."""

THOUSANDFOLD, NEAR = 6.9078, 0.5
"""ln of the ratio that a mass in g for kg leaves, and how near to it a ratio counts."""


def find(evidence: CampaignEvidence) -> tuple[Notice, ...]:
    """At most one notice for each circuit, about the run that stands furthest apart."""
    worst: dict[str, Contrast] = {}
    for one in evidence.contrasts:
        if one.kind == "runs" and abs(one.ln_ratio) > CLEAR * one.u:
            known = worst.get(one.stream)
            if known is None or _apart(one) > _apart(known):
                worst[one.stream] = one
    return tuple(_told(one) for one in worst.values())


def _apart(one: Contrast) -> float:
    return abs(one.ln_ratio) / one.u if one.u > 0 else float("inf")


def _unit(ln_ratio: float) -> str:
    """The first suspect of a thousandfold difference."""
    return "unit of the mass (g for kg); " if abs(abs(ln_ratio) - THOUSANDFOLD) < NEAR else ""


def _told(one: Contrast) -> Notice:
    others = one.b.split("+")
    rest = f"run {one.b}" if len(others) == 1 else f"the mean of runs {', '.join(others)}"
    return Notice(
        code="run-against-run",
        severity=Severity.STOP if abs(one.ln_ratio) > GRAVE * one.u else Severity.DOUBT,
        text=(
            f"Circuit {one.stream}: run {one.a} gives an effective area {100 * expm1(one.ln_ratio):+.2f} % "
            f"from {rest}, by the same line, where ±{100 * CLEAR * one.u:.2f} % is what they may differ by. "
            "Runs of one day widen the doubt of their mean; that does not tell which of them holds."
        ),
        facts=(("ln_ratio", one.ln_ratio), ("u", one.u)),
        limit=f"{CLEAR:g} standard uncertainties, stop beyond {GRAVE:g}; common practice",
        try_=(
            f"find out, do not average; likely in this order: {_unit(one.ln_ratio)}unit or instrument of a column; a "
            "zero, or air in a leg; a valve, seal or hole that changed between the runs; cavitation. Repeat the run, "
            "or exclude it with a reason; where runs do scatter so, say so in `run_to_run`"
        ),
        about=f"circuit {one.stream}, run {one.a}",
    )
