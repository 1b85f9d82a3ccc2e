"""Propagation of uncertainty: derivatives, rows, second order, degrees of freedom, covariance."""

from math import inf, isnan, nan, sqrt

import numpy as np
import pytest

from headrace.uncertainty.budget import head_of_pair
from headrace.uncertainty.distributions import DISTRIBUTIONS
from headrace.uncertainty.errors_map import Errors, UnknownSource
from headrace.uncertainty.gum import gum
from headrace.uncertainty.one_at_a_time import one_at_a_time
from support.uncertainty_models import AREA_SOURCES, area_and_flow, source


def test_first_order_of_a_product_is_the_derivative() -> None:
    """Hand derivatives of a**3 b + log c at (2, 3, 5)."""
    sources = [source("a", 0.02), source("b", 0.05), source("c", 0.4)]
    result = gum(lambda e: {"y": (2 + e["a"]) ** 3 * (3 + e["b"]) + np.log(5 + e["c"])}, sources)
    assert result.nominal["y"] == pytest.approx(24 + np.log(5), rel=1e-12)
    assert result.contributions[0] == pytest.approx([36 * 0.02, 8 * 0.05, 0.4 / 5], rel=1e-6)
    assert result.u["y"] == pytest.approx(sqrt(0.72**2 + 0.4**2 + 0.08**2), rel=1e-6)
    assert isnan(result.mean_shift["y"])


def test_contributions_keep_their_sign() -> None:
    result = gum(area_and_flow, AREA_SOURCES)
    rows = {row.source: row for row in result.budget("area_eff")}
    assert rows["meter"].contribution > 0 > rows["drop zero"].contribution
    assert rows["drop zero"].contribution == pytest.approx(
        -0.5 * 2.3e4 / 8.1e5 * result.nominal["area_eff"], rel=1e-5
    )


def test_a_budget_is_sorted_and_its_squares_add_up() -> None:
    for order in (1, 2):
        result = gum(area_and_flow, AREA_SOURCES, order=order)
        rows = result.budget("area_eff")
        assert [row.share for row in rows] == sorted((row.share for row in rows), reverse=True)
        assert sum(row.share for row in rows) == pytest.approx(1, rel=1e-12)
        assert sum(row.contribution**2 for row in rows) == pytest.approx(result.u["area_eff"] ** 2, rel=1e-12)
    assert rows[0].source == "drop zero"
    meter = next(row for row in rows if row.source == "meter")
    assert (meter.scope, meter.origin, meter.group) == ("shared", "invented for a test", "stand")


def test_a_constant_output_is_allowed_and_has_no_doubt() -> None:
    result = gum(area_and_flow, AREA_SOURCES, order=2)
    assert (result.nominal["fixed"], result.u["fixed"], result.dof["fixed"]) == (3.5, 0.0, inf)
    assert {row.share for row in result.budget("fixed")} == {0.0}


def test_a_source_of_no_size_adds_a_row_of_zero() -> None:
    result = gum(lambda e: {"y": 3 * e["a"] + e["b"]}, [source("a", 0.0), source("b", 1.0)])
    assert result.contributions.tolist() == [[0.0, pytest.approx(1.0)]]


def test_an_undeclared_source_raises() -> None:
    with pytest.raises(UnknownSource, match="'b'"):
        gum(lambda e: {"y": e["a"] + e["b"]}, [source("a", 1.0)])


def test_outputs_may_be_chosen_and_a_missing_one_raises() -> None:
    assert gum(area_and_flow, AREA_SOURCES, outputs=["m_dot"]).outputs == ("m_dot",)
    with pytest.raises(KeyError, match="thrust"):
        gum(area_and_flow, AREA_SOURCES, outputs=["thrust"])


def test_an_output_of_another_shape_raises() -> None:
    with pytest.raises(ValueError, match="output 'y' has shape"):
        gum(lambda e: {"y": np.ones((2, 3))}, [source("a", 1.0)])  # noqa: ARG005 -- a model takes errors


@pytest.mark.parametrize("wrong", [{"order": 3}, {"step": 0.0}, {"step_second": -1.0}])
def test_settings_out_of_range_raise(wrong: dict) -> None:
    with pytest.raises(ValueError, match=r"order|step"):
        gum(area_and_flow, AREA_SOURCES, **wrong)


def test_the_model_is_called_once_and_blocks_change_nothing() -> None:
    calls: list[int] = []

    def model(e: Errors):  # type: ignore[no-untyped-def]  # Model
        calls.append(np.size(e["meter"]))
        return area_and_flow(e)

    whole = gum(model, AREA_SOURCES, order=2)
    assert calls == [1 + 2 * 3 + 4 * 3 + 4 * 3]
    calls.clear()
    blocked = gum(model, AREA_SOURCES, order=2, columns=5)
    assert max(calls) == 5
    assert np.array_equal(whole.contributions, blocked.contributions)


def test_second_order_is_the_note_of_the_gum() -> None:
    """y = a**3 b at (2, 3): every derivative by hand, put into JCGM 100:2008, 5.1.2, note."""
    ua, ub = 0.1, 0.2
    result = gum(
        lambda e: {"y": (2 + e["a"]) ** 3 * (3 + e["b"])}, [source("a", ua), source("b", ub)], order=2
    )
    f_a, f_b, f_aa, f_ab, f_aaa, f_aab = 36.0, 8.0, 36.0, 12.0, 18.0, 12.0
    square = (f_a * ua) ** 2 + (f_b * ub) ** 2
    square += (f_aa**2 / 2 + f_a * f_aaa) * ua**4 + (f_ab**2 + f_b * f_aab) * ua**2 * ub**2
    assert result.u["y"] ** 2 == pytest.approx(square, rel=1e-6)
    rows = {row.source: row.contribution for row in result.budget("y")}
    assert rows["a × b"] == pytest.approx(f_ab * ua * ub, rel=1e-6)
    assert rows["a × a"] == pytest.approx(f_aa * ua**2 / sqrt(2), rel=1e-6)
    assert set(rows) == {"a", "b", "a × b", "a × a"}
    assert result.mean_shift["y"] == pytest.approx(f_aa * ua**2 / 2, rel=1e-6)


def test_a_negative_second_order_term_makes_a_row_smaller() -> None:
    """sin at 0.3: f f''' < 0; by the note u**2 = (c**2 + s**2 u**2 / 2 - c**2 u**2) u**2."""
    u = 0.05
    second = gum(lambda e: {"y": np.sin(0.3 + e["a"])}, [source("a", u)], order=2)
    c, s = np.cos(0.3), np.sin(0.3)
    assert second.u["y"] ** 2 == pytest.approx((c**2 + s**2 * u**2 / 2 - c**2 * u**2) * u**2, rel=1e-7)
    assert second.budget("y")[0].contribution < c * u
    assert sum(row.contribution**2 for row in second.budget("y")) == pytest.approx(
        second.u["y"] ** 2, rel=1e-12
    )


def test_where_the_note_would_take_more_than_there_is_the_first_order_stays() -> None:
    """a - a**3 with u = 1: f f''' = -6, the note alone would give u**2 = 1 - 6."""
    result = gum(lambda e: {"y": e["a"] - e["a"] ** 3}, [source("a", 1.0)], order=2)
    assert result.u["y"] == pytest.approx(1.0, rel=1e-3)


@pytest.mark.parametrize(
    ("dist", "square"), [("normal", 2.0), ("rectangular", 4 / 5), ("triangular", 7 / 5), ("arcsine", 1 / 2)]
)
def test_the_curvature_of_one_source_uses_its_own_fourth_moment(dist: str, square: float) -> None:
    """Variance of x**2 over u**4, closed form for each shape."""
    result = gum(lambda e: {"y": e["x"] ** 2}, [source("x", 0.7, dist=dist)], order=2)
    assert result.u["y"] ** 2 == pytest.approx(square * 0.7**4, rel=1e-9)
    assert result.budget("y")[0].source == "x × x"


def test_degrees_of_freedom_and_label_of_a_pair() -> None:
    a = source("a", 1.0, dof=8.0, scope="run", group="water")
    b = source("b", 1.0, dof=24.0, scope="shared", group="water")
    pair = head_of_pair(a, b)
    assert (pair.name, pair.scope, pair.group, pair.dof) == ("a × b", "shared", "water", pytest.approx(6.0))
    assert head_of_pair(a, a).dof == 2.0
    assert head_of_pair(source("c", 1.0), source("d", 1.0, group="x")).dof == inf
    assert head_of_pair(a, source("d", 1.0, group="x")).group == ""


def test_covariance_of_outputs_comes_from_what_they_share() -> None:
    result = gum(
        lambda e: {"p": 2 * e["both"] + e["one"], "q": -3 * e["both"]},
        [source("both", 0.5), source("one", 1.0)],
    )
    assert result.covariance == pytest.approx(np.array([[2.0, -1.5], [-1.5, 2.25]]), rel=1e-9)
    assert result.correlation[0, 1] == pytest.approx(-1.5 / sqrt(2 * 2.25), rel=1e-9)


def test_no_answer_at_a_step_is_nan_and_leaves_the_other_outputs() -> None:
    def model(e: Errors):  # type: ignore[no-untyped-def]  # Model
        return {
            "edge": np.sqrt(e["a"] - 1e-9),
            "log": np.log(e["a"] + 0.0),
            "fine": 2 * e["a"] + e["b"] * e["a"],
        }

    for order in (1, 2):
        result = gum(model, [source("a", 1.0), source("b", 1.0)], order=order)
        assert isnan(result.u["edge"])
        assert isnan(result.u["log"])
        assert isnan(result.expanded("edge"))
        assert all(isnan(row.share) for row in result.budget("edge") if row.source == "a")
        assert result.u["fine"] == pytest.approx(2.0 if order == 1 else sqrt(5.0), rel=1e-6)


def test_expanded_is_normal_for_known_u_and_wider_for_few_degrees_of_freedom() -> None:
    known = gum(lambda e: {"y": e["a"]}, [source("a", 2.0)])
    assert known.expanded("y") == pytest.approx(2 * 1.959964, rel=1e-6)
    few = gum(lambda e: {"y": e["a"]}, [source("a", 2.0, dof=4.0)])
    assert few.expanded("y") == pytest.approx(2 * 2.776445, rel=1e-6)  # Student's t, any table
    assert few.interval("y", 0.90)[1] == pytest.approx(2 * 2.131847, rel=1e-6)
    between = gum(lambda e: {"y": e["a"]}, [source("a", 2.0, dof=4.9)])
    assert between.expanded("y") == pytest.approx(few.expanded("y"), rel=1e-12)


def test_budget_and_one_at_a_time_monte_carlo_agree() -> None:
    result = gum(area_and_flow, AREA_SOURCES, order=2)
    drawn = one_at_a_time(area_and_flow, AREA_SOURCES, draws=100_000, seed=3)
    rows = {row.source: row.contribution for row in result.budget("area_eff")}
    for k, each in enumerate(AREA_SOURCES):
        alone = rows[each.name] ** 2 + rows.get(f"{each.name} × {each.name}", 0.0) ** 2
        alone *= DISTRIBUTIONS[each.dist].variance(each.dof)
        error = drawn.sampling_error["area_eff"][k]
        assert abs(drawn.variance["area_eff"][k] - alone) < 4 * error
        assert error < 0.02 * alone  # so that a row wrong by a few per cent is seen
    assert drawn.variance["fixed"].tolist() == [0, 0, 0]
    assert drawn.variance["m_dot"][1] == pytest.approx(0, abs=1e-25)


def test_one_at_a_time_counts_what_it_loses() -> None:
    drawn = one_at_a_time(
        lambda e: {"y": np.sqrt(e["a"] + e["b"])}, [source("a", 1.0), source("b", 0.0)], draws=1000
    )
    assert 400 < drawn.lost["y"][0] < 600
    assert drawn.lost["y"][1] == 0
    assert not isnan(drawn.variance["y"][0])
    assert isnan(one_at_a_time(lambda e: {"y": e["a"] * nan}, [source("a", 1.0)], draws=100).variance["y"][0])
