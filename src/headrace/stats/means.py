"""Means of results with uncertainties of their own, and scatter pooled over groups.

Start at `weighted_mean`. The values must be independent: what they share is not for weights to reduce.
"""

from dataclasses import dataclass
from math import inf, nan, sqrt

import numpy as np
from numpy.typing import ArrayLike

from headrace.errors import OutOfDomain


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightedMean:
    """mean; u_internal from the given uncertainties; u_external from the scatter; chi2 on dof = n - 1.

    birge: u_external / u_internal = sqrt(chi2/dof): far above 1, the values scatter by more than they admit.
    For a single value chi2 is 0 and u_external and birge are NaN.
    """

    mean: float
    u_internal: float
    u_external: float
    birge: float
    chi2: float
    dof: int


def weighted_mean(values: ArrayLike, u: ArrayLike) -> WeightedMean:
    """Mean with weights 1/u**2.

    Args:
        values: (n,), one or more, any unit.
        u: (n,), standard uncertainties in the same unit, above 0, independent.
    Raises:
        OutOfDomain: empty, NaN, or u not above 0.
    Source:
        Birge, Phys. Rev. 40 (1932) 207 for the ratio (from memory).

    >>> round(weighted_mean([1.02, 1.00, 1.05, 0.99], [0.02, 0.01, 0.03, 0.02]).birge, 4)
    1.0992
    """
    x, s = np.asarray(values, dtype=np.float64), np.asarray(u, dtype=np.float64)
    if x.ndim != 1 or x.size == 0 or x.shape != s.shape or not np.all(np.isfinite(x)):
        raise OutOfDomain("values", x, "one or more finite values with a u each")
    if not np.all((s > 0) & np.isfinite(s)):
        raise OutOfDomain("u", s, "above 0 and finite")
    weights = s**-2.0
    mean = float(np.average(x, weights=weights))
    internal = 1 / sqrt(float(np.sum(weights)))
    chi2, dof = float(np.sum(weights * (x - mean) ** 2)), x.size - 1
    birge = sqrt(chi2 / dof) if dof > 0 else nan
    return WeightedMean(
        mean=mean, u_internal=internal, u_external=internal * birge, birge=birge, chi2=chi2, dof=dof
    )


def pooled_sd(sds: ArrayLike, dofs: ArrayLike) -> tuple[float, float]:
    """Standard deviation common to several groups, and its degrees of freedom.

    Args:
        sds: Standard deviation of each group, any unit, 0 or more.
        dofs: Degrees of freedom of each, above 0 and finite.
    Returns:
        sqrt(sum(dof s**2) / sum(dof)), sum(dof).
    Raises:
        OutOfDomain: empty, NaN or outside those ranges.
    Source:
        Identity.

    >>> sd, dof = pooled_sd([0.02, 0.03], [4, 9])
    >>> round(sd, 6), dof
    (0.027316, 13.0)
    """
    s, n = np.asarray(sds, dtype=np.float64), np.asarray(dofs, dtype=np.float64)
    if s.ndim != 1 or s.size == 0 or s.shape != n.shape or not np.all((s >= 0) & (s < inf)):
        raise OutOfDomain("sds", s, "one or more, each 0 or more, with a dof each")
    if not np.all((n > 0) & (n < inf)):
        raise OutOfDomain("dofs", n, "above 0 and finite")
    total = float(np.sum(n))
    return sqrt(float(np.sum(n * s**2)) / total), total
