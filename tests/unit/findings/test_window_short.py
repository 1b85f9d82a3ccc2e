"""A window too short, with inertia, or with a trend that the instruments do not explain."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.bench.instruments import Conditions, Zero
from headrace.findings.evidence import RunEvidence
from headrace.findings.window_short import find
from headrace.jobs.reduce.context import Context
from headrace.jobs.reduce.methods import METHODS
from headrace.notices import Severity
from headrace.records.effects import Effects
from headrace.records.given import Accuracy, Stated
from support import hand_made as made
from support.run_evidence import Scene, only


def test_clean() -> None:
    assert find(Scene().evidence()) == ()


@pytest.mark.parametrize(("end", "found"), [(4.45, 0), (4.35, 1)])
def test_length(end: float, found: int) -> None:
    scene = Scene()
    scene.window = replace(scene.window, end=end)
    scene.on = (2.0, 4.5)
    notices = find(scene.evidence())
    assert len(notices) == found
    assert all("1.95 s long" in one.text and one.severity is Severity.DOUBT for one in notices)


@pytest.mark.parametrize(("start", "found"), [(4.3, 0), (4.4, 1)])
def test_flow_that_is_left_out_is_told(start: float, found: int) -> None:
    # 8 s of flow, the window ends at 9.7 s: two thirds of it are 5.33 s
    scene = Scene()
    scene.window = replace(scene.window, start=start)
    notices = find(scene.evidence())
    assert len(notices) == found
    assert all("2.70 s of 8.00 s of flow are left out, 2.40 s before" in one.text for one in notices)
    scene.window = replace(scene.window, chosen="typed: as agreed")
    assert find(scene.evidence()) == ()


def test_flow_that_gas_spoilt_is_no_flow_left_out() -> None:
    scene = Scene()
    late = (scene.time > 6.0) & scene.flowing
    gas = 1 + 0.05 * np.random.default_rng(5).normal(0, 1, scene.time.size)
    scene.window = replace(scene.window, end=6.0)
    assert "left out" in only(find(scene.evidence())).text
    scene.dp_meter = np.where(late, scene.dp_meter * gas, scene.dp_meter)
    assert find(scene.evidence()) == ()


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


def under(scene: Scene, tag: str, effects: Effects, conditions: Conditions) -> RunEvidence:
    """The scene with what one instrument states, and what it worked under at both ends of the window."""
    scene.instruments[tag] = replace(scene.instruments[tag], effects=effects)
    whole = scene.evidence()
    stream = replace(whole.streams["ox"], at_ends={tag: conditions})
    found: RunEvidence = replace(whole, streams={"ox": stream})
    return found


@pytest.mark.parametrize(("warm", "found"), [(0.0, 1), (8.5, 1), (11.5, 0)])
def test_what_heat_does_to_a_zero_is_an_excuse(warm: float, found: int) -> None:
    # as above, 0.4 % is 2 u at 4.46 kPa, here 446 Pa/K over 10 K; no zero was taken
    scene = drifting(0.004)
    del scene.zeros["PM-OX"]
    effects = Effects(zero_per_kelvin=Accuracy(absolute=446.0, text="446 Pa/K"), reference_temp=293.15)
    air = Conditions(body_temp=Stated(value=293.15 + warm))
    assert len(find(under(scene, "PM-OX", effects, air))) == found


@pytest.mark.parametrize(("u", "found"), [(2.4e-8, 1), (3.0e-8, 0)])
def test_what_line_pressure_does_to_a_span_is_an_excuse(u: float, found: int) -> None:
    # half of u per Pa over the fall of the line pressure, 150 kPa: 0.4 % is 2 u at 2.67e-8 per Pa
    effects = Effects(span_per_pascal=Accuracy(of_reading=u, text="of reading"))
    scene = drifting(0.004)
    ends = np.array(
        [4.9e5, 4.9e5 - 1.5e5 * 0.8]
    )  # the middles of the outer fifths lie 0.8 of the window apart
    assert len(find(under(scene, "DP-A", effects, Conditions(p_line=ends)))) == found
    level = Conditions(p_line=np.full(2, 4.9e5))
    assert len(find(under(drifting(0.004), "DP-A", effects, level))) == 1  # the same at both ends is none


def test_a_metered_run_says_what_it_worked_under() -> None:
    """Conditions reach the finding from a run: warmth as stated, the course of every channel at either end."""
    run = replace(made.metered("W01", 2.31e-4), air_temperature=Stated(value=300.0))
    context = Context(campaign=made.campaign(run), run=run)
    evidence = METHODS["metered"](context, run.flows[0]).evidence
    assert evidence is not None
    assert set(evidence.at_ends) >= {evidence.flow.p_tap}
    for one in evidence.at_ends.values():
        assert one.body_temp == Stated(value=300.0)
        assert one.travel is not None
        assert one.travel.shape == (2,)
    tap = evidence.at_ends[evidence.flow.p_tap].travel
    assert tap is not None
    assert tap[1] > tap[0]  # it fell
