"""Meters by the points of their certificates, turbines by their pulses, the wandering zero of a Coriolis tube."""

import datetime
from dataclasses import replace
from math import pi, sqrt
from typing import Any

import numpy as np
import pytest

from headrace.bench.meters import METERS
from headrace.bench.meters.base import Built, Working
from headrace.bench.meters.turbine import THICKER
from headrace.jobs.reduce.meter_scope import out_of_scope
from headrace.physics.hydraulics.limits import Breach
from headrace.records.given import Accuracy, Certificate, MeterGiven, Stated
from headrace.uncertainty.draws import draw
from headrace.uncertainty.errors_map import Errors
from support.run_evidence import only

RHO, MU, BORE, THROAT = 998.2, 1.0e-3, 0.0525, 0.02625
DAY = datetime.date(2026, 1, 2)
POINTS = ((2e4, 0.965), (6e4, 0.982), (2e5, 0.990))
BOOK = Certificate(
    id="C", date=DAY, accuracy=Accuracy(of_reading=1.5e-3, dist="normal"), points=POINTS, over="re"
)
BORES = {"d_pipe": Stated(value=BORE), "d_throat": Stated(value=THROAT)}
C = {"c": Stated(value=0.5, u=0.1)}  # a number that must not matter beside points


def build(kind: str, values: dict[str, Stated], book: Certificate | None = BOOK, **at: Any) -> Built:
    meter = MeterGiven(
        id="FM", kind=kind, values=values, instruments={}, certificate=None if book is None else "C"
    )
    books = {} if book is None else {"C": book}
    return METERS[kind].build(
        meter, certificates=books, references={}, re_pipe=(3e5, 3e5), at=Working(run="W01", **at)
    )


def m_dot(built: Built, signal: Any, mu: float = MU, **errors: Any) -> np.ndarray:
    zero: dict[str, Any] = dict.fromkeys((one.name for one in built.sources), 0.0)
    assert set(errors) <= set(zero)
    shown = np.atleast_2d(np.asarray(signal, dtype=float)).T
    return built.law.m_dot(Errors(zero | errors), signal=shown, rho=np.full_like(shown, RHO), mu=mu)


def u_of(built: Built) -> dict[str, float]:
    return {one.name: one.u for one in built.sources}


FLOWS = np.array([0.9, 1.6, 3.0, 6.0, 8.0, 9.5])
"""From below the first point (Re 22 000 to 230 000) to above the last."""


def coefficient(flow: float, mu: float) -> float:
    """Straight lines between the points, held outside; written out."""
    re = 4 * flow / (pi * BORE * mu)
    if re <= 2e4:
        return 0.965
    if re <= 6e4:
        return 0.965 + (re - 2e4) / 4e4 * 0.017
    return 0.982 + min((re - 6e4) / 1.4e5, 1.0) * 0.008


@pytest.mark.parametrize("kind", ["venturi-machined", "venturi-calibrated", "orifice-corner"])
@pytest.mark.parametrize("mu", [1.0e-3, 2.2e-3])
def test_a_coefficient_over_reynolds_number_gives_the_true_flow_back(kind: str, mu: float) -> None:
    """Known truth: the drop of a flow by ISO 5167-1, equation (1), with the coefficient at its own Reynolds number."""
    built = build(kind, BORES | (C if kind == "venturi-calibrated" else {}))
    area, beta = pi / 4 * THROAT**2, THROAT / BORE
    dp = [(flow / coefficient(flow, mu) / area) ** 2 * (1 - beta**4) / 2 / RHO for flow in FLOWS]
    np.testing.assert_allclose(m_dot(built, dp, mu)[:, 0], FLOWS, rtol=1e-9)
    assert u_of(built)["FM.c"] == 1.5e-3
    np.testing.assert_allclose(m_dot(built, dp, mu, **{"FM.c": 0.01})[:, 0] / FLOWS, 1.01, rtol=3e-4)


@pytest.mark.parametrize(
    ("re", "beyond"), [((3e4, 1.9e5), 0), ((1.9e4, 1e5), 1), ((3e4, 2.1e5), 1), (None, 0)]
)
def test_outside_its_points_a_meter_says_so(re: tuple[float, float] | None, beyond: int) -> None:
    built = build("venturi-machined", BORES, re=re)
    assert [one.quantity for one in built.beyond] == ["re"] * beyond
    assert not built.outside
    if beyond:
        notice = only(out_of_scope([("W01", "FM", "points", built.beyond[0])]))
        assert "held as at the nearest end" in notice.text
        assert "certificate C" in notice.limit


def test_points_of_a_mass_flow_meter_run_over_what_it_shows() -> None:
    book = replace(BOOK, points=((1.0, 1.01), (5.0, 0.998)), over="mass_flow")
    built = build("mass-flow", {"factor": Stated(value=2.0)}, book, signal=(0.5, 4.0))
    np.testing.assert_allclose(m_dot(built, [1.0, 3.0, 7.0])[:, 0], [1.01, 3 * 1.004, 7 * 0.998], rtol=1e-12)
    assert [(one.quantity, one.found) for one in built.beyond] == [("mass_flow", 0.5)]


# --- turbine

K = {"k": Stated(value=1.24e6, u=3.1e3, dist="normal")}  # 1240 pulses a litre
CURVE = replace(BOOK, points=((100.0, 1.20e6), (400.0, 1.24e6), (1600.0, 1.25e6)), over="frequency")


def test_a_turbine_by_one_number_of_pulses() -> None:
    built = build("turbine", K, None)
    np.testing.assert_allclose(m_dot(built, [620.0, 1240.0])[:, 0], [RHO * 5e-4, RHO * 1e-3], rtol=1e-12)
    assert u_of(built) == {"FM.k": pytest.approx(0.0025)}
    np.testing.assert_allclose(m_dot(built, [620.0], **{"FM.k": 0.01})[0, 0], RHO * 5e-4 / 1.01, rtol=1e-12)


def test_a_turbine_by_points_over_frequency() -> None:
    built = build("turbine", K, CURVE, signal=(90.0, 1500.0))
    wanted = [RHO * f / k for f, k in ((50.0, 1.20e6), (250.0, 1.22e6), (1000.0, 1.245e6), (3000.0, 1.25e6))]
    np.testing.assert_allclose(m_dot(built, [50.0, 250.0, 1000.0, 3000.0])[:, 0], wanted, rtol=1e-12)
    assert [(one.quantity, one.found, one.low) for one in built.beyond] == [("frequency", 90.0, 100.0)]
    gas = build("turbine", K, CURVE, signal=(200.0, 2500.0))
    assert [(one.found, one.high) for one in gas.beyond] == [(2500.0, 1600.0)]


@pytest.mark.parametrize("over", ["volume_flow", "re"])
@pytest.mark.parametrize("mu", [1.0e-3, 1.6e-3])
def test_a_turbine_by_points_over_flow_or_reynolds_number(over: str, mu: float) -> None:
    """Known truth: the pulses of a flow by K at that flow (or its Reynolds number), looked up beforehand."""
    ends = {"volume_flow": (2e-4, 2e-3), "re": (1e4, 1e5)}[over]
    book = replace(BOOK, points=((ends[0], 1.20e6), (ends[1], 1.25e6)), over=over)
    built = build("turbine", K | {"d_pipe": Stated(value=0.0254)}, book)
    volume = np.array([4e-4, 9e-4, 1.7e-3])
    at = volume if over == "volume_flow" else 4 * volume * RHO / (pi * 0.0254 * mu)
    k = 1.20e6 + np.minimum((at - ends[0]) / (ends[1] - ends[0]), 1.0) * 0.05e6
    np.testing.assert_allclose(m_dot(built, volume * k, mu)[:, 0], volume * RHO, rtol=1e-9)


def test_another_viscosity_than_in_the_calibration() -> None:
    values = K | {"nu": Stated(value=1e-6)}
    assert THICKER == 1.2
    assert not build("turbine", values, CURVE, nu=1.18e-6).beyond
    assert not build("turbine", values, CURVE, nu=0.85e-6).beyond
    assert not build("turbine", K, CURVE, nu=9e-6).beyond
    assert not build("turbine", values, replace(CURVE, over="re"), nu=9e-6).beyond
    for nu in (1.22e-6, 0.82e-6):
        assert [(one.quantity, one.found) for one in build("turbine", values, CURVE, nu=nu).beyond] == [
            ("nu", nu)
        ]


def test_linearity_is_the_meter_s_and_repeatability_the_run_s() -> None:
    values = K | {"linearity": Stated(value=0.0025), "repeatability": Stated(value=0.0005)}
    built = build("turbine", values, None)
    assert u_of(built) == {
        "FM.k": pytest.approx(0.0025),
        "FM.linearity": pytest.approx(0.0025 / sqrt(3)),
        "W01.FM.repeatability": pytest.approx(0.0005 / sqrt(3)),
    }
    scopes = {one.name: one.scope for one in built.sources}
    assert (scopes["FM.linearity"], scopes["W01.FM.repeatability"]) == ("instrument", "run")
    moved = m_dot(built, [620.0], **{"FM.linearity": 0.002, "W01.FM.repeatability": 0.001})
    assert moved[0, 0] == pytest.approx(RHO * 5e-4 / 1.003, rel=1e-12)


# --- Coriolis

TUBE = {"factor": Stated(value=1.0, u=0.001, dist="normal"), "zero_stability": Stated(value=0.004)}


def test_the_zero_of_a_tube_is_so_many_kg_per_second_whatever_flows() -> None:
    built = build("mass-flow", TUBE, None)
    assert u_of(built) == {"FM.factor": pytest.approx(0.001), "FM.zero": pytest.approx(0.004 / sqrt(3))}
    moved = m_dot(built, [0.5, 4.0], **{"FM.zero": 0.004}) - m_dot(built, [0.5, 4.0])
    np.testing.assert_allclose(moved, 0.004, rtol=1e-12)
    zeroed = build("mass-flow", TUBE, None, zeroed=True)
    scopes = {one.name: one.scope for one in (*built.sources, *zeroed.sources)}
    assert (scopes["FM.zero"], scopes["W01.FM.zero"]) == ("instrument", "run")


def test_flows_of_a_drawn_tube_spread_as_is_claimed() -> None:
    """Known truth: a tube with its own factor and zero, simulated, against the claim at a low and at a high flow."""
    built, n = build("mass-flow", TUBE, None), 40_000
    claimed = m_dot(built, [0.5, 4.0], **{one.name: draw(one, 3, 0, n) for one in built.sources})
    dice = np.random.default_rng(8)
    factor, zero = dice.normal(1.0, 0.001, n), dice.uniform(-0.004, 0.004, n)
    true = np.array([[0.5], [4.0]]) * factor + zero * factor
    np.testing.assert_allclose(np.std(claimed, axis=1), np.std(true, axis=1), rtol=0.015)


def test_scope_words_for_every_way_out() -> None:
    breach = Breach(quantity="nu", found=2e-6, low=1e-6, high=1.2e-6, source="viscosity of its calibration")
    texts = [only(out_of_scope([("W01", "FM", way, breach)])).text for way in ("own", "wider", "points")]
    assert len(set(texts)) == 3
