"""A straight line through points that err in x and in y.

Three conventions of standard error are printed for this fit. Here `u_intercept` and `u_slope` are those of
York et al. (2004): the given standard uncertainties are taken as true and derivatives are evaluated at the
adjusted points. `scaled` multiplies them by sqrt(chi2/dof). Errors evaluated at the observed points are not
offered. It refuses points without uncertainty in either direction. Start at `york_line`.
"""

from dataclasses import dataclass
from math import inf, sqrt

import numpy as np
from numpy.typing import ArrayLike

from headrace.errors import NoAnswer, OutOfDomain

ROUNDS = 500
SETTLED = 1e-14


@dataclass(frozen=True, slots=True, kw_only=True)
class YorkLine:
    """y = intercept + slope x. covariance: of intercept and slope. chi2: weighted squared distances; dof: n - 2."""

    intercept: float
    slope: float
    u_intercept: float
    u_slope: float
    covariance: float
    chi2: float
    dof: int

    @property
    def scaled(self) -> tuple[float, float]:
        """Standard errors of intercept and slope times sqrt(chi2/dof): the scatter sets them, not the u given.

        Raises OutOfDomain for two points, which have no scatter.
        """
        if self.dof < 1:
            raise OutOfDomain("degrees of freedom", self.dof, "1 or more")
        factor = sqrt(self.chi2 / self.dof)
        return self.u_intercept * factor, self.u_slope * factor


def york_line(
    *, x: ArrayLike, y: ArrayLike, u_x: ArrayLike, u_y: ArrayLike, correlation: ArrayLike = 0.0
) -> YorkLine:
    """Best straight line with errors in both variables, by York's iteration.

    Args:
        x, y: (n,) observed, at least two different x.
        u_x, u_y: Standard uncertainties, above 0, in the units of x and y; scalar or (n,).
        correlation: Of the errors of x and y of one point, between -1 and 1; scalar or (n,).
    Returns:
        The line with the standard errors of York et al. (2004).
    Raises:
        OutOfDomain: NaN, uncertainties not above 0, fewer than two points.
        NoAnswer: the iteration does not settle.
    Source:
        York, Evensen, Martinez and De Basabe Delgado, Am. J. Phys. 72 (2004) 367, equations (13) (from memory).

    >>> line = york_line(x=[0.0, 1.0, 2.0], y=[1.0, 3.0, 5.0], u_x=0.1, u_y=0.1)
    >>> round(line.slope, 9), round(line.intercept, 9)
    (2.0, 1.0)
    """
    xs, ys, ux, uy, r = (
        np.array(a, dtype=np.float64) for a in np.broadcast_arrays(x, y, u_x, u_y, correlation)
    )
    if xs.ndim != 1 or xs.size < 2 or not np.all(np.isfinite(xs) & np.isfinite(ys)) or np.ptp(xs) == 0:
        raise OutOfDomain("x, y", xs.shape, "two or more finite points, not all at one x")
    if not np.all((ux > 0) & (uy > 0) & np.isfinite(ux) & np.isfinite(uy)):
        raise OutOfDomain("u_x, u_y", "one not above 0", "above 0 at every point")
    if not np.all(np.abs(r) < 1):
        raise OutOfDomain("correlation", r, "between -1 and 1")

    wx, wy = ux**-2.0, uy**-2.0
    alpha = np.sqrt(wx * wy)
    slope = float(np.polynomial.polynomial.polyfit(xs, ys, 1, w=1 / uy)[1])
    for _ in range(ROUNDS):
        w = wx * wy / (wx + slope**2 * wy - 2 * slope * r * alpha)
        x_mean, y_mean = np.average(xs, weights=w), np.average(ys, weights=w)
        dx, dy = xs - x_mean, ys - y_mean
        beta = w * (dx / wy + slope * dy / wx - (slope * dx + dy) * r / alpha)
        across = float(np.sum(w * beta * dx))
        before, slope = slope, float(np.sum(w * beta * dy)) / across if across else inf
        if not np.isfinite(slope) or abs(slope - before) <= SETTLED * abs(slope):
            break
    else:
        raise NoAnswer("a line with errors in both variables did not settle: the points may lie along y")
    if not np.isfinite(slope):
        raise NoAnswer("a line with errors in both variables has no finite slope through these points")
    intercept = float(y_mean - slope * x_mean)
    adjusted = x_mean + beta
    adjusted_mean = float(np.average(adjusted, weights=w))
    var_slope = 1.0 / float(np.sum(w * (adjusted - adjusted_mean) ** 2))
    return YorkLine(
        intercept=intercept,
        slope=slope,
        u_intercept=sqrt(1.0 / float(np.sum(w)) + adjusted_mean**2 * var_slope),
        u_slope=sqrt(var_slope),
        covariance=-adjusted_mean * var_slope,
        chi2=float(np.sum(w * (ys - slope * xs - intercept) ** 2)),
        dof=int(xs.size) - 2,
    )
