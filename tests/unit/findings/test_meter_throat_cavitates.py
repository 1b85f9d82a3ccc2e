"""The throat of the meter against the vapour pressure."""

import numpy as np
import pytest

from headrace.findings.meter_throat_cavitates import find
from headrace.notices import Severity
from support.run_evidence import P_VAP, Scene, only


def of(throat: float) -> Scene:
    scene = Scene()
    scene.throat = np.full(scene.time.size, throat)
    return scene


@pytest.mark.parametrize(
    ("above", "severity"),
    [(0.31e5, None), (0.29e5, Severity.DOUBT), (10.0, Severity.DOUBT), (-10.0, Severity.STOP)],
)
def test_limits(above: float, severity: Severity | None) -> None:
    assert [one.severity for one in find(of(P_VAP + above).evidence())] == (
        [] if severity is None else [severity]
    )


def test_one_spike_is_none_and_outside_the_window_does_not_count() -> None:
    scene = of(3e5)
    assert scene.throat is not None
    scene.throat[250:254] = 0.0
    scene.throat[:110] = 0.0
    assert find(scene.evidence()) == ()


@pytest.mark.parametrize(("drop", "found"), [(7.0e5, 0), (7.4e5, 1)])
def test_without_upstream_pressure_the_tap_bounds_it(drop: float, found: int) -> None:
    scene = Scene()
    assert find(scene.evidence()) == ()
    scene.p_tap = np.where(scene.flowing, 4.7e5, 0.0)  # leaves 5.7 bar(a): 0.8 of the drop must stay below it
    scene.dp_meter = np.where(scene.flowing, drop, 0.0)
    notices = find(scene.evidence())
    assert len(notices) == found
    assert all(one.severity is Severity.DOUBT and "p_up" in one.try_ for one in notices)


def test_words() -> None:
    text = only(find(of(0.1e5).evidence())).text
    assert "0.10 bar(a)" in text
    assert "0.019 bar(a)" in text
