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


BOTH, EITHER, NONE = [Severity.DOUBT], [Severity.INFO], []  # type: ignore[var-annotated]  # of severities


@pytest.mark.parametrize(
    ("seconds", "height", "found"),
    [
        (0.1, 0.3, BOTH),
        (0.06, 0.3, EITHER),
        (0.3, 0.06, BOTH),
        (0.3, 0.04, EITHER),
        (0.06, 0.04, NONE),
        (0.3, 0.95, BOTH),
        (0.3, 1.05, EITHER),
        (0.06, 1.05, NONE),
        (0.3, -0.3, BOTH),
    ],
)
def test_limits(seconds: float, height: float, found: list[Severity]) -> None:
    assert [one.severity for one in find(late(seconds, height).evidence())] == found


def test_a_shift_within_the_allowed_one_says_nothing_of_the_leg() -> None:
    scene = late(0.0, 0.06, "PM-OX")  # 6 mbar of the 10 mbar that are allowed
    assert find(scene.evidence()) == ()
    scene = late(0.0, 0.15, "PM-OX")
    notice = only(find(scene.evidence()))
    assert dict(notice.facts).keys() == {"shift", "height"}


def test_without_a_zero_after_the_run_only_the_lag_speaks() -> None:
    scene = late(0.3, 0.45)
    scene.zeros["DP-A"] = Zero(before=100.0, after=None, u=100.0)
    notice = only(find(scene.evidence()))
    assert notice.severity is Severity.INFO
    assert dict(notice.facts)["lag_opening"] == pytest.approx(0.3, abs=0.021)


def test_a_late_channel_is_held_against_its_neighbours_scatter() -> None:
    scene = late(0.3, 0.0)
    dice = np.random.default_rng(2)
    scene.p_tap = scene.p_tap * (1 + 0.004 * dice.standard_normal(scene.p_tap.size))
    scene.dp_meter = scene.dp_meter * (1 + 0.001 * dice.standard_normal(scene.dp_meter.size))
    facts = dict(only(find(scene.evidence())).facts)
    assert facts["noise_ratio"] == pytest.approx(0.25, rel=0.1)
