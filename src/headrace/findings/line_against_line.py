"""The same circuit through two lines, and two results: one of the lines measures wrongly."""

from math import expm1

from headrace.findings.evidence import CampaignEvidence
from headrace.notices import Notice, Severity

CLEAR = 2.0
"""Standard uncertainties of the difference beyond which two lines disagree. Common practice."""

GRAVE = 4.0
"""Beyond this many no mean of the two may be used."""


COUNTED = {
    "lines": "The difference has been added to the doubt of this circuit as a source between lines.",
    "witness": "One of them hardly enters the mean, so the difference is told and not added.",
}
"""What becomes of the difference, by kind of contrast."""


def find(evidence: CampaignEvidence) -> tuple[Notice, ...]:
    """One notice for each pair of lines that disagree."""
    out = []
    for one in evidence.contrasts:
        if one.kind not in COUNTED or abs(one.ln_ratio) <= CLEAR * one.u:
            continue
        out.append(
            Notice(
                code="line-against-line",
                severity=Severity.STOP if abs(one.ln_ratio) > GRAVE * one.u else Severity.DOUBT,
                text=(
                    f"Circuit {one.stream}: line {one.a} gives an effective area {100 * expm1(one.ln_ratio):+.2f} "
                    f"% from that of line {one.b}, where ±{100 * CLEAR * one.u:.2f} % is what they may "
                    f"differ by. {COUNTED[one.kind]}"
                ),
                facts=(("ln_ratio", one.ln_ratio), ("u", one.u)),
                limit=f"{CLEAR:g} standard uncertainties, stop beyond {GRAVE:g}; common practice",
                try_=(
                    "find out, do not average; likely in this order: coefficient or throat bore of one "
                    "meter; burr or edge at one of its taps; range or zero of one cell. Swap the cells, "
                    "then the lines; calibrate both meters against one scale"
                ),
                about=f"circuit {one.stream}, lines {one.a} and {one.b}",
            )
        )
    return tuple(out)
