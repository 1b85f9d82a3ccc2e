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


def trembling(quiet: float, late: float, share: float = 1.0) -> Scene:
    """E of an ideal meter trembles by so much from one sample to the next, early and from 8 s on."""
    scene = gassy(0.0)
    scene.p_tap = np.where(scene.flowing, 4e5, 0.0)
    size = np.where(scene.time < 8.0, quiet, late) / np.sqrt(8 / 6)  # eight samples about their own line
    sign = (-1.0) ** np.arange(scene.time.size)
    scene.dp_meter = 0.2 * scene.p_tap * np.exp(2 * sign * size)
    scene.p_tap = np.where(scene.time >= 8.0, share * scene.p_tap, scene.p_tap)
    return scene


@pytest.mark.parametrize(
    ("quiet", "late", "found"), [(1e-4, 0.0092, 0), (1e-4, 0.0108, 1), (0.01, 0.027, 0), (0.01, 0.033, 1)]
)
def test_wobble_by_itself_and_against_the_quiet_part(quiet: float, late: float, found: int) -> None:
    assert len(find(trembling(quiet, late).evidence())) == found


@pytest.mark.parametrize(("share", "found"), [(0.55, 1), (0.45, 0)])
def test_pressure_must_be_on(share: float, found: int) -> None:
    assert len(find(trembling(1e-4, 0.05, share).evidence())) == found


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
