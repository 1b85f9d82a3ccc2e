"""A source of error says all about itself, and its draws have the shape it names."""

from math import inf, nan
from pickle import dumps, loads

import numpy as np
import pytest

from headrace.uncertainty.distributions import DISTRIBUTIONS
from headrace.uncertainty.draws import draw
from headrace.uncertainty.errors_map import Errors, UnknownSource
from headrace.uncertainty.source import check_names, half_width
from support.uncertainty_models import source


@pytest.mark.parametrize(
    ("wrong", "text"),
    [
        ({"name": ""}, "needs a name"),
        ({"u": -0.1}, "0 or more"),
        ({"u": nan}, "0 or more"),
        ({"u": inf}, "0 or more"),
        ({"dist": "gauss"}, "none of normal"),
        ({"dof": 0.0}, "dof = 0"),
        ({"dof": nan}, "dof = nan"),
        ({"scope": "day"}, "none of run"),
        ({"origin": ""}, "where it comes from"),
    ],
)
def test_what_a_source_may_not_say(wrong: dict, text: str) -> None:
    with pytest.raises(ValueError, match=text):
        source(**{"name": "a", "u": 1.0, **wrong})


def test_two_sources_of_one_name_are_refused() -> None:
    with pytest.raises(ValueError, match="two sources of error are called 'a'"):
        check_names([source("a", 1.0), source("b", 1.0), source("a", 2.0)])


def test_a_shape_without_ends_has_no_half_width() -> None:
    with pytest.raises(ValueError, match="no half-width"):
        half_width(1.0, "normal")


def test_an_unknown_name_raises_and_is_never_zero() -> None:
    errors = Errors({"ox venturi C": 0.01, "barometer": 0.0})
    assert errors["ox venturi C"] == 0.01
    with pytest.raises(UnknownSource, match="'ox venturi'; near it: ox venturi C"):
        errors["ox venturi"]
    with pytest.raises(UnknownSource):
        errors.get("ox venturi", 0.0)
    assert issubclass(UnknownSource, KeyError)
    assert "ox venturi" not in errors
    assert sorted(errors) == ["barometer", "ox venturi C"]


def test_an_unknown_name_survives_the_way_back_from_another_process() -> None:
    again = loads(dumps(UnknownSource("ox", ("ox C",))))
    assert (again.name, again.near, str(again)) == ("ox", ("ox C",), str(UnknownSource("ox", ("ox C",))))


# dof, variance, kurtosis (None: not looked at), half-width in u
SHAPES = {
    "normal": (inf, 1.0, 3.0, inf),
    "rectangular": (inf, 1.0, 9 / 5, 3**0.5),
    "triangular": (inf, 1.0, 12 / 5, 6**0.5),
    "arcsine": (inf, 1.0, 3 / 2, 2**0.5),
    "t": (9.0, 9 / 7, 3 + 6 / 5, inf),
    "inexact-rectangular": (2.0, 1 + 1 / 12, None, 3**0.5 * 1.5),
}


def test_every_shape_is_looked_at() -> None:
    assert set(SHAPES) == set(DISTRIBUTIONS)


@pytest.mark.parametrize("dist", SHAPES)
def test_draws_have_the_moments_of_their_shape(dist: str) -> None:
    """Moments of the named shapes from any table of distributions; 400 000 draws."""
    dof, variance, kurtosis, end = SHAPES[dist]
    values = draw(source("x", 2.5, dist=dist, dof=dof), 11, 0, 400_000) / 2.5
    assert values.mean() == pytest.approx(0.0, abs=0.006)
    assert values.var() == pytest.approx(variance, rel=0.01)
    assert DISTRIBUTIONS[dist].variance(dof) == pytest.approx(variance, rel=1e-12)
    if kurtosis is not None:
        assert np.mean(values**4) / values.var() ** 2 == pytest.approx(
            kurtosis, rel=0.08 if dist == "t" else 0.02
        )
    if end < inf:
        assert end * 0.99 < np.abs(values).max() <= end


@pytest.mark.parametrize("dist", ["normal", "rectangular", "triangular", "arcsine"])
def test_the_fourth_moment_kept_beside_a_shape_is_that_of_its_draws(dist: str) -> None:
    values = draw(source("x", 1.0, dist=dist), 12, 0, 400_000)
    assert np.mean(values**4) == pytest.approx(DISTRIBUTIONS[dist].kurtosis, rel=0.02)


def test_shapes_of_uncertain_width_become_their_plain_ones() -> None:
    t = draw(source("x", 1.0, dist="t"), 3, 0, 1000)
    assert np.array_equal(t, draw(source("x", 1.0), 3, 0, 1000))
    wide = draw(source("x", 1.0, dist="inexact-rectangular"), 3, 0, 100_000)
    assert np.abs(wide).max() <= 3**0.5
    assert DISTRIBUTIONS["t"].variance(2.0) == inf


def test_draws_hang_on_seed_block_and_own_name_only() -> None:
    first = draw(source("x", 1.0), 3, 0, 100)
    assert np.array_equal(first, draw(source("x", 1.0), 3, 0, 100))
    for other in (
        draw(source("x", 1.0), 4, 0, 100),
        draw(source("x", 1.0), 3, 1, 100),
        draw(source("y", 1.0), 3, 0, 100),
    ):
        assert abs(np.corrcoef(first, other)[0, 1]) < 0.4
