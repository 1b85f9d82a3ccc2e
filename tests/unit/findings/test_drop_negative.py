"""A drop of the wrong sign while water flows."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.findings.drop_negative import find
from headrace.notices import Severity
from support.run_evidence import Scene, only


def test_clean() -> None:
    assert find(Scene().evidence()) == ()


def test_crossed_cell_of_the_meter() -> None:
    scene = Scene()
    scene.dp_meter = -scene.dp_meter
    notice = only(find(scene.evidence()))
    assert notice.severity is Severity.STOP
    assert "DP-A, meter of line A" in notice.text
    assert "crossed" in notice.try_
    assert dict(notice.facts)["dp"] == pytest.approx(-0.8e5, rel=0.1)


def test_tap_below_its_outlet() -> None:
    scene = Scene()
    scene.p_tap = scene.p_tap - 8e5
    assert "PM-OX, tap of circuit ox" in only(find(scene.evidence())).text


@pytest.mark.parametrize(("share", "found"), [(0.009, 0), (0.012, 1)])
def test_a_spike_is_none(share: float, found: int) -> None:
    scene = Scene()
    inside = np.flatnonzero((scene.time >= 2.4) & (scene.time <= 9.7))
    scene.dp_meter[inside[: round(share * inside.size)]] = -100.0
    assert len(find(scene.evidence())) == found


@pytest.mark.parametrize(("share", "found"), [(0.09, 0), (0.11, 1)])
def test_much_of_the_flow_beside_the_window(share: float, found: int) -> None:
    scene = Scene()
    scene.window = replace(scene.window, start=4.5)
    late = np.flatnonzero((scene.time >= 2.5) & (scene.time <= 9.5))
    scene.p_tap[late[: round(share * late.size)]] = -1e4
    notices = find(scene.evidence())
    assert len(notices) == found
    assert all("of the flow from 2.50 s to 9.50 s" in one.text for one in notices)
