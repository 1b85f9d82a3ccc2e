"""Line through the origin, weighted mean, pooled scatter: identities, worked by hand."""

import numpy as np
import pytest

from headrace.stats.linear import least_squares_map, straight_line
from headrace.stats.means import pooled_sd, weighted_mean
from headrace.stats.through_origin import line_through_origin


@pytest.mark.check("R-8")
def test_line_through_the_origin() -> None:
    x = np.array([10.0, 20, 30, 40, 50, 60])
    y = np.array([0.101, 0.199, 0.302, 0.398, 0.503, 0.598])
    line = line_through_origin(x=x, y=y)
    assert line.slope == pytest.approx(0.01, rel=1e-12)
    assert line.residual_sd == pytest.approx(0.002144761, abs=1e-9)
    assert line.dof == 5
    assert line.u_slope == pytest.approx(2.248320e-5, rel=1e-6)
    free = least_squares_map(straight_line(x)).coefficients(y)
    assert free == pytest.approx([0.000866667, 0.00998], abs=1e-9)


@pytest.mark.check("R-9")
def test_weighted_mean() -> None:
    mean = weighted_mean([1.02, 1.00, 1.05, 0.99], [0.02, 0.01, 0.03, 0.02])
    assert mean.mean == pytest.approx(1.005, abs=1e-7)
    assert mean.u_internal == pytest.approx(0.007878386, abs=1e-9)
    assert mean.chi2 == pytest.approx(3.625, abs=1e-7)
    assert mean.birge == pytest.approx(1.099242, abs=1e-6)
    assert mean.u_external == pytest.approx(0.007878386 * 1.099242, rel=1e-6)


@pytest.mark.check("R-20")
def test_pooled_standard_deviation() -> None:
    assert pooled_sd([0.02, 0.03], [4, 9]) == pytest.approx((0.02731582, 13), abs=1e-8)
