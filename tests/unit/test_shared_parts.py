"""A covariance matrix as independent parts."""

import numpy as np
import pytest

from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.monte_carlo import monte_carlo
from headrace.uncertainty.shared_parts import shared_parts
from support.uncertainty_models import SCOPE

COVARIANCE = np.array([[4.0, 1.2, -0.9], [1.2, 0.81, 0.05], [-0.9, 0.05, 2.25]])


def test_the_parts_give_the_covariance_back() -> None:
    parts = shared_parts(["p", "q", "r"], COVARIANCE, **SCOPE)
    assert parts.covariance == pytest.approx(COVARIANCE, rel=1e-12)
    assert [part.name for part in parts.sources] == ["p", "q | p", "r | p, q"]
    assert np.allclose(np.diag(parts.mix), 1)
    drawn = monte_carlo(parts.spread, parts.sources, draws=200_000, seed=1)
    assert drawn.covariance == pytest.approx(COVARIANCE, rel=0.02, abs=0.02)


def test_wholly_correlated_inputs_leave_parts_of_no_size() -> None:
    parts = shared_parts(["p", "q"], [[4.0, -6.0], [-6.0, 9.0]], **SCOPE)
    assert [part.u for part in parts.sources] == [2.0, 0.0]
    assert parts.spread(Errors({"p": 1.0, "q | p": 0.0})) == {"p": 1.0, "q": -1.5}


def test_an_input_without_variance_is_allowed() -> None:
    parts = shared_parts(["p", "q"], [[0.0, 0.0], [0.0, 9.0]], **SCOPE)
    assert parts.covariance == pytest.approx(np.diag([0.0, 9.0]))


@pytest.mark.parametrize(
    ("matrix", "text"),
    [
        ([[1.0, 2.0], [2.0, 1.0]], "negative eigenvalue"),
        ([[-1.0, 0.0], [0.0, 1.0]], "negative eigenvalue"),
        ([[0.0, 0.5], [0.5, 1.0]], "negative eigenvalue"),
        ([[1.0, 0.2], [0.1, 1.0]], "not symmetric"),
        ([[1.0, np.nan], [np.nan, 1.0]], "not symmetric"),
        ([[1.0]], "is \\(2, 2\\)"),
    ],
)
def test_what_is_no_covariance(matrix: list, text: str) -> None:
    with pytest.raises(ValueError, match=text):
        shared_parts(["p", "q"], matrix, **SCOPE)
