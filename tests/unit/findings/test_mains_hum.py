"""Hum is told with its frequency, folded or not, and as a doubt when it is strong or slow."""

import numpy as np
import pytest

from headrace.findings.evidence import RunEvidence
from headrace.findings.mains_hum import find
from headrace.notices import Severity
from support.run_evidence import Scene, only


def humming(part: float, *, mains: float = 60.0, rest: float = 0.0, tag: str = "DP-A") -> RunEvidence:
    """The scene is sampled at 50 Hz: 60 Hz shows at 10 Hz."""
    scene = Scene()
    values = {"DP-A": scene.dp_meter, "PM-FUEL": scene.p_fuel}[tag]
    sine = np.sin(2 * np.pi * mains * scene.time + 0.4)
    values += np.where(scene.flowing, part * scene.dp_meter, rest) * sine
    return scene.evidence()


def test_clean() -> None:
    assert find(Scene().evidence()) == ()
    assert find(humming(0.05, tag="PM-FUEL")) == ()  # nothing rests on it


@pytest.mark.parametrize(("part", "severity"), [(0.04, Severity.INFO), (0.12, Severity.DOUBT)])
def test_by_its_amplitude(part: float, severity: Severity) -> None:
    notice = only(find(humming(part)))
    assert notice.severity is severity
    assert "hum of 60 Hz, which sampling this slow shows at 10 Hz in the run" in notice.text
    facts = dict(notice.facts)
    assert facts["frequency"] == 60.0
    assert facts["frequency_seen"] == pytest.approx(10.0)


def test_hum_at_rest_only_averages_out_of_the_zero() -> None:
    notice = only(find(humming(0.0, rest=400.0)))
    assert notice.severity is Severity.INFO
    assert "at rest" in notice.text
    assert "out of the zero" in notice.text
