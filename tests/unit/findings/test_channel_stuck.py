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


@pytest.mark.parametrize(("end", "found"), [(5.46, 0), (5.54, 1)])
def test_half_a_second(end: float, found: int) -> None:
    assert len(find(held("PM-OX", 5.0, end).evidence())) == found


@pytest.mark.parametrize(("samples", "found"), [(37, 0), (43, 1)])
def test_eight_times_its_usual_repeats(samples: int, found: int) -> None:
    scene = held("PM-OX", 0.0, 0.0)
    scene.p_tap = np.repeat(scene.p_tap[::5], 5)[: scene.time.size]  # every value five times
    scene.p_tap[250 : 250 + samples] = scene.p_tap[250]
    assert len(find(scene.evidence())) == found


@pytest.mark.parametrize(("below", "found"), [(2.4e-4, 0), (1.6e-4, 1)])
def test_how_near_the_end_of_the_range(below: float, found: int) -> None:
    scene = held("DP-A", 0.0, 0.0)
    scene.dp_meter[200:220] = 1.6e5 * (1 - below)
    assert len(find(scene.evidence())) == found
