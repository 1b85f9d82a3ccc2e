"""Fits, means, series and quantiles: what the published cases leave open."""

from math import inf, isnan, nan

import numpy as np
import pytest
from scipy.signal import lfilter

from headrace.errors import NoAnswer, OutOfDomain
from headrace.stats.linear import least_squares_map, straight_line
from headrace.stats.means import pooled_sd, weighted_mean
from headrace.stats.quantiles import chi2_above, normal_quantile, t_quantile, t_two_sided
from headrace.stats.series import effective_size, lag_one, memory, series_mean
from headrace.stats.slope import slope_test
from headrace.stats.through_origin import line_through_origin
from headrace.stats.york import york_line

X = np.array([0.3, 1.1, 2.7, 3.2, 5.9])
Y = np.array([1.2, 0.7, 3.9, 4.4, 7.1])


def test_a_weight_of_two_is_the_point_twice() -> None:
    weighted = least_squares_map(straight_line(X), [1, 2, 1, 1, 1])
    twice = least_squares_map(straight_line(np.insert(X, 1, X[1])))
    assert weighted.coefficients(Y) == pytest.approx(twice.coefficients(np.insert(Y, 1, Y[1])), rel=1e-12)
    assert weighted.chi2(Y) == pytest.approx(twice.chi2(np.insert(Y, 1, Y[1])), rel=1e-12)


def test_the_map_serves_all_draws_at_once() -> None:
    fit = least_squares_map(straight_line(X), 1 / (0.1 + X))
    draws = Y[:, None] + np.random.default_rng(3).normal(size=(5, 7))
    together = fit.coefficients(draws)
    assert together.shape == (2, 7)
    assert together[:, 4] == pytest.approx(fit.coefficients(draws[:, 4]), rel=1e-12)
    assert fit.residuals(draws).shape == (5, 7)


def test_covariance_is_that_of_any_given_variances() -> None:
    """With weights 1/v it is the inverse of the normal matrix; a shared error is carried whole."""
    v = np.array([0.1, 0.4, 0.2, 0.9, 0.3])
    design = straight_line(X)
    fit = least_squares_map(design, 1 / v)
    assert fit.covariance(v) == pytest.approx(np.linalg.inv(design.T @ np.diag(1 / v) @ design), rel=1e-10)
    assert fit.covariance(np.full((5, 5), 0.04)) == pytest.approx(np.array([[0.04, 0], [0, 0]]), abs=1e-12)


def test_the_origin_of_a_line_moves_its_intercept_only() -> None:
    there = least_squares_map(straight_line(X, 2.0)).coefficients(Y)
    here = least_squares_map(straight_line(X)).coefficients(Y)
    assert there == pytest.approx([here[0] + 2 * here[1], here[1]], rel=1e-12)


@pytest.mark.parametrize(
    ("design", "weights"),
    [
        (np.ones((3, 2)), None),
        (np.ones((1, 2)), None),
        (np.ones(3), None),
        (np.array([[1.0, 0.0], [1.0, 0.0]]), None),
        (straight_line([1.0, 2.0, nan]), None),
        (straight_line(X), [1, 1, 1, 1, 0]),
        (straight_line(X), [1, 1, 1, 1, nan]),
        (straight_line(X), [1, 1]),
    ],
)
def test_designs_and_weights_that_are_refused(design: np.ndarray, weights: list | None) -> None:
    with pytest.raises(OutOfDomain, match=r"design|weights"):
        least_squares_map(design, weights)


def test_variances_that_are_refused() -> None:
    fit = least_squares_map(straight_line(X))
    for wrong in ([1, 1, 1, 1, -1], [1, 1], [1, 1, 1, 1, nan]):
        with pytest.raises(OutOfDomain, match="variances"):
            fit.covariance(wrong)
    with pytest.raises(OutOfDomain, match="degrees of freedom"):
        least_squares_map(straight_line([1.0, 2.0])).residual_sd([1.0, 2.0])


U_X, U_Y = np.array([0.1, 0.2, 0.05, 0.3, 0.1]), np.array([0.2, 0.1, 0.3, 0.15, 0.2])


def test_york_does_not_care_which_axis_is_called_x() -> None:
    line = york_line(x=X, y=Y, u_x=U_X, u_y=U_Y)
    turned = york_line(x=Y, y=X, u_x=U_Y, u_y=U_X)
    assert turned.slope == pytest.approx(1 / line.slope, rel=1e-10)
    assert turned.intercept == pytest.approx(-line.intercept / line.slope, rel=1e-10)
    assert turned.chi2 == pytest.approx(line.chi2, rel=1e-10)


def test_york_follows_correlated_errors_through_a_shear() -> None:
    """y + c x has slope b + c, and errors correlated through x: an identity of the method."""
    c = 0.7
    line = york_line(x=X, y=Y, u_x=U_X, u_y=U_Y)
    u_sheared = np.hypot(U_Y, c * U_X)
    sheared = york_line(x=X, y=Y + c * X, u_x=U_X, u_y=u_sheared, correlation=c * U_X / u_sheared)
    assert sheared.slope == pytest.approx(line.slope + c, rel=1e-10)
    assert sheared.intercept == pytest.approx(line.intercept, rel=1e-9)
    assert sheared.u_slope == pytest.approx(line.u_slope, rel=1e-9)


def test_york_with_exact_x_is_weighted_least_squares() -> None:
    line = york_line(x=X, y=Y, u_x=1e-9, u_y=U_Y)
    fit = least_squares_map(straight_line(X), U_Y**-2)
    assert (line.intercept, line.slope) == pytest.approx(tuple(fit.coefficients(Y)), rel=1e-8)
    covariance = fit.covariance(U_Y**2)
    assert (line.u_intercept, line.u_slope) == pytest.approx(tuple(np.sqrt(np.diag(covariance))), rel=1e-7)
    assert line.covariance == pytest.approx(covariance[0, 1], rel=1e-7)


@pytest.mark.parametrize(
    "wrong",
    [
        {"u_x": 0.0},
        {"u_y": -0.1},
        {"u_y": nan},
        {"x": X * nan},
        {"x": X * 0 + 1},
        {"x": X[:1], "y": Y[:1], "u_x": 0.1, "u_y": 0.1},
        {"correlation": 1.0},
    ],
)
def test_york_refuses(wrong: dict) -> None:
    with pytest.raises(OutOfDomain):
        york_line(**{"x": X, "y": Y, "u_x": U_X, "u_y": U_Y, **wrong})


def test_two_points_have_a_york_line_but_no_scatter() -> None:
    line = york_line(x=[0.0, 1.0], y=[1.0, 3.0], u_x=0.1, u_y=0.1)
    assert line.slope == pytest.approx(2.0)
    with pytest.raises(OutOfDomain, match="degrees of freedom"):
        _ = line.scaled


def test_a_line_along_y_has_no_answer() -> None:
    with pytest.raises(NoAnswer):
        york_line(x=[-1.0, 1.0, 1.0, -1.0], y=[-5.0, -5.0, 5.0, 5.0], u_x=1.0, u_y=1e-3)


def test_means_refuse_nonsense_and_admit_a_single_value() -> None:
    single = weighted_mean([3.0], [0.2])
    assert (single.mean, single.u_internal, single.dof) == (3.0, pytest.approx(0.2), 0)
    assert isnan(single.birge)
    for values, u in (([], []), ([1.0], [0.0]), ([nan], [1.0]), ([1.0, 2.0], [1.0])):
        with pytest.raises(OutOfDomain):
            weighted_mean(values, u)
    for sds, dofs in (([], []), ([-1.0], [3]), ([1.0], [0]), ([1.0], [inf]), ([nan], [1])):
        with pytest.raises(OutOfDomain):
            pooled_sd(sds, dofs)
    with pytest.raises(OutOfDomain):
        line_through_origin(x=[0.0, 0.0], y=[1.0, 2.0])
    with pytest.raises(OutOfDomain):
        line_through_origin(x=[1.0], y=[1.0])


def test_a_weighted_line_through_the_origin() -> None:
    line = line_through_origin(x=[1.0, 2.0, 4.0], y=[1.1, 1.9, 4.3], weights=[4.0, 2.0, 1.0])
    assert line.slope == pytest.approx((4.4 + 7.6 + 17.2) / (4 + 8 + 16), rel=1e-12)


def series(rng: np.random.Generator, n: int, r: float, count: int) -> np.ndarray:
    """First-order autoregressive series of unit variance, after its start has been forgotten."""
    noise = rng.standard_normal((count, n + 400)) * np.sqrt(1 - r**2)
    return lfilter([1.0], [1.0, -r], noise, axis=1)[:, 400:]


@pytest.mark.parametrize(("n", "r"), [(30, 0.0), (40, 0.5), (200, 0.8), (1000, 0.95)])
def test_the_interval_of_a_remembering_series_covers(n: int, r: float) -> None:
    found = [series_mean(x) for x in series(np.random.default_rng(6), n, r, 600)]
    hits = np.mean([abs(s.mean) <= t_quantile(0.975, s.dof) * s.u for s in found])
    assert 0.92 <= hits <= 0.985
    assert np.mean([s.sd**2 for s in found]) == pytest.approx(1.0, rel=0.2)


@pytest.mark.parametrize(("n", "r"), [(25, 0.3), (60, 0.7), (300, 0.9)])
def test_lag_one_is_not_biased_in_short_series(n: int, r: float) -> None:
    found = np.mean([lag_one(x) for x in series(np.random.default_rng(8), n, r, 800)])
    assert found == pytest.approx(r, abs=0.035)


def test_a_slow_wobble_under_quick_noise_is_not_missed() -> None:
    """Invented: half the variance with memory (1 + 0.98)/(1 - 0.98) = 99, half white; together about 50."""
    rng = np.random.default_rng(5)
    slow, quick = series(rng, 20_000, 0.98, 20), rng.standard_normal((20, 20_000))
    found = np.mean([memory(a + b) for a, b in zip(slow, quick, strict=True)])
    assert found == pytest.approx(50, rel=0.25)
    assert (1 + lag_one(slow[0] + quick[0])) / (1 - lag_one(slow[0] + quick[0])) < 5


def test_series_never_claim_more_than_they_have() -> None:
    up_down = np.tile([1.0, 2.0], 100)
    assert series_mean(up_down).n_eff == 200
    assert series_mean(up_down[:8]).sd == pytest.approx(np.std(up_down[:8], ddof=1), rel=1e-12)
    ramp = series_mean(np.arange(30.0))
    assert (ramp.n_eff, ramp.dof) == (2.0, 1.0)
    assert ramp.memory > 15
    flat = series_mean(np.full(10, 4.2))
    assert (flat.mean, flat.u) == pytest.approx((4.2, 0.0), abs=1e-12)
    assert flat.n_eff == 10
    for wrong in ([1.0] * 5, [1.0] * 9 + [nan], [[1.0] * 9]):
        with pytest.raises(OutOfDomain, match="samples"):
            series_mean(wrong)
    for n, r in ((0, 0.5), (10, 1.0), (10, -1.0), (nan, 0.5)):
        with pytest.raises(OutOfDomain):
            effective_size(n, r)


def test_slope_is_tested_against_its_scatter() -> None:
    """Invented points; t by the textbook formula r sqrt(n - 2)/sqrt(1 - r**2)."""
    test = slope_test(x=X, y=Y)
    r = np.corrcoef(X, Y)[0, 1]
    assert test.t == pytest.approx(r * np.sqrt(3 / (1 - r**2)), rel=1e-10)
    assert test.dof == 3
    assert test.p == pytest.approx(t_two_sided(test.t, 3), rel=1e-12)
    flat = slope_test(x=X, y=np.full(5, 2.0))
    assert flat.p > 0.05
    for wrong in ({"x": X[:2], "y": Y[:2]}, {"x": X * 0, "y": Y}, {"x": X, "y": Y * nan}):
        with pytest.raises(OutOfDomain):
            slope_test(**wrong)


def test_quantiles_of_any_table() -> None:
    assert normal_quantile(0.975) == pytest.approx(1.959964, abs=1e-6)
    assert t_quantile([0.975, 0.975], [4, inf]) == pytest.approx([2.776445, 1.959964], abs=1e-6)
    assert t_two_sided(-2.776445, 4) == pytest.approx(0.05, abs=1e-7)
    assert chi2_above(9.487729, 4) == pytest.approx(0.05, abs=1e-7)
