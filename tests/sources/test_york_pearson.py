"""Pearson's data with York's weights: data and fits read in public copies, recomputed.

Standard errors come in three published conventions; ours is York et al. (2004), named in the module.
"""

import numpy as np
import pytest

from headrace.stats.york import YorkLine, york_line

X = np.array([0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
Y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
WEIGHT_X = np.array([1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1])
WEIGHT_Y = np.array([1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500])


@pytest.fixture(scope="module")
def line() -> YorkLine:
    return york_line(x=X, y=Y, u_x=WEIGHT_X**-0.5, u_y=WEIGHT_Y**-0.5)


@pytest.mark.check("R-3")
def test_line(line: YorkLine) -> None:
    assert line.slope == pytest.approx(-0.48053340745, rel=1e-9)
    assert line.intercept == pytest.approx(5.47991022403, rel=1e-9)
    assert line.chi2 == pytest.approx(11.866353, rel=1e-7)
    assert line.chi2 / line.dof == pytest.approx(1.483294149, rel=1e-9)


@pytest.mark.check("R-4")
def test_standard_errors_with_the_uncertainties_taken_as_true(line: YorkLine) -> None:
    assert line.u_slope == pytest.approx(0.0579850090, rel=1e-8)
    assert line.u_intercept == pytest.approx(0.294970735, rel=1e-8)


@pytest.mark.check("R-5")
def test_standard_errors_scaled_by_the_scatter(line: YorkLine) -> None:
    u_intercept, u_slope = line.scaled
    assert u_slope == pytest.approx(0.0706202695, rel=1e-8)
    assert u_intercept == pytest.approx(0.3592465226, rel=1e-8)


@pytest.mark.check("R-6")
def test_the_errors_at_the_observed_points_are_another_convention(line: YorkLine) -> None:
    """0.057617 and 0.29193 are published too; they differ from ours by about 1 %, on purpose."""
    assert 0.003 < line.u_slope / 0.057617 - 1 < 0.02
    assert 0.003 < line.u_intercept / 0.29193 - 1 < 0.02
