"""An instrument that drifted from one certificate to the next by more than is stated of it."""

from math import sqrt

from headrace.bench.certificates import change_per_year
from headrace.findings.evidence import CampaignEvidence
from headrace.notices import Notice, Severity


def find(evidence: CampaignEvidence) -> tuple[Notice, ...]:
    """A *doubt* for each instrument, of bench and stand, whose certificates speak against its stated drift."""
    campaign = evidence.campaign
    stand = {} if campaign.engine is None else campaign.engine.instruments
    out = []
    for tag, instrument in {**campaign.bench.instruments, **stand}.items():
        paper = campaign.certificates.get(instrument.certificate or "")
        seen = None if paper is None else change_per_year(paper, campaign.certificates)
        if paper is None or seen is None or instrument.drift is None:
            continue
        share, stated = abs(seen) / instrument.span, instrument.drift * sqrt(3)
        if share <= stated:
            continue
        out.append(
            Notice(
                code="drift-beyond-stated",
                severity=Severity.DOUBT,
                text=(
                    f"{tag} drifted by {100 * share:.2g} % of its span a year from certificate {paper.former} to "
                    f"{paper.id}; stated are {100 * stated:.2g} % a year at most."
                ),
                facts=(("found", share), ("high", stated)),
                limit=f"drift of {tag} as stated",
                try_="leave its `drift` out, so that what was found counts; or find out what happened to it",
                about=f"instrument {tag}",
            )
        )
    return tuple(out)
