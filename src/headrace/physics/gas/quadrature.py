"""Gauss-Legendre rules on 0 to 1 with a fixed number of points, so that every draw takes the same path.

(Points and weights by numpy; each pair is a place between 0 and 1 and its share of the mean.)
"""

import numpy as np


def unit_rule(points: int) -> tuple[tuple[float, float], ...]:
    """Places and weights whose weighted sum is the mean of a function over 0 to 1.

    Args:
        points: Number of points; 1 or more. [-]
    Returns:
        Pairs of place and weight; the weights add up to 1.
    Raises:
        ValueError: fewer than one point.
    Source:
        Gauss-Legendre quadrature.

    >>> round(sum(weight * place**2 for place, weight in unit_rule(2)), 12)
    0.333333333333
    """
    nodes, weights = np.polynomial.legendre.leggauss(points)
    return tuple(
        (float(node + 1) / 2, float(weight) / 2) for node, weight in zip(nodes, weights, strict=True)
    )


NODES_12 = unit_rule(12)
NODES_24 = unit_rule(24)
