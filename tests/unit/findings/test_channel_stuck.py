"""A channel at the end of its range, or standing still."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.findings.channel_stuck import find
from headrace.notices import Severity
from support.run_evidence import Scene, only


def held(tag: str, begin: float, end: float) -> Scene:
    scene = Scene()
    values = {"DP-A": scene.dp_meter, "PM-OX": scene.p_tap, "PM-FUEL": scene.p_fuel}[tag]
    scene.zeros[tag] = replace(scene.zeros[tag], before=0.0, after=0.0)
    stretch = (scene.time >= begin) & (scene.time <= end)
    values[stretch] = values[np.flatnonzero(stretch)[0]]
    return scene


def test_clean() -> None:
    assert find(Scene().evidence()) == ()


@pytest.mark.parametrize(("share", "found"), [(0.009, 0), (0.012, 1)])
def test_saturated(share: float, found: int) -> None:
    scene = Scene()
    scene.zeros["DP-A"] = replace(scene.zeros["DP-A"], before=0.0, after=0.0)
    inside = np.flatnonzero((scene.time >= 2.4) & (scene.time <= 9.7))
    scene.dp_meter[inside[: round(share * inside.size)]] = 1.6e5
    notices = find(scene.evidence())
    assert len(notices) == found
    assert all(one.severity is Severity.STOP and "1.6 bar" in one.text for one in notices)


def test_saturated_watcher_is_a_doubt() -> None:
    scene = Scene()
    scene.p_fuel = scene.p_fuel + 10.1e5
    assert only(find(scene.evidence())).severity is Severity.DOUBT


def test_frozen_in_the_window() -> None:
    notice = only(find(held("PM-OX", 5.0, 6.0).evidence()))
    assert notice.severity is Severity.STOP
    assert "from 5.00 s to 6.00 s" in notice.text


def test_frozen_before_the_window_or_on_a_watcher_is_a_doubt() -> None:
    assert find(held("PM-OX", 5.0, 5.4).evidence()) == ()
    scene = held("DP-A", 2.0, 3.0)
    scene.window = replace(scene.window, start=3.2)
    assert only(find(scene.evidence())).severity is Severity.DOUBT
    assert only(find(held("PM-FUEL", 5.0, 6.0).evidence())).severity is Severity.DOUBT


def test_dead_all_along() -> None:
    assert only(find(held("PM-OX", 0.0, 12.0).evidence())).severity is Severity.STOP
    assert find(held("PM-FUEL", 0.0, 12.0).evidence()) == ()  # a quiet gauge of a shut circuit


def test_coarse_converter_repeats_itself_and_is_not_stuck() -> None:
    scene = Scene()
    scene.zeros["PM-OX"] = replace(scene.zeros["PM-OX"], before=0.0, after=0.0)
    scene.p_tap = np.round(scene.p_tap / 0.2e5) * 0.2e5
    assert find(scene.evidence()) == ()
