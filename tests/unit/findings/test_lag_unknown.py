"""One channel's lag is stated, its partner's is not, and the drop falls."""

from dataclasses import replace

import pytest

from headrace.findings.lag_unknown import find
from headrace.notices import Severity
from headrace.records.given import Stated
from support.run_evidence import Scene, only


def stated(**lags: float) -> Scene:
    scene = Scene()
    for tag, lag in lags.items():
        name = tag.replace("_", "-")
        scene.instruments[name] = replace(scene.instruments[name], lag=Stated(value=lag))
    return scene


def test_nothing_stated_or_all_stated_is_silent() -> None:
    assert find(Scene().evidence()) == ()
    assert find(stated(DP_A=0.1, PM_OX=0.1).evidence()) == ()


@pytest.mark.parametrize(("lag", "severity"), [(0.3, Severity.DOUBT), (0.03, Severity.INFO)])
def test_the_bias_is_half_the_lag_times_the_fall(lag: float, severity: Severity) -> None:
    notice = only(find(stated(DP_A=lag).evidence()))
    assert notice.severity is severity
    facts = dict(notice.facts)
    assert facts["bias"] == pytest.approx(0.5 * lag * abs(facts["rate"]))
    assert "PM-OX answers is not stated" in notice.text


def test_a_bias_that_is_nothing_is_not_told() -> None:
    assert find(stated(DP_A=0.001).evidence()) == ()


def test_a_filter_counts_as_something_stated() -> None:
    scene = stated(DP_A=0.3)
    scene.instruments["PM-OX"] = replace(scene.instruments["PM-OX"], filter=Stated(value=0.02))
    assert find(scene.evidence()) == ()
