"""Generalised least squares: a fit to data whose whole covariance is known, for tests and not for means to be carried.

With shared scale errors it can pull a mean outside its own data; for that reason only its chi-squared and the
coefficients of trends are to be used. Start at `generalised`, or at
`Known` for many fits with one covariance.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from headrace.errors import OutOfDomain
from headrace.stats.linear import least_squares_map

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A known covariance, made ready once for many fits. triangle: its lower Cholesky factor; whitener: its inverse."""

    triangle: Array
    whitener: Array

    @classmethod
    def of(cls, covariance: ArrayLike) -> "Known":
        """Of a covariance (n, n), positive definite.

        Raises:
            OutOfDomain: NaN, or a matrix that is no covariance.
        """
        spread = np.asarray(covariance, dtype=np.float64)
        if spread.ndim != 2 or spread.shape[0] != spread.shape[1] or not np.all(np.isfinite(spread)):
            raise OutOfDomain("covariance", spread.shape, "a square matrix of finite numbers")
        try:
            triangle = np.asarray(np.linalg.cholesky(spread), dtype=np.float64)
            return cls(triangle=triangle, whitener=np.asarray(np.linalg.inv(triangle)))
        except np.linalg.LinAlgError as fault:
            raise OutOfDomain("covariance", "not positive definite", "positive definite") from fault

    def fit(self, design: ArrayLike, y: ArrayLike) -> Generalised:
        """Least squares of y (n,) over the columns of design (n, p).

        Raises:
            OutOfDomain: shapes that do not fit, NaN, or columns that depend on each other.
        """
        x, values = np.asarray(design, dtype=np.float64), np.asarray(y, dtype=np.float64)
        n = len(self.triangle)
        if x.ndim != 2 or x.shape[0] != n or values.shape != (n,):
            raise OutOfDomain("design, y", (x.shape, values.shape), f"{n} rows each")
        if not (np.all(np.isfinite(x)) and np.all(np.isfinite(values))):
            raise OutOfDomain("design, y", "NaN or infinite", "finite")
        white = self.whitener @ np.column_stack([x, values])
        plain = least_squares_map(white[:, :-1])
        found = plain.coefficients(white[:, -1])
        return Generalised(
            coefficients=found,
            covariance=plain.covariance(np.ones(n)),
            chi2=plain.chi2(white[:, -1]),
        )

    def about_level(self, y: ArrayLike) -> Array:
        """chi2 of each column of y (n, m) about its own level."""
        values = np.asarray(y, dtype=np.float64)
        ones = np.ones((len(self.triangle), 1))
        white = self.whitener @ np.column_stack([ones, values])
        level, rest = white[:, 0], white[:, 1:]
        means = (level @ rest) / float(level @ level)
        return np.asarray(np.sum((rest - np.outer(level, means)) ** 2, axis=0))


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
    return Known.of(covariance).fit(design, y)
