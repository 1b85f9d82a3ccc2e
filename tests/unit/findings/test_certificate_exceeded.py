"""A channel is read beyond the points of its certificate."""

import datetime
from dataclasses import replace

from headrace.findings.certificate_exceeded import find
from headrace.notices import Severity
from headrace.records.given import Accuracy, Certificate, HandReading
from support.certified import NEW, scene
from support.run_evidence import BAR, Scene, only


def certified(top: float) -> Scene:
    """The drop's cell with a certificate whose last point stands at `top` [bar]; in flow it reads up to about 1 bar."""
    scene = Scene()
    scene.instruments["DP-A"] = replace(scene.instruments["DP-A"], certificate="C-1")
    scene.certificates["C-1"] = Certificate(
        id="C-1",
        date=datetime.date(2026, 1, 5),
        accuracy=Accuracy(of_span=5e-4, dist="normal"),
        points=((0.0, 0.0), (top * BAR, top * BAR)),
    )
    return scene


def top_read() -> float:
    """The most that the cell reads in the window [bar]."""
    scene = Scene()
    evidence = scene.evidence()
    assert evidence.run.trace is not None
    inside = (scene.time >= scene.window.start) & (scene.time <= scene.window.end)
    return float(evidence.run.trace.channels["DP-A"][inside].max()) / BAR


def test_read_within_the_points_it_is_silent() -> None:
    assert find(Scene().evidence()) == ()
    assert find(certified(top_read() + 0.01).evidence()) == ()


def test_a_little_beyond_is_allowed_and_more_is_told() -> None:
    span = 1.6
    assert find(certified(top_read() - 0.015 * span).evidence()) == ()
    notice = only(find(certified(top_read() - 0.03 * span).evidence()))
    assert notice.severity is Severity.DOUBT
    facts = dict(notice.facts)
    assert abs(facts["found"] / BAR - top_read()) < 0.01
    assert abs(facts["high"] / BAR - (top_read() - 0.03 * span)) < 1e-9
    assert "DP-A" in notice.text
    assert "C-1" in notice.text


def test_readings_by_trace_and_by_eye() -> None:
    inside = scene()
    inside.certificates["C2"] = replace(NEW, points=((0.0, 0.0), (4.9e5, 4.9e5)))
    assert find(inside.evidence()) == ()
    nearly = scene()  # the window begins at 4.901 bar, of 10 bar: 2 % of span are let pass
    nearly.certificates["C2"] = replace(NEW, points=((0.0, 0.0), (4.72e5, 4.72e5)))
    assert find(nearly.evidence()) == ()
    beyond = scene()
    beyond.certificates["C2"] = replace(NEW, points=((0.0, 0.0), (4.4e5, 4.4e5)))
    notice = only(find(beyond.evidence()))
    assert notice.severity is Severity.DOUBT
    assert dict(notice.facts)["high"] == 4.4e5
    low = scene()
    low.certificates["C2"] = replace(NEW, points=((3.8e5, 3.8e5), (9e5, 9e5)))
    assert dict(only(find(low.evidence())).facts)["found"] < 3.6e5
    by_eye = scene()
    by_eye.certificates["C2"] = replace(NEW, points=((0.0, 0.0), (6e5, 6e5)))
    by_eye.hand = (HandReading(instrument="PM-OX", moment="start", value=7e5),)
    assert dict(only(find(by_eye.evidence())).facts)["found"] == 7e5
