"""A certificate that was past its last day when a run, or the campaign's set points, rested on it."""

import datetime
from collections.abc import Iterator

from headrace.bench.meters import METERS
from headrace.findings.evidence import CampaignEvidence
from headrace.notices import Notice, Severity
from headrace.records.given import Campaign, RunGiven

STAND = "set points"
"""Who uses the gauge of a tank."""


def find(evidence: CampaignEvidence) -> tuple[Notice, ...]:
    """One *doubt* for each certificate."""
    campaign = evidence.campaign
    late: dict[str, dict[str, None]] = {}
    for certificate, user, day in _uses(campaign):
        valid = campaign.certificates[certificate].valid_until
        if valid is not None and day > valid:
            late.setdefault(certificate, {})[user] = None
    return tuple(_notice(campaign, certificate, tuple(users)) for certificate, users in late.items())


def _uses(campaign: Campaign) -> Iterator[tuple[str, str, datetime.date]]:
    """Certificate, who rests on it, and the day."""
    for run in campaign.runs.values():
        if run.kind == "water" and run.excluded is None:
            for certificate in certificates_of(campaign, run):
                yield certificate, run.id, run.date
    engine = campaign.engine
    for side in () if engine is None else engine.sides.values():
        gauge = side.tank.gauge
        if engine is not None and gauge is not None:
            found = {**campaign.bench.instruments, **engine.instruments}[gauge].certificate
            if found is not None:
                yield found, STAND, campaign.date


def certificates_of(campaign: Campaign, run: RunGiven) -> tuple[str, ...]:
    """Ids of the certificates behind what a run reads: taps, meters with their instruments, scale, readings by eye."""
    bench = campaign.bench
    tags = [one.instrument for one in run.hand]
    papers: list[str | None] = []
    for flow in run.flows:
        tags += [flow.p_tap, *([flow.p_back] if flow.p_back else [])]
        meters = [bench.lines[line].meter for line in flow.lines] if run.method == "metered" else []
        for meter in (bench.meters[name] for name in meters if name is not None):
            papers.append(meter.certificate)
            tags.append(meter.instruments[METERS[meter.kind].role])
    if run.total is not None and run.total.instrument is not None:
        tags.append(run.total.instrument)
    parts = [
        part for tag in tags if tag in bench.instruments for part in bench.instruments[tag].parts or (tag,)
    ]
    papers += [bench.instruments[tag].certificate for tag in parts]
    return tuple(dict.fromkeys(one for one in papers if one is not None))


def _notice(campaign: Campaign, certificate: str, users: tuple[str, ...]) -> Notice:
    paper = campaign.certificates[certificate]
    return Notice(
        code="certificate-expired",
        severity=Severity.DOUBT,
        text=f"Certificate {certificate} was valid until {paper.valid_until}; {', '.join(users)} came later.",
        facts=(("runs", float(len([one for one in users if one != STAND]))),),
        limit=f"last day by {paper.origin or certificate}",
        try_="have it calibrated now, and give the new certificate with this one as its former: runs lie between both",
        about=f"certificate {certificate}",
    )
