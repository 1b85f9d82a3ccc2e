"""Gas before the valve shut: told when the window ends before it, doubted when a typed one includes it."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.findings.gas_breakthrough import find
from headrace.notices import Severity
from support.run_evidence import Scene, only


def gassy(wobble: float, begin: float = 8.0) -> Scene:
    scene = Scene()
    dice = np.random.default_rng(3)
    late = scene.time >= begin
    scene.dp_meter[late] = scene.dp_meter[late] * np.exp(2 * dice.normal(0, wobble, int(late.sum())))
    phases = (
        ("settling", 2.2, 2.4),
        ("sweep", 2.4, begin),
        ("breakthrough", begin, 9.8),
        ("closing", 9.8, 10.0),
    )
    scene.window = replace(scene.window, end=begin, phases=phases)
    return scene


def test_clean() -> None:
    assert find(Scene().evidence()) == ()
    assert find(gassy(0.0).evidence()) == ()


def test_window_ends_before_it() -> None:
    notice = only(find(gassy(0.06).evidence()))
    assert notice.severity is Severity.INFO
    assert "ends before it" in notice.text
    assert dict(notice.facts)["scatter"] == pytest.approx(0.06, rel=0.2)


def test_typed_window_includes_it() -> None:
    scene = gassy(0.06)
    scene.window = replace(scene.window, end=9.5, chosen="typed: all of it")
    assert only(find(scene.evidence())).severity is Severity.DOUBT
    scene.window = replace(scene.window, end=8.15)
    assert only(find(scene.evidence())).severity is Severity.INFO


@pytest.mark.parametrize(("wobble", "found"), [(0.008, 0), (0.0125, 1)])
def test_wobble(wobble: float, found: int) -> None:
    assert len(find(gassy(wobble).evidence())) == found


@pytest.mark.parametrize(("begin", "found"), [(9.55, 1), (9.65, 0)])
def test_lasting(begin: float, found: int) -> None:
    assert len(find(gassy(0.06, begin).evidence())) == found


def test_a_closing_valve_is_no_gas() -> None:
    scene = gassy(0.06)
    scene.p_tap = np.where(scene.time > 8.0, 0.4 * scene.p_tap, scene.p_tap)
    assert find(scene.evidence()) == ()


def test_a_channel_late_at_closing_bends_e_and_is_no_gas() -> None:
    scene = gassy(0.0)
    late = scene.time >= 8.0
    scene.dp_meter[late] = scene.dp_meter[late] * np.exp(0.3 * (scene.time[late] - 8.0) ** 2 / 4)
    assert find(scene.evidence()) == ()
