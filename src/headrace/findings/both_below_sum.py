"""Circuits that pass less together than the sum of each alone: what they share has been left out.

In one public student data set of 2025 (two circuits of 20 drilled holes, one pressure reading per run) both together
gave 73 % of the sum: the mark of a pressure read upstream of a loss that both share.
"""

from math import expm1

from headrace.findings.evidence import CampaignEvidence
from headrace.notices import Notice, Severity

CLEAR = 2.0
"""Standard uncertainties of the comparison..."""

LEAST = 0.03
"""... and this much in ln E: circuits of one head disturb each other by that. Common practice."""

GRAVE = 0.10
"""Missing share that no coupling of circuits explains: a *stop*. Common practice."""


def find(evidence: CampaignEvidence) -> tuple[Notice, ...]:
    """One notice for each sum that is not reached."""
    out = []
    for one in evidence.contrasts:
        if one.kind != "sum" or one.ln_ratio >= -max(CLEAR * one.u, LEAST):
            continue
        missing = -expm1(one.ln_ratio)
        out.append(
            Notice(
                code="both-below-sum",
                severity=Severity.STOP if missing > GRAVE else Severity.DOUBT,
                text=(
                    f"Circuits {one.stream}: together they pass {100 * (1 - missing):.1f} % of the sum of "
                    f"each alone ({one.a} against {one.b}), where ±{100 * CLEAR * one.u:.1f} % may be "
                    "chance."
                ),
                facts=(("ln_ratio", one.ln_ratio), ("u", one.u)),
                limit=(
                    f"{100 * LEAST:g} % and {CLEAR:g} standard uncertainties, stop beyond {100 * GRAVE:g} "
                    "%; common practice"
                ),
                try_=(
                    "likely first: pressure is read upstream of a loss that both circuits share (use a tap "
                    "in each manifold, or take the loss as a part of its own); else one circuit leaks into "
                    "the other when run alone; else the jets disturb each other: then carry the areas "
                    "found together"
                ),
                about=f"circuits {one.stream}",
            )
        )
    return tuple(out)
