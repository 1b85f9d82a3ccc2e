"""A circuit passes more or less while its neighbour flows, and the engine carries one of the two areas."""

from headrace.findings.evidence import CampaignEvidence
from headrace.notices import Notice, Severity
from headrace.records.readings import Comparison

CLEAR = 2.0
"""Standard uncertainties of the comparison..."""

LEAST = 0.005
"""... and this much, relative: less than that hardly moves O/F. Common practice."""


def find(evidence: CampaignEvidence) -> tuple[Notice, ...]:
    """One notice for each circuit that feels its neighbour."""
    return tuple(
        _told(one)
        for one in evidence.comparisons
        if one.kind == "neighbour" and abs(one.ratio.value - 1) > max(CLEAR * one.ratio.u, LEAST)
    )


def _told(one: Comparison) -> Notice:
    moved, u = one.ratio.value - 1, one.ratio.u
    return Notice(
        code="neighbour-effect",
        severity=Severity.DOUBT,
        text=(
            f"Circuit {one.stream}: its effective area is {100 * moved:+.2f} ± {100 * CLEAR * u:.2f} % while its "
            f"neighbour flows, against alone. The engine carries {one.carried} ({one.why})."
        ),
        facts=(("ratio", one.ratio.value), ("u", u)),
        limit=f"{CLEAR:g} standard uncertainties and {100 * LEAST:g} %; common practice",
        try_=(
            "in the engine both flow: where the elements share a recess or the jets meet, carry what was found "
            'together (`characteristic = "together"`); where they share only the supply, look for a loss between tap '
            "and circuit"
        ),
        about=f"circuit {one.stream}",
    )
