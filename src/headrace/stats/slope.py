"""Whether a straight line through points has a slope that the scatter does not explain. Start at `slope_test`."""

from dataclasses import dataclass
from math import inf, sqrt

import numpy as np
from numpy.typing import ArrayLike

from headrace.errors import OutOfDomain
from headrace.stats.linear import least_squares_map, straight_line
from headrace.stats.quantiles import t_two_sided


@dataclass(frozen=True, slots=True, kw_only=True)
class SlopeTest:
    """slope with its standard error u, Student's t on dof = n - 2, and p, the chance of so large a |t| by scatter."""

    slope: float
    u: float
    t: float
    dof: int
    p: float


def slope_test(*, x: ArrayLike, y: ArrayLike, weights: ArrayLike | None = None) -> SlopeTest:
    """Least-squares slope of y over x against the scatter about the line.

    Args:
        x, y: (n,), any units, three points or more, not all at one x.
        weights: (n,), 1/variance of y up to a common factor, above 0; None for equal ones.
    Returns:
        The slope and its test; t is infinite and p 0 for a slope without scatter, 0 and 1 for a flat line
        without any.
    Raises:
        OutOfDomain: NaN, fewer than three points, all at one x.
    Source:
        Student's t of a regression slope: common practice.

    >>> test = slope_test(x=[0.0, 1.0, 2.0, 3.0], y=[0.0, 1.1, 1.9, 3.0])
    >>> round(test.slope, 2), test.p < 0.01
    (0.98, True)
    """
    xs, ys = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if xs.ndim != 1 or xs.shape != ys.shape or xs.size < 3 or not np.all(np.isfinite(ys)):
        raise OutOfDomain("x, y", (xs.shape, ys.shape), "three or more finite points")
    fit = least_squares_map(straight_line(xs, float(np.mean(xs))), weights)
    slope, sd = float(fit.coefficients(ys)[1]), fit.residual_sd(ys)
    u = sqrt(float(fit.covariance(sd**2 / fit.weights)[1, 1]))
    t = slope / u if u > 0 else (inf if slope > 0 else -inf if slope < 0 else 0.0)
    p = float(t_two_sided(t, fit.dof)) if np.isfinite(t) else 0.0
    return SlopeTest(slope=slope, u=u, t=t, dof=fit.dof, p=p)
