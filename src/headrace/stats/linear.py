"""Weighted least squares as a linear map: coefficients = matrix @ y, with weights that are frozen.

The map is made once, at nominal; after that it is applied to any y, arrays of draws included, and the
covariance of the coefficients follows from whatever covariance y has, which need not be 1/weights.
It refuses designs that cannot tell their coefficients apart. Start at `least_squares_map`; `straight_line`
makes the design of a line.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from headrace.errors import OutOfDomain

Array = NDArray[np.float64]

SINGULAR = 1e-12
"""Least diagonal of the triangle of a design with columns of length 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearMap:
    """design: (n, p). weights: (n,), any common unit. matrix: (p, n), coefficients = matrix @ y."""

    design: Array
    weights: Array
    matrix: Array

    @property
    def dof(self) -> int:
        """Observations less coefficients."""
        return int(self.design.shape[0] - self.design.shape[1])

    def coefficients(self, y: ArrayLike) -> Array:
        """Coefficients (p,) of y (n,), or (p, draws) of y (n, draws)."""
        result: Array = self.matrix @ np.asarray(y, dtype=np.float64)
        return result

    def residuals(self, y: ArrayLike) -> Array:
        """Observed minus fitted, shaped like y."""
        result: Array = np.asarray(y, dtype=np.float64) - self.design @ self.coefficients(y)
        return result

    def covariance(self, of_y: ArrayLike) -> Array:
        """Covariance of the coefficients when y has these variances (n,), independent, or this covariance (n, n).

        Raises OutOfDomain for negative variances or another shape.
        """
        given = np.asarray(of_y, dtype=np.float64)
        n = self.design.shape[0]
        if given.shape not in ((n,), (n, n)):
            raise OutOfDomain("variances", given.shape, f"({n},) or ({n}, {n})")
        if not np.all((given if given.ndim == 1 else np.diag(given)) >= 0):
            raise OutOfDomain("variances", "one below 0 or NaN", "0 or more")
        spread = np.diag(given) if given.ndim == 1 else given
        result: Array = self.matrix @ spread @ self.matrix.T
        return result

    def chi2(self, y: ArrayLike) -> float:
        """Weighted sum of squared residuals of y (n,): chi-squared when the weights are 1/variance."""
        return float(np.sum(self.weights * self.residuals(y) ** 2))

    def residual_sd(self, y: ArrayLike) -> float:
        """Standard deviation of an observation of weight 1 about the fit, from the residuals of y (n,).

        Raises OutOfDomain when there are no more observations than coefficients.
        """
        if self.dof < 1:
            raise OutOfDomain("degrees of freedom", self.dof, "1 or more", "more points than coefficients")
        return float(np.sqrt(self.chi2(y) / self.dof))


def least_squares_map(design: ArrayLike, weights: ArrayLike | None = None) -> LinearMap:
    """The linear map of weighted least squares, by QR decomposition of the scaled design.

    Args:
        design: (n, p): column k times coefficient k, summed, is the fit; n at least p.
        weights: (n,), 1/variance of each observation up to a common factor, above 0; None for equal ones.
    Returns:
        The map.
    Raises:
        OutOfDomain: NaN, a weight not above 0, fewer rows than columns, or columns that depend on each other.
    Source:
        Ordinary linear algebra; checked on certified NIST StRD fits in tests/sources/.

    >>> fit = least_squares_map(straight_line([0.0, 1.0, 2.0]))
    >>> [round(float(c), 9) for c in fit.coefficients([1.0, 3.0, 5.0])]
    [1.0, 2.0]
    """
    x = np.array(design, dtype=np.float64)
    if x.ndim != 2 or x.shape[0] < x.shape[1] or x.shape[1] == 0:
        raise OutOfDomain("design", x.shape, "at least as many rows as columns")
    w = np.ones(x.shape[0]) if weights is None else np.array(weights, dtype=np.float64)
    if w.shape != (x.shape[0],) or not np.all((w > 0) & np.isfinite(w)):
        raise OutOfDomain("weights", w, "one finite weight above 0 per row")
    if not np.all(np.isfinite(x)):
        raise OutOfDomain("design", "NaN or infinite", "finite")
    root = np.sqrt(w)
    scaled = x * root[:, None]
    length = np.sqrt(np.sum(scaled**2, axis=0))
    if not np.all(length > 0):
        raise OutOfDomain("design", "a column of zeros", "independent columns")
    q, r = np.linalg.qr(scaled / length)
    if np.min(np.abs(np.diag(r))) < SINGULAR:
        raise OutOfDomain("design", "columns that depend on each other", "independent columns")
    matrix = np.linalg.solve(r, q.T) / length[:, None] * root
    return LinearMap(design=x, weights=w, matrix=matrix)


def straight_line(x: ArrayLike, origin: float = 0.0) -> Array:
    """Design (n, 2) of y = c0 + c1 (x - origin)."""
    apart = np.asarray(x, dtype=np.float64) - origin
    return np.stack([np.ones_like(apart), apart], axis=1)
