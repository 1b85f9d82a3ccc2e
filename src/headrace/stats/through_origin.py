"""The straight line through the origin, y = slope * x. Start at `line_through_origin`."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from headrace.errors import OutOfDomain
from headrace.stats.linear import least_squares_map


@dataclass(frozen=True, slots=True, kw_only=True)
class OriginLine:
    """slope; residual_sd of an observation of weight 1; u_slope from it; dof = n - 1."""

    slope: float
    residual_sd: float
    u_slope: float
    dof: int


def line_through_origin(*, x: ArrayLike, y: ArrayLike, weights: ArrayLike | None = None) -> OriginLine:
    """Least-squares slope of a line through the origin; not the mean of the ratios y/x.

    Args:
        x, y: (n,), any units, two points or more, x not all 0.
        weights: (n,), 1/variance of y up to a common factor, above 0; None for equal ones.
    Returns:
        slope = sum(w x y) / sum(w x**2), and its standard error from the scatter about the line.
    Raises:
        OutOfDomain: NaN, fewer than two points, all x zero.
    Source:
        Identity.

    >>> round(line_through_origin(x=[1.0, 2.0], y=[2.0, 4.5]).slope, 9)
    2.2
    """
    xs, ys = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if xs.ndim != 1 or xs.shape != ys.shape or xs.size < 2 or not np.all(np.isfinite(ys)):
        raise OutOfDomain("x, y", (xs.shape, ys.shape), "two or more finite points")
    fit = least_squares_map(xs[:, None], weights)
    sd = fit.residual_sd(ys)
    return OriginLine(
        slope=float(fit.coefficients(ys)[0]),
        residual_sd=sd,
        u_slope=float(np.sqrt(fit.covariance(sd**2 / fit.weights)[0, 0])),
        dof=fit.dof,
    )
