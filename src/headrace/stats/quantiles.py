"""Quantiles of the normal, Student's t and chi-squared distributions, on scipy.special alone.

Nothing here estimates anything. Start at `t_quantile`.
"""

from typing import cast

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

Values = float | NDArray[np.float64]


def normal_quantile(p: ArrayLike) -> Values:
    """Value below which a standard normal falls with probability p (0 to 1).

    >>> round(float(normal_quantile(0.975)), 6)
    1.959964
    """
    return cast(Values, special.ndtri(np.asarray(p, dtype=np.float64)))


def t_quantile(p: ArrayLike, dof: ArrayLike) -> Values:
    """Value below which Student's t falls with probability p (0 to 1); dof above 0, infinite for normal.

    >>> round(float(t_quantile(0.995, 16)), 4)
    2.9208
    """
    p, dof = np.broadcast_arrays(np.asarray(p, dtype=np.float64), np.asarray(dof, dtype=np.float64))
    known = np.isinf(dof)
    finite = special.stdtrit(np.where(known, 1.0, dof), p)
    return cast(Values, np.where(known, special.ndtri(p), finite)[()])


def t_two_sided(t: ArrayLike, dof: ArrayLike) -> Values:
    """Probability that |Student's t| exceeds |t|, of finite dof above 0.

    >>> round(float(t_two_sided(2.9208, 16)), 3)
    0.01
    """
    return cast(Values, 2.0 * special.stdtr(np.asarray(dof, dtype=np.float64), -np.abs(np.asarray(t))))


def chi2_above(chi2: ArrayLike, dof: ArrayLike) -> Values:
    """Probability that chi-squared of dof (above 0) exceeds chi2 (0 or more).

    >>> round(float(chi2_above(3.841459, 1)), 3)
    0.05
    """
    return cast(Values, special.chdtrc(np.asarray(dof, dtype=np.float64), np.asarray(chi2, dtype=np.float64)))
