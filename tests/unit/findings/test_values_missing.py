"""A channel that carries the effective area with holes in it is told."""

import numpy as np
import pytest

from headrace.findings.values_missing import find
from support.run_evidence import Scene, only


def holed(share: float, tag: str = "DP-A") -> Scene:
    scene = Scene()
    values = {"DP-A": scene.dp_meter, "PM-OX": scene.p_tap, "PM-FUEL": scene.p_fuel}[tag]
    inside = np.flatnonzero(scene.flowing)
    values[inside[: round(share * inside.size)]] = np.nan
    return scene


def test_clean() -> None:
    assert find(Scene().evidence()) == ()


@pytest.mark.parametrize(("share", "found"), [(0.0075, 0), (0.0125, 1), (0.33, 1)])
def test_holes_in_the_flow(share: float, found: int) -> None:
    assert len(find(holed(share).evidence())) == found


def test_the_share_is_told_and_a_watcher_is_not() -> None:
    assert "33 % of its samples" in only(find(holed(0.33, "PM-OX").evidence())).text
    assert find(holed(0.33, "PM-FUEL").evidence()) == ()
