"""A time axis that leaps or runs back."""

import numpy as np
import pytest

from headrace.findings.clock_jump import find
from headrace.notices import Severity
from support.run_evidence import Scene, only


def jumped(at: float, by: float, method: str = "metered") -> Scene:
    scene = Scene(method=method)
    scene.time = np.where(scene.time > at, scene.time + by, scene.time)
    return scene


def lost(begin: float, end: float) -> Scene:
    scene = Scene()
    kept = (scene.time < begin) | (scene.time > end)
    scene.time, scene.p_tap, scene.dp_meter, scene.p_fuel = (
        values[kept] for values in (scene.time, scene.p_tap, scene.dp_meter, scene.p_fuel)
    )
    return scene


def test_clean() -> None:
    assert find(Scene().evidence()) == ()


@pytest.mark.parametrize(("by", "found"), [(0.079, 0), (0.083, 1), (-0.025, 1)])
def test_five_usual_steps_or_back(by: float, found: int) -> None:
    assert len(find(jumped(5.0, by).evidence())) == found  # 0.02 s of its own, and the leap


def test_clock_set_or_samples_lost() -> None:
    jump, gap = only(find(jumped(5.0, 1.5).evidence())), only(find(lost(5.0, 6.5).evidence()))
    assert jump.severity is Severity.DOUBT
    assert "+1.520 s" in jump.text
    assert "clock was set" in jump.try_
    assert "samples were lost" in gap.try_


def test_an_integral_over_it_stops() -> None:
    assert only(find(jumped(5.0, 1.5, "weighed").evidence())).severity is Severity.STOP


def test_rest_does_not_count() -> None:
    assert find(jumped(1.0, 0.3).evidence()) == ()
    assert find(jumped(11.0, 0.3).evidence()) == ()


@pytest.mark.parametrize(("at", "found"), [(10.45, 1), (10.55, 0)])
def test_half_a_second_beside_the_flow(at: float, found: int) -> None:
    assert len(find(jumped(at, 0.3).evidence())) == found
