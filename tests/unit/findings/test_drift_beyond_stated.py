"""An instrument that drifted by more than is stated of it."""

from math import sqrt

import pytest

from headrace.findings import drift_beyond_stated
from headrace.notices import Severity
from support.certified import scene
from support.run_evidence import campaign_evidence, only


def test_drift_beyond_what_is_stated() -> None:
    per_year = 200 / (731 / 365.25) / 10e5
    assert drift_beyond_stated.find(campaign_evidence(scene=scene(drift=1.02 * per_year / sqrt(3)))) == ()
    notice = only(drift_beyond_stated.find(campaign_evidence(scene=scene(drift=0.98 * per_year / sqrt(3)))))
    assert notice.severity is Severity.DOUBT
    assert dict(notice.facts)["found"] == pytest.approx(per_year)
    assert drift_beyond_stated.find(campaign_evidence(scene=scene())) == ()
