"""Air in an impulse line: shifted zero and late answer together."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.bench.instruments import Zero
from headrace.findings.impulse_leg_air import find
from headrace.notices import Severity
from support.run_evidence import RHO, Scene, only


def late(seconds: float, height: float, tag: str = "DP-A") -> Scene:
    scene = Scene()
    steps = round(seconds / 0.02)
    moved = np.roll(scene.dp_meter if tag == "DP-A" else scene.p_tap, steps)
    if tag == "DP-A":
        scene.dp_meter = moved
    else:
        scene.p_tap = moved
    scene.window = replace(scene.window, start=3.0)
    scene.zeros[tag] = Zero(before=100.0, after=100.0 + RHO * 9.80665 * height, u=100.0)
    return scene


def test_clean() -> None:
    assert find(Scene().evidence()) == ()


@pytest.mark.parametrize("tag", ["DP-A", "PM-OX"])
def test_both_signs(tag: str) -> None:
    notice = only(find(late(0.3, 0.45, tag).evidence()))
    assert notice.severity is Severity.DOUBT
    assert notice.about == f"channel {tag}"
    assert "0.45 m of water" in notice.text
    assert dict(notice.facts)["lag_opening"] == pytest.approx(0.3, abs=0.021)
    assert dict(notice.facts)["lag_closing"] == pytest.approx(0.3, abs=0.021)


@pytest.mark.parametrize(
    ("seconds", "height", "found"),
    [
        (0.1, 0.3, 1),
        (0.06, 0.3, 0),
        (0.3, 0.06, 1),
        (0.3, 0.04, 0),
        (0.3, 0.95, 1),
        (0.3, 1.05, 0),
        (0.3, -0.3, 1),
    ],
)
def test_limits(seconds: float, height: float, found: int) -> None:
    assert len(find(late(seconds, height).evidence())) == found


def test_one_sided_zero_shows_nothing() -> None:
    scene = late(0.3, 0.45)
    scene.zeros["DP-A"] = Zero(before=100.0, after=None, u=100.0)
    assert find(scene.evidence()) == ()
