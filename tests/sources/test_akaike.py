"""The criterion that chooses between models of E against Re, against printed values and closed forms.

Printed values, seen in public copies: a mailing-list answer of December 2004 on how parameters are counted for AIC and
AICc (three points, a constant and a line); the two-group plant-growth example of R's `lm` (20 observations, ln L
-20.08824 on 3 parameters; the page prints AIC 46.17468, two digits swapped: 2 x 20.08824 + 6 is 46.17648). R's page on
`extractAIC` (seen) says that with a known scale the criterion is the residual sum of squares over it plus twice the
number of coefficients, Mallows' Cp up to a constant.
"""

from math import inf, log, pi

import numpy as np
import pytest

from headrace.errors import OutOfDomain
from headrace.stats.criterion import aicc
from headrace.stats.gls import Known, generalised
from headrace.stats.linear import least_squares_map, straight_line

CONTROL = (4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14)
TREATED = (4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89, 4.32, 4.69)


def minus_two_ln_l(rss: float, n: int) -> float:
    """Of a normal fit whose variance is estimated."""
    return n * (log(2 * pi * rss / n) + 1)


def rss(design: object, y: object) -> float:
    fit = least_squares_map(design)
    return float(np.sum(fit.residuals(y) ** 2))


@pytest.mark.check("R-21")
@pytest.mark.parametrize(("line", "k", "printed"), [(True, 3, 5.842516), (False, 2, 8.001399)])
def test_a_constant_and_a_line_through_three_points(line: bool, k: int, printed: float) -> None:
    """Kind seen: printed to seven digits."""
    x, y = [1.0, 2.0, 3.0], [1.0, 1.0, 2.0]
    design = straight_line(x) if line else np.ones((3, 1))
    assert aicc(minus_two_ln_l(rss(design, y), 3), k) == pytest.approx(printed, abs=5e-7)


@pytest.mark.check("R-22")
def test_two_groups_of_ten_plants() -> None:
    """Kind seen; the correction for 20 observations added by its formula: 24/16."""
    y = np.array(CONTROL + TREATED)
    design = np.column_stack([np.ones(20), np.repeat([0.0, 1.0], 10)])
    deviance = minus_two_ln_l(rss(design, y), 20)
    assert deviance == pytest.approx(2 * 20.08824, abs=1e-5)
    assert aicc(deviance, 3) == pytest.approx(46.17648, abs=1e-5)
    assert aicc(deviance, 3, 20) == pytest.approx(46.17648 + 24 / 16, abs=1e-5)


@pytest.mark.check("R-23")
def test_with_a_known_variance_the_criterion_is_mallows_and_needs_no_correction() -> None:
    """Identity: a coefficient lowers chi-squared by the square of its t, and costs 2."""
    x = np.array([0.0, 1.0, 2.0, 4.0, 7.0])
    y = np.array([0.2, 0.9, 2.3, 3.7, 7.4])
    covariance = 0.09 * np.eye(5) + 0.04
    flat = generalised(np.ones((5, 1)), y, covariance)
    line = generalised(straight_line(x), y, covariance)
    t = line.coefficients[1] / line.u[1]
    assert aicc(flat.chi2, 1) - aicc(line.chi2, 2) == pytest.approx(t**2 - 2, rel=1e-12)


@pytest.mark.check("R-23")
def test_with_a_known_variance_the_criterion_tells_new_data_s_chi_squared_without_bias() -> None:
    """Identity: the mean of chi-squared is n - p on the data fitted and n + p on new data of the same truth."""
    x, n = straight_line(np.arange(6.0)), 6
    covariance = np.diag(np.linspace(0.5, 2.0, n)) + 0.3
    inverse = np.linalg.inv(covariance)
    hat = x @ np.linalg.inv(x.T @ inverse @ x) @ x.T @ inverse
    left = np.eye(n) - hat
    seen = np.trace(inverse @ left @ covariance @ left.T)
    new = np.trace(inverse @ (covariance + hat @ covariance @ hat.T))
    assert new - seen == pytest.approx(aicc(0.0, 2), rel=1e-9)
    unit = np.linalg.cholesky(covariance)
    mean = np.mean([generalised(x, column, covariance).chi2 for column in (unit * np.sqrt(n)).T])
    assert mean == pytest.approx(seen, rel=1e-9)


def test_too_many_for_the_data_is_infinite_and_nonsense_is_refused() -> None:
    assert aicc(3.0, 2, 3) == inf
    assert aicc(3.0, 2, 3.5) == pytest.approx(3 + 4 + 12 / 0.5)
    for arguments in ((float("nan"), 2, 10), (1.0, -1, 10), (1.0, 2, 0)):
        with pytest.raises(OutOfDomain):
            aicc(*arguments)


def test_many_columns_about_their_levels_are_the_fits_of_a_level_one_by_one() -> None:
    covariance = np.diag([1.0, 2.0, 0.5, 1.5]) + 0.4
    y = np.random.default_rng(2).standard_normal((4, 3))
    single = [generalised(np.ones((4, 1)), column, covariance).chi2 for column in y.T]
    assert Known.of(covariance).about_level(y) == pytest.approx(single, rel=1e-12)


def test_generalised_least_squares_refuses_what_is_no_covariance() -> None:
    for covariance in (-np.eye(2), np.eye(3), np.full((2, 2), np.nan)):
        with pytest.raises(OutOfDomain):
            generalised(np.ones((2, 1)), [1.0, 2.0], covariance)
