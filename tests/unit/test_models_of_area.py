"""Models of E against Re: the registry, the criterion's choice, and what is undecided. Truths are planted."""

from dataclasses import replace
from math import inf, log, sqrt

import numpy as np
import pytest

from headrace.chain.models import MODELS
from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.models import SHAPE, Chosen, Spread, Terms, Tried, choose, fitted
from headrace.jobs.reduce.samples import at_zero
from headrace.jobs.reduce.weights import scatter
from headrace.records.given import Limits
from support import hand_made as made
from support.swept import WARM, E, re_of, swept, weighed

OPEN = Terms(separated=True, cause="", least_span=2.0)
RE = np.array([2e4, 3e4, 4e4, 5e4, 6e4, 9e4, 1.2e5, 1.5e5])
RUNS = np.array([0, 0, 0, 0, 1, 1, 1, 1])


def spread(setup: float = 0.003, *, noise: float = 1e-3, dof: float = inf) -> Spread:
    n = RE.size
    return Spread(sources=np.full((n, n), 0.004**2), noise=np.full(n, noise), run=RUNS, setup=setup, dof=dof)


def chosen(ln_area: np.ndarray, known: Spread | None = None, terms: Terms = OPEN) -> Chosen:
    return choose(RE, ln_area, np.full(RE.size, 1 / RE.size), known or spread(), terms)


def log_slope(slope: float) -> np.ndarray:
    return -8.0 + slope * np.log(RE / 5e4)


def inverse_root(a: float) -> np.ndarray:
    return -8.0 + np.log(1 - a / np.sqrt(RE))


# --- the registry


@pytest.mark.parametrize("model", MODELS.values(), ids=list(MODELS))
def test_every_model_is_0_at_its_reference_and_there_of_slope_1_in_ln_re(model: object) -> None:
    ref = 4e4
    assert model.basis(ref, ref) == 0
    step = model.basis(ref * np.exp(1e-4), ref) - model.basis(ref * np.exp(-1e-4), ref)
    assert step / 2e-4 == pytest.approx(0 if model.name == "constant" else 1, rel=1e-6)


def test_the_reference_is_the_mean_in_the_model_s_own_scale() -> None:
    weights = np.arange(1, RE.size + 1) / 36
    for model in MODELS.values():
        ref = model.reference(RE, weights)
        assert float(weights @ model.basis(RE, ref)) == pytest.approx(0, abs=1e-12)
    assert MODELS["slope"].reference(RE, weights) == pytest.approx(np.exp(weights @ np.log(RE)))
    assert MODELS["inverse-root"].reference(RE, weights) == pytest.approx((weights @ RE**-0.5) ** -2)


def test_the_inverse_root_is_linear_in_one_over_the_root() -> None:
    at = MODELS["inverse-root"].basis(np.array([1e4, 4e4, 1e12]), 4e4)
    assert at == pytest.approx([2 * (1 - 2), 0, 2], abs=1e-3)


# --- the choice


def test_a_flat_area_is_a_constant_and_decided() -> None:
    got = chosen(log_slope(0.0))
    assert (got.carried.model.name, got.choice, got.rivals) == ("constant", "decided", ())


@pytest.mark.parametrize(
    ("ln_area", "name"), [(log_slope(0.05), "slope"), (inverse_root(25.0), "inverse-root")]
)
def test_a_clear_planted_model_is_found(ln_area: np.ndarray, name: str) -> None:
    got = chosen(ln_area, spread(noise=2e-4))
    assert (got.carried.model.name, got.choice, got.rivals) == (name, "decided", ())
    assert got.carried.score == min(one.score for one in got.tried)


def test_slopes_that_fit_alike_leave_the_better_one_carried_and_the_other_as_rival() -> None:
    got = chosen(log_slope(0.02), spread(noise=0.005))
    assert got.carried.model.name == "slope"
    assert (got.choice, got.rivals) == ("undecided", ("inverse-root",))
    assert "fits about as well" in got.why


def test_a_slope_between_one_and_two_of_its_u_is_undecided_and_a_constant_is_carried() -> None:
    known = spread()
    u = fitted(RE, log_slope(0.0), np.full(RE.size, 1 / RE.size), known)[1].u
    got = chosen(log_slope(1.7 * u), known)
    assert (got.carried.model.name, got.choice) == ("constant", "undecided")
    assert "slope" in got.rivals
    assert chosen(log_slope(0.3 * u), known).choice == "decided"


def test_no_slope_is_carried_below_the_owner_s_least_span() -> None:
    ln_area = log_slope(0.05)
    span = RE.max() / RE.min()
    assert chosen(ln_area, terms=replace(OPEN, least_span=span * 0.99)).carried.model.name != "constant"
    got = chosen(ln_area, terms=replace(OPEN, least_span=span * 1.01))
    assert (got.carried.model.name, got.choice) == ("constant", "undecided")
    assert "limits.re_span" in got.why
    assert set(got.rivals) == {"slope", "inverse-root"}


def test_no_slope_is_carried_that_nothing_separated_or_that_is_something_else_s() -> None:
    for terms in (replace(OPEN, separated=False), replace(OPEN, cause="a zero error")):
        got = chosen(log_slope(0.05), terms=terms)
        assert (got.carried.model.name, got.choice) == ("constant", "not separated")
        assert got.rivals
    assert "a zero error" in got.why


def test_few_runs_make_the_criterion_stricter() -> None:
    """A run-to-run term with few degrees of freedom: the correction for small samples weighs a second coefficient."""
    known = spread(setup=0.01)
    sure, unsure = chosen(log_slope(0.045), known), chosen(log_slope(0.045), replace(known, dof=5.0))
    gain = [one.tried[0].score - one.tried[1].score for one in (sure, unsure)]
    n = unsure.tried[1].model and min(
        replace(known, dof=5.0).dof_of(one.row) + 1 for one in unsure.tried if one.row is not None
    )
    extra = (2 + 24 / (n - 4) - 12 / (n - 3)) - 2
    assert gain[0] - gain[1] == pytest.approx(extra, rel=1e-9)


def test_the_u_of_a_coefficient_is_that_of_the_readings_it_is_made_of() -> None:
    known = spread()
    draws = np.random.default_rng(3)
    half = np.linalg.cholesky(known.whole)
    tried = fitted(RE, log_slope(0.0), np.full(RE.size, 1 / RE.size), known)[1]
    seen = np.array([tried.row @ (half @ draws.standard_normal(RE.size)) for _ in range(4000)])
    assert tried.u == pytest.approx(seen.std(), rel=0.04)


def test_a_constant_is_left_for_a_slope_as_seldom_as_two_standard_uncertainties_say() -> None:
    """Of campaigns of constant E at most one in twenty carries a slope: 4.6 % by the normal distribution."""
    known = replace(spread(), sources=np.zeros((RE.size, RE.size)))
    half = np.linalg.cholesky(known.whole + SHAPE**2 * np.eye(RE.size))
    draws = np.random.default_rng(11)
    names = [
        chosen(-8.0 + half @ draws.standard_normal(RE.size), known).carried.model.name for _ in range(1500)
    ]
    assert 0.001 < 1 - names.count("constant") / 1500 < 0.05


# --- through the whole reduction


def test_an_inverse_root_is_carried_to_the_engine_as_it_is() -> None:
    def area(temp: float):
        return lambda dp: E * (1 - 20 / np.sqrt(np.maximum(re_of(dp, temp), 1e3)))

    runs = [
        made.metered(name, area(temp), temp=temp, p=(8 * made.BAR, 2 * made.BAR))
        for name, temp in (("W01", made.WARM), ("W02", WARM), ("W03", WARM))
    ]
    reduced = reduce(made.campaign(*runs))
    one = reduced.characteristics["ox"]
    assert (one.model, one.choice) == ("inverse-root", "decided")
    assert reduced.water.fits["ox"].model == "inverse-root"
    zero = at_zero(reduced.water.names)
    for re in (3e4, 2e5, 1e6):
        at = reduced.water.ln_areas(zero, {"ox": log(re)})["ox"][0]
        assert at == pytest.approx(log(E * (1 - 20 / sqrt(re))), abs=2e-3)
    assert one.carried.coefficient == pytest.approx(
        10 / sqrt(one.re_ref) / (1 - 20 / sqrt(one.re_ref)), rel=0.05
    )


def test_the_least_span_is_the_campaign_s() -> None:
    runs = [swept("W01", made.WARM, 0.05), swept("W02", WARM, 0.05), swept("W03", WARM, 0.05)]
    one = reduce(made.campaign(*runs)).characteristics["ox"]
    assert one.model == "slope"
    span = one.re_span[1] / one.re_span[0]
    narrow = made.campaign(*runs, limits=Limits(re_span=1.01 * span))
    one = reduce(narrow).characteristics["ox"]
    assert (one.model, one.choice) == ("constant", "undecided")


def test_an_undecided_slope_is_told_and_a_constant_carried() -> None:
    runs = [swept("W01", made.WARM, 0.006), swept("W02", WARM, 0.006), swept("W03", WARM, 0.006)]
    one = reduce(made.campaign(*runs)).characteristics["ox"]
    assert (one.model, one.choice) == ("constant", "undecided")
    assert {rival.name for rival in one.rivals} == {"slope", "inverse-root"}
    assert one.why.startswith("undecided")


def test_runs_scatter_about_the_slope_that_they_share() -> None:
    values = (0.0, 0.035, 0.0352)
    runs = [weighed(f"W0{k}", value, 0.0) for k, value in enumerate(values)]
    flat = scatter(runs, 0.003)
    along = scatter(runs, 0.003, np.array([10.0, 10.7, 10.7]))
    left = 2 * 0.0001**2
    assert flat[0] > 0.0115
    assert along[1] == inf or along[0] == pytest.approx(sqrt((4 * 0.003**2 + left) / 5), rel=1e-3)
    three = scatter([*runs, weighed("W03", 0.01, 0.0)], 0.003, np.array([10.0, 10.7, 10.7, 10.0]))
    square = 2 * 0.005**2 + 2 * 0.0001**2
    assert three[0] == pytest.approx(sqrt((4 * 0.003**2 + square) / 6), rel=1e-3)
    assert three[1] == 6


@pytest.mark.parametrize("size", [0.0, 1.0, 1.7])
def test_the_interval_at_the_engine_holds_a_planted_slope_whatever_was_decided(size: float) -> None:
    """Known truth: slopes that these runs can just not see, at four times the Re tested; gap and distance count."""
    known, weights, re_hot = spread(), np.full(RE.size, 1 / RE.size), 6e5
    truth = size * fitted(RE, log_slope(0.0), weights, known)[1].u
    half, draws = np.linalg.cholesky(known.whole), np.random.default_rng(21)
    held, gaps = [], 0
    for _ in range(500):
        ln_area = log_slope(truth) + half @ draws.standard_normal(RE.size)
        got = chosen(ln_area, known)

        def at(one: Tried) -> float:
            return one.coefficient * float(one.model.basis(re_hot, one.re_ref))

        rivals = [at(one) - at(got.carried) for one in got.tried if one.model.name in got.rivals]
        gap = max((abs(one) for one in rivals), default=0.0)
        gaps += gap > 0
        row = np.zeros(RE.size) if got.carried.row is None else got.carried.row
        whole = weights + row * float(got.carried.model.basis(re_hot, got.carried.re_ref))
        u = sqrt(known.u(whole) ** 2 + gap**2 / 3 + (0.005 * log(re_hot / RE.max())) ** 2)
        off = weights @ ln_area + at(got.carried) - (-8.0 + truth * log(re_hot / 5e4))
        held.append(abs(off) < 1.96 * u)
    assert np.mean(held) > 0.93
    assert gaps > 20


def test_slopes_are_told_apart_beyond_two_of_the_criterion() -> None:
    met = set()
    for noise in np.linspace(0.003, 0.004, 21):
        got = chosen(log_slope(0.02), spread(noise=float(noise)))
        apart = abs(got.tried[1].score - got.tried[2].score)
        assert bool(got.rivals) is (apart <= 2.0)
        met.add(apart <= 2.0)
    assert met == {True, False}


@pytest.mark.parametrize(
    ("t", "score", "competes"), [(1.42, 0.9, True), (1.41, 0.9, False), (1.42, 1.1, False)]
)
def test_a_slope_competes_by_all_readings_and_by_itself(t: float, score: float, competes: bool) -> None:
    one = Tried(model=MODELS["slope"], re_ref=1e5, row=np.ones(1), coefficient=-t, u=1.0, score=score)
    assert one.competes(1.0) is competes
