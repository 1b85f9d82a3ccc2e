"""Propagation of distributions: blocks, executors, streams, lost draws, intervals, when to stop."""

from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from math import isnan, nan
from multiprocessing import get_context

import numpy as np
import pytest

from headrace.uncertainty.compare import compare
from headrace.uncertainty.errors_map import UnknownSource
from headrace.uncertainty.gum import gum
from headrace.uncertainty.monte_carlo import MonteCarloResult, monte_carlo
from headrace.uncertainty.one_at_a_time import one_at_a_time
from headrace.uncertainty.samples import shortest_interval, symmetric_interval, tolerance
from support.uncertainty_models import AREA_SOURCES, area_and_flow, source


def run(executor: Executor | None, **more: object) -> MonteCarloResult:
    settings = {"draws": 10_001, "block": 1000, "seed": 9, **more}
    return monte_carlo(area_and_flow, AREA_SOURCES, executor=executor, **settings)  # type: ignore[arg-type]  # mixed


def same(a: MonteCarloResult, b: MonteCarloResult) -> bool:
    return a.outputs == b.outputs and all(np.array_equal(a.samples[n], b.samples[n]) for n in a.outputs)


def test_threads_give_the_same_bits() -> None:
    alone = run(None)
    for workers in (1, 3):
        with ThreadPoolExecutor(workers) as pool:
            assert same(alone, run(pool))
            assert same(run(None, adaptive=True, digits=1), run(pool, adaptive=True, digits=1))


def test_processes_give_the_same_bits() -> None:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        assert same(run(None), run(pool))
        alone = one_at_a_time(area_and_flow, AREA_SOURCES, draws=5000)
        shared = one_at_a_time(area_and_flow, AREA_SOURCES, draws=5000, executor=pool)
        assert alone.variance["area_eff"].tolist() == shared.variance["area_eff"].tolist()


def test_blocks_are_joined_in_order_and_each_has_its_own_draws() -> None:
    long, short = run(None), run(None, draws=3000)
    assert long.draws == 10_001
    assert long.samples["m_dot"].shape == (10_001,)
    assert np.array_equal(long.samples["m_dot"][:3000], short.samples["m_dot"])
    assert np.unique(long.samples["m_dot"]).size == 10_001


def test_the_draws_of_a_source_do_not_hang_on_the_others() -> None:
    more = (source("another", 1.0), *reversed(AREA_SOURCES))
    other = monte_carlo(area_and_flow, more, draws=10_001, block=1000, seed=9)
    assert same(run(None), other)
    assert not same(run(None), run(None, seed=10))


def test_one_source_in_two_places_is_one_draw() -> None:
    drawn = monte_carlo(
        lambda e: {"ratio": (1 + e["c"]) / (1 + e["c"]), "c": e["c"]}, [source("c", 0.1)], draws=500
    )
    assert drawn.u["ratio"] == 0.0
    assert drawn.u["c"] == pytest.approx(0.1, rel=0.1)


def test_mean_u_and_covariance_are_those_of_the_samples() -> None:
    drawn = run(None)
    m_dot, area = drawn.samples["m_dot"], drawn.samples["area_eff"]
    assert drawn.mean["area_eff"] == pytest.approx(area.mean(), rel=1e-12)
    assert drawn.u["area_eff"] == pytest.approx(area.std(ddof=1), rel=1e-12)
    expected = np.cov([m_dot, area])
    assert drawn.covariance[:2, :2] == pytest.approx(expected, rel=1e-9)
    assert drawn.correlation[0, 1] == pytest.approx(np.corrcoef(m_dot, area)[0, 1], rel=1e-9)
    assert isnan(drawn.correlation[0, 2])


def test_lost_draws_are_counted_and_left_out_of_their_own_output_only() -> None:
    drawn = monte_carlo(
        lambda e: {
            "root": np.sqrt(e["a"]),
            "inverse": 1 / np.maximum(e["a"], 0),
            "plain": e["a"],
            "never": nan,
        },
        [source("a", 1.0)],
        draws=10_000,
        seed=1,
    )
    below = int(np.count_nonzero(drawn.samples["plain"] < 0))
    assert 4800 < below < 5200
    assert drawn.lost == {"root": below, "inverse": below, "plain": 0, "never": 10_000}
    assert drawn.summary["root"].count == 10_000 - below
    kept = drawn.samples["root"][drawn.samples["plain"] >= 0]
    assert drawn.mean["root"] == pytest.approx(kept.mean(), rel=1e-12)
    assert drawn.interval("root")[0] >= 0
    assert all(isnan(x) for x in (drawn.mean["never"], drawn.u["never"], *drawn.interval("never")))
    both = drawn.samples["plain"] >= 0
    assert drawn.covariance[0, 2] == pytest.approx(np.cov(kept, drawn.samples["plain"][both])[0, 1], rel=1e-9)


def test_an_undeclared_source_raises() -> None:
    with pytest.raises(UnknownSource, match="rho"):
        monte_carlo(area_and_flow, AREA_SOURCES[:2], draws=10)


@pytest.mark.parametrize(
    "wrong", [{"draws": 0}, {"block": 0}, {"coverage": 1.0}, {"coverage": 0.0}, {"digits": 0}]
)
def test_settings_out_of_range_raise(wrong: dict) -> None:
    with pytest.raises(ValueError, match="must be 1 or more"):
        run(None, **wrong)


def test_outputs_may_be_chosen() -> None:
    assert run(None, outputs=("area_eff",)).outputs == ("area_eff",)


def test_intervals_of_counted_draws() -> None:
    """JCGM 101:2008, 7.7: q = 95 of 100 draws, r = (100 - 95)/2 up to the next whole number = 3."""
    ordered = np.arange(1.0, 101.0)
    assert symmetric_interval(ordered, 0.95) == (3.0, 98.0)
    assert symmetric_interval(np.arange(1.0, 1001.0), 0.90) == (50.0, 950.0)
    bunched = np.concatenate([np.arange(0.0, 1.0, 0.01), np.arange(10.0, 110.0, 10.0)])
    assert shortest_interval(bunched, 0.90) == (0.0, pytest.approx(0.99))
    assert shortest_interval(-bunched[::-1], 0.90) == (pytest.approx(-0.99), 0.0)
    assert all(isnan(end) for end in symmetric_interval(np.array([1.0]), 0.95))
    with pytest.raises(ValueError, match="coverage"):
        symmetric_interval(ordered, 95.0)


@pytest.mark.parametrize(
    ("u", "digits", "half"),
    [
        (0.35, 2, 0.005),
        (0.35, 1, 0.05),
        (2.0, 1, 0.5),
        (0.0996, 2, 0.005),
        (0.0994, 2, 0.0005),
        (37e3, 2, 500.0),
        (0.0, 2, 0),
    ],
)
def test_tolerance_is_half_a_unit_of_the_last_digit(u: float, digits: int, half: float) -> None:
    assert tolerance(u, digits) == pytest.approx(half, rel=1e-12)


def test_an_adaptive_run_stops_when_its_digits_are_settled() -> None:
    settings = {"seed": 2, "draws": 20_000, "adaptive": True}
    one = monte_carlo(area_and_flow, AREA_SOURCES, digits=1, **settings)
    two = monte_carlo(area_and_flow, AREA_SOURCES, digits=2, **settings)
    assert one.settled == two.settled == {"m_dot": True, "area_eff": True, "fixed": True}
    assert one.draws < two.draws < 2_000_000
    plain = monte_carlo(area_and_flow, AREA_SOURCES, seed=2, draws=two.draws)
    assert same(two, plain)
    assert plain.settled == {}
    # what it claims holds: another, much longer run gives the same digits
    long = monte_carlo(area_and_flow, AREA_SOURCES, seed=77, draws=1_500_000)
    allowed = tolerance(two.u["area_eff"], 2)
    assert two.u["area_eff"] == pytest.approx(long.u["area_eff"], abs=allowed)
    assert two.interval("area_eff") == pytest.approx(long.interval("area_eff"), abs=1.5 * allowed)


def test_an_adaptive_run_says_when_it_did_not_get_there() -> None:
    drawn = run(None, draws=20_000, block=4096, adaptive=True, digits=3, max_draws=50_000)
    assert drawn.draws == 50_000
    assert drawn.settled == {"m_dot": False, "area_eff": False, "fixed": True}


def test_an_output_without_answers_is_not_waited_for() -> None:
    drawn = monte_carlo(lambda e: {"y": e["a"] * nan}, [source("a", 1.0)], draws=20_000, adaptive=True)
    assert drawn.draws < 40_000


def test_clause_8_agrees_for_a_linear_model_and_not_for_a_bent_one() -> None:
    sources = [source("a", 0.9), source("b", 0.4)]
    linear = lambda e: {"y": 2 + 3 * e["a"] - e["b"]}  # noqa: E731 -- a model in one line
    result, drawn = gum(linear, sources), monte_carlo(linear, sources, draws=400_000)
    told = compare(result, drawn)["y"]
    assert told.agrees
    assert told.tolerance == 0.05
    assert told.d_low == pytest.approx(abs(result.interval("y")[0] - drawn.interval("y")[0]))
    bent = lambda e: {"y": np.exp(e["a"]), "z": e["b"]}  # noqa: E731 -- a model in one line
    told_bent = compare(gum(bent, sources), monte_carlo(bent, sources, draws=400_000, outputs=["y"]))
    assert set(told_bent) == {"y"}
    assert not told_bent["y"].agrees
