"""Which of several models the data speak for: Akaike's information criterion, corrected for small samples.

Start at `aicc`. A criterion ranks; by itself it says nothing about whether any of the models is right.
"""

from math import inf

from headrace.errors import OutOfDomain


def aicc(minus_two_ln_l: float, k: int, n: float = inf) -> float:
    """Akaike's information criterion with the correction for small samples; less is better.

    Args:
        minus_two_ln_l: -2 ln of the greatest likelihood, up to a constant common to all models. Where the covariance of
            the data is known it is chi-squared, and the variance is no parameter.
        k: Number of parameters estimated, the variance among them where it is estimated; 0 or more.
        n: Number of independent data that the variance was estimated from; infinite where it is known: then the
            criterion is Akaike's own, which for chi-squared is Mallows' Cp up to a constant and needs no correction.
    Returns:
        -2 ln L + 2 k + 2 k (k + 1)/(n - k - 1); infinite when n is k + 1 or less: too many for these data.
    Raises:
        OutOfDomain: NaN, k below 0, n not above 0.
    Source:
        Hurvich and Tsai, Biometrika 76 (1989) 297 (formula read in public copies).

    >>> round(aicc(40.17648, 3), 4), round(aicc(40.17648, 3, 20), 4)
    (46.1765, 47.6765)
    """
    if minus_two_ln_l != minus_two_ln_l:
        raise OutOfDomain("-2 ln L", minus_two_ln_l, "a number")
    if k < 0 or not n > 0:
        raise OutOfDomain("k, n", (k, n), "k of 0 or more, n above 0")
    plain = minus_two_ln_l + 2 * k
    if n == inf:
        return plain
    return plain + 2 * k * (k + 1) / (n - k - 1) if n > k + 1 else inf
