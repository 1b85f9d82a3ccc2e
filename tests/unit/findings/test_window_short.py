"""A window too short, with inertia, or with a trend that the instruments do not explain."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.bench.instruments import Zero
from headrace.findings.window_short import find
from headrace.notices import Severity
from support.run_evidence import Scene, only


def test_clean() -> None:
    assert find(Scene().evidence()) == ()


@pytest.mark.parametrize(("end", "found"), [(4.45, 0), (4.35, 1)])
def test_length(end: float, found: int) -> None:
    scene = Scene()
    scene.window = replace(scene.window, end=end)
    notices = find(scene.evidence())
    assert len(notices) == found
    assert all("1.95 s long" in one.text and one.severity is Severity.DOUBT for one in notices)


@pytest.mark.parametrize(("factor", "found"), [(0.95, 0), (1.06, 1)])
def test_inertia(factor: float, found: int) -> None:
    # m_dot = E sqrt(2 rho dp), dp falling by 5 % a second: |dm/dt| = 0.025 m, m = 0.002 dp / 0.025 / (L/A) at the limit
    scene = Scene()
    m_first = 2.31e-4 * np.sqrt(2 * 998.6 * 3.4e5)
    scene.inertance = (
        factor * 0.002 * 3.4e5 / (0.025 * m_first)
    )  # strongest where the drop is least, at the end
    notices = find(scene.evidence())
    assert len(notices) == found
    assert all("inertia" in one.text for one in notices)


def drifting(change: float) -> Scene:
    scene = Scene()
    scene.dp_meter = scene.dp_meter * np.exp(2 * change * (scene.time - 6.0) / 7.3)
    return scene


@pytest.mark.parametrize(("change", "found"), [(0.0028, 0), (0.0033, 1), (-0.0033, 1)])
def test_trend(change: float, found: int) -> None:
    notices = find(drifting(change).evidence())
    assert len(notices) == found
    assert all(dict(one.facts)["trend"] == pytest.approx(change, rel=0.05) for one in notices)


def test_what_a_doubtful_zero_explains_is_no_trend() -> None:
    scene = drifting(0.004)
    assert "zero of one channel" in only(find(scene.evidence())).try_


@pytest.mark.parametrize(("u_zero", "found"), [(3.9e3, 1), (4.9e3, 0)])
def test_two_standard_uncertainties(u_zero: float, found: int) -> None:
    # half of u (1/p_last - 1/p_first), the fifths at both ends a fifth apart: 4.48e-7 per Pa; 0.4 % is 2 u at 4.46 kPa
    scene = drifting(0.004)
    scene.zeros["PM-OX"] = Zero(before=0.0, after=0.0, u=u_zero)
    assert len(find(scene.evidence())) == found
