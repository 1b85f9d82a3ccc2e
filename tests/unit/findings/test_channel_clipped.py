"""A flat top that was left out is told: a doubt where E rests on it, a stop for an integral."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.findings.channel_clipped import find
from headrace.findings.evidence import Aside, RunEvidence
from headrace.notices import Severity
from support.run_evidence import Scene, only


def clipped(tag: str, method: str = "metered", size: int = 50) -> RunEvidence:
    evidence = Scene(method=method).evidence()
    out = np.zeros(evidence.time.size, dtype=bool)
    out[101 : 101 + size] = True
    one = Aside(alone=np.zeros_like(out), clipped=out, too_many=0, share=0.02)
    return replace(evidence, aside={tag: one})


def test_clean() -> None:
    assert find(clipped("PM-OX", size=0)) == ()


@pytest.mark.parametrize(
    ("tag", "method", "severity"),
    [
        ("PM-OX", "metered", Severity.DOUBT),
        ("DP-A", "metered", Severity.DOUBT),
        ("PM-FUEL", "metered", Severity.INFO),
        ("PM-OX", "weighed", Severity.STOP),
    ],
)
def test_by_what_rests_on_it(tag: str, method: str, severity: Severity) -> None:
    notice = only(find(clipped(tag, method)))
    assert notice.severity is severity
    assert "50 samples from 2.02 s to 3.00 s" in notice.text
    assert dict(notice.facts)["values_aside"] == 50
