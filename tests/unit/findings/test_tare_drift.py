"""A zero that moved, that was taken once, that was not taken, or that was taken under pressure."""

import datetime
from dataclasses import replace

import pytest

from headrace.bench.instruments import Zero
from headrace.findings.evidence import RunEvidence
from headrace.findings.tare_drift import find
from headrace.notices import Severity
from headrace.records.given import Accuracy, Certificate, Limits
from support.run_evidence import Scene, only


def moved(shift: float, scatter: float = 5.0, **changes: object) -> Scene:
    scene = Scene(**changes)  # type: ignore[arg-type]
    u = (scatter**2 / 2 + shift**2 / 12) ** 0.5  # half of each end's scatter, and the way between
    scene.zeros["DP-A"] = Zero(before=200.0, after=200.0 + shift, u=u)
    return scene


def test_clean() -> None:
    assert find(Scene().evidence()) == ()


@pytest.mark.parametrize(("shift", "found"), [(158.0, 0), (162.0, 1), (-162.0, 1)])
def test_owner_limit_of_span(shift: float, found: int) -> None:
    assert len(find(moved(shift).evidence())) == found  # 0.1 % of 1.6 bar: 160 Pa


def test_words() -> None:
    notice = only(find(moved(800.0).evidence()))
    assert notice.severity is Severity.DOUBT
    assert "+0.0080 bar" in notice.text
    assert "0.50 % of span" in notice.text
    assert "owner" in notice.limit


@pytest.mark.parametrize(("scatter", "found"), [(66.0, 1), (75.0, 0)])
def test_noise_is_no_shift(scatter: float, found: int) -> None:
    # each end known to 66 Pa: the difference to 93 Pa, twice that is 187 Pa of the 200
    assert len(find(moved(200.0, scatter=scatter).evidence())) == found


def test_tighter_of_owner_class_and_certificate() -> None:
    loose = Limits(tare_shift=1e-2)
    notice = only(find(moved(400.0, limits=loose).evidence()))
    assert notice.limit == "class of DP-A"
    assert dict(notice.facts)["limit"] == pytest.approx(160.0)
    scene = moved(400.0, limits=loose)
    scene.instruments["DP-A"] = replace(scene.instruments["DP-A"], certificate="C-1")
    paper = Certificate(
        id="C-1", date=datetime.date(2026, 1, 1), accuracy=Accuracy(of_span=1e-3, dist="normal")
    )
    scene.certificates["C-1"] = paper
    notice = only(find(scene.evidence()))  # U (k = 2) of 0.2 % of 1.6 bar
    assert dict(notice.facts)["limit"] == pytest.approx(320.0)
    assert "C-1" in notice.limit


def test_no_zero_and_one_sided_zero() -> None:
    scene = Scene()
    del scene.zeros["DP-A"]
    del scene.zeros["PM-FUEL"]  # only watches
    assert "no zero taken" in only(find(scene.evidence())).text
    scene = Scene()
    scene.zeros["PM-OX"] = Zero(before=-900.0, after=None, u=400.0)
    assert "before the run only" in only(find(scene.evidence())).text


FAR = [
    ("PM-OX", 0.49e5, None),
    ("PM-OX", 0.51e5, Severity.DOUBT),
    ("PM-OX", -0.51e5, Severity.DOUBT),
    ("PM-OX", 1.0e5, None),  # a whole barometer is another finding's
    ("PM-OX", 1.49e5, Severity.DOUBT),
    ("PM-OX", 1.51e5, Severity.STOP),
    ("DP-A", 0.079e5, None),
    ("DP-A", 0.081e5, Severity.DOUBT),
    ("DP-A", 0.2 * 1.6e5, Severity.STOP),  # 4 mA of a loop entered as 0 to 20 mA
]


@pytest.mark.parametrize(("tag", "zero", "severity"), FAR)
def test_zero_far_from_none(tag: str, zero: float, severity: Severity | None) -> None:
    scene = Scene()
    scene.zeros[tag] = Zero(before=zero, after=zero, u=10.0)
    assert [one.severity for one in find(scene.evidence())] == ([] if severity is None else [severity])


def typed(scene: Scene, **spans: tuple[float, float]) -> RunEvidence:
    evidence = scene.evidence()
    return replace(evidence, run=replace(evidence.run, **spans))  # type: ignore[arg-type]  # by name


def test_a_zero_far_off_where_a_person_named_the_time_stops() -> None:
    scene = Scene()
    scene.zeros["PM-OX"] = Zero(before=0.51e5, after=0.51e5, u=10.0)
    assert only(find(typed(scene, tare_before=(0.0, 1.5)))).severity is Severity.STOP
    scene.zeros["PM-OX"] = Zero(before=-900.0, after=0.51e5, u=5e4)  # u: its shift is noise
    assert find(scene.evidence()) == ()
    notice = only(find(typed(scene, tare_after=(11.0, 12.0))))
    assert notice.severity is Severity.STOP
    assert "after the run" in notice.text
