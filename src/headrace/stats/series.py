"""The mean of samples that remember each other, and how many independent ones they are worth.

The memory is taken from the lag-one autocorrelation, freed of its bias in short series; in a long one a sum
of autocorrelations over a window of five times the memory is looked at too, and the longer memory counts:
a slow wobble under quick noise hardly shows at lag one. Anticorrelation is never used to claim more than n.
A drift is not noise: take it out first. Start at `series_mean`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from headrace.errors import OutOfDomain

WINDOWED_FROM = 50
"""Samples below which the sum over a window is noise itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesMean:
    """mean of n samples worth n_eff independent ones; u = sd / sqrt(n_eff), on dof = n_eff - 1.

    sd: standard deviation of a sample, freed of what the memory hides from a short series.
    memory: n / n_eff, in samples, before n_eff is held at 2.
    """

    mean: float
    sd: float
    u: float
    n: int
    n_eff: float
    dof: float
    memory: float


def effective_size(n: float, lag_one: float) -> float:
    """Independent samples that n samples of a first-order autoregressive series are worth.

    Args:
        n: Samples, above 0.
        lag_one: Autocorrelation at lag one, above -1 and below 1.
    Returns:
        n (1 - r) / (1 + r), the form for n much longer than the memory.
    Raises:
        OutOfDomain: outside those ranges, or NaN.
    Source:
        Identity.

    >>> round(effective_size(1000, 0.9), 2)
    52.63
    """
    if not n > 0:
        raise OutOfDomain("n", n, "above 0")
    if not -1 < lag_one < 1:
        raise OutOfDomain("lag_one", lag_one, "between -1 and 1")
    return n * (1 - lag_one) / (1 + lag_one)


def lag_one(samples: ArrayLike) -> float:
    """Lag-one autocorrelation about the mean, bias removed to first order in 1/n; held within 0 to 1 - 1/n.

    Raises OutOfDomain for fewer than 6 samples, or NaN. A series without spread has none: 0.

    Source: bias -(1 + 4 r)/n by Marriott and Pope, Biometrika 41 (1954) 390 (from memory).
    """
    x = _checked(samples, 6)
    if np.ptp(x) == 0:
        return 0.0
    apart = x - x.mean()
    square = float(np.sum(apart**2))
    seen = float(np.sum(apart[1:] * apart[:-1])) / square
    return float(np.clip((x.size * seen + 1) / (x.size - 4), 0.0, 1 - 1 / x.size))


def memory(samples: ArrayLike) -> float:
    """Samples per independent sample, 1 or more: 1 + 2 times the sum of autocorrelations.

    Raises OutOfDomain for fewer than 6 samples, or NaN.
    """
    x = _checked(samples, 6)
    r = lag_one(x)
    found = (1 + r) / (1 - r)
    return max(found, _windowed(x)) if x.size >= WINDOWED_FROM else found


def _windowed(x: NDArray[np.float64]) -> float:
    """1 + 2 sum of autocorrelations over the first window longer than 5 times the sum so far, up to n/10."""
    total = 1.0
    if np.ptp(x) == 0:
        return total
    apart = x - x.mean()
    square = float(np.sum(apart**2))
    for lag in range(1, x.size // 10 + 1):
        total += 2 * float(np.sum(apart[lag:] * apart[:-lag])) / square
        if lag >= 5 * total:
            break
    return max(total, 1.0)


def series_mean(samples: ArrayLike) -> SeriesMean:
    """Mean of autocorrelated samples with an honest standard uncertainty.

    Args:
        samples: (n,), 6 or more at equal steps of time, any unit, no drift.
    Returns:
        Mean, standard deviation, and uncertainty of the mean. The samples are never taken for fewer than two
        independent ones; when `memory` is above n/2 the series is too short to know its own uncertainty.
    Raises:
        OutOfDomain: fewer than 6 samples, or NaN.
    Source:
        Variance of the mean and of the sample of a stationary series: common practice.

    >>> mean = series_mean([1.0, 2.0, 1.0, 2.0, 1.0, 2.0])
    >>> mean.mean, mean.n_eff
    (1.5, 6.0)
    """
    x = _checked(samples, 6)
    lasting = memory(x)
    n_eff = max(x.size / lasting, 2.0)
    sd = float(np.sqrt(np.sum((x - x.mean()) ** 2) / (x.size * (1 - 1 / n_eff))))
    return SeriesMean(
        mean=float(x.mean()),
        sd=sd,
        u=sd / float(np.sqrt(n_eff)),
        n=int(x.size),
        n_eff=n_eff,
        dof=n_eff - 1,
        memory=lasting,
    )


def _checked(samples: ArrayLike, least: int) -> NDArray[np.float64]:
    x = np.asarray(samples, dtype=np.float64)
    if x.ndim != 1 or x.size < least or not np.all(np.isfinite(x)):
        raise OutOfDomain("samples", x.shape, f"{least} or more finite samples")
    return x
