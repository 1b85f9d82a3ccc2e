"""Generalised least squares: a fit to data whose whole covariance is known, for tests and not for means to be carried.

With shared scale errors it can pull a mean outside its own data; for that reason only its chi-squared and the
coefficients of trends are to be used. Start at `generalised`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import cho_factor, cho_solve

from headrace.errors import OutOfDomain

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Generalised:
    """coefficients (p,), their covariance (p, p), chi2 of the residuals."""

    coefficients: Array
    covariance: Array
    chi2: float

    @property
    def u(self) -> Array:
        """Standard uncertainties of the coefficients."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))


def generalised(design: ArrayLike, y: ArrayLike, covariance: ArrayLike) -> Generalised:
    """Least squares with the covariance of the data.

    Args:
        design: (n, p), independent columns. y: (n,). covariance: (n, n), of y, positive definite.
    Raises:
        OutOfDomain: shapes that do not fit, NaN, or a covariance that is none.
    Source:
        Aitken's estimator, ordinary linear algebra.

    >>> fit = generalised([[1.0], [1.0]], [1.0, 2.0], [[1.0, 0.0], [0.0, 4.0]])
    >>> [round(float(c), 9) for c in fit.coefficients], round(fit.chi2, 9)
    ([1.2], 0.2)
    """
    x, values, spread = (np.asarray(a, dtype=np.float64) for a in (design, y, covariance))
    n = values.size
    if x.ndim != 2 or x.shape[0] != n or spread.shape != (n, n):
        raise OutOfDomain("design, y, covariance", (x.shape, n, spread.shape), "shapes that fit together")
    if not (np.all(np.isfinite(x)) and np.all(np.isfinite(values)) and np.all(np.isfinite(spread))):
        raise OutOfDomain("design, y, covariance", "NaN or infinite", "finite")
    try:
        factor = cho_factor(spread)
        inner = x.T @ cho_solve(factor, x)
        of_coefficients: Array = np.asarray(np.linalg.inv(inner), dtype=np.float64)
    except np.linalg.LinAlgError as fault:
        raise OutOfDomain("covariance, design", "not positive definite", "positive definite") from fault
    found = of_coefficients @ (x.T @ cho_solve(factor, values))
    left = values - x @ found
    return Generalised(
        coefficients=found, covariance=of_coefficients, chi2=float(left @ cho_solve(factor, left))
    )
