"""A certificate past its last day."""

import datetime
from dataclasses import replace

from headrace.findings import certificate_expired
from headrace.notices import Severity
from support.certified import NEW, scene
from support.run_evidence import DAY, campaign_evidence, only


def test_a_certificate_past_its_last_day() -> None:
    clean = campaign_evidence(scene=scene())
    assert certificate_expired.find(clean) == ()
    late = scene()
    late.certificates["C2"] = replace(NEW, valid_until=DAY - datetime.timedelta(days=1))
    notice = only(certificate_expired.find(campaign_evidence(scene=late)))
    assert notice.severity is Severity.DOUBT
    assert "W01" in notice.text
    assert dict(notice.facts) == {"runs": 1.0}
