"""A cubic spline with the not-a-knot end condition, and its cardinal basis; smooth to the second derivative.

With three points it is their parabola, with two their line, with one a constant. Beyond the ends the last
piece goes on: nothing is clipped. Small on purpose, so that a table costs no import of scipy.interpolate.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headrace.physics.domain import Values

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Spline:
    """Knots (n), and powers (pieces, 4, columns) of the distance to the left knot, lowest first."""

    knots: Array
    powers: Array

    def __call__(self, x: Values) -> Array:
        """Values at x: the shape of x, and one more axis for the columns."""
        at, c = self._locate(x)
        return c[..., 0, :] + at * (c[..., 1, :] + at * (c[..., 2, :] + at * c[..., 3, :]))

    def slope(self, x: Values) -> Array:
        """First derivatives at x, shaped as the values."""
        at, c = self._locate(x)
        return c[..., 1, :] + at * (2 * c[..., 2, :] + at * 3 * c[..., 3, :])

    def _locate(self, x: Values) -> tuple[Array, Array]:
        """Distance to the left knot, and the powers that hold there."""
        points = np.asarray(x, dtype=float)
        if len(self.powers) == 1:
            return (points - self.knots[0])[..., np.newaxis], self.powers[0]
        piece = np.searchsorted(self.knots[1 : len(self.powers)], points, side="right")
        return (points - self.knots[piece])[..., np.newaxis], self.powers[piece]


def spline(knots: Array, values: Array) -> Spline:
    """The spline through values (n, columns) at rising knots (n)."""
    n = knots.size
    if n < 4:  # one polynomial through all points
        degrees = np.arange(n)
        monomials = (knots[:, None] - knots[0]) ** degrees
        powers = np.zeros((1, 4, values.shape[1]))
        powers[0, :n] = np.linalg.solve(monomials, values)
        return Spline(knots, powers)
    h = np.diff(knots)
    chord = np.diff(values, axis=0) / h[:, None]
    system, right = np.zeros((n, n)), np.zeros((n, values.shape[1]))
    for i in range(1, n - 1):  # continuity of the first derivative; the unknowns are second derivatives
        system[i, i - 1 : i + 2] = h[i - 1], 2 * (h[i - 1] + h[i]), h[i]
        right[i] = 6 * (chord[i] - chord[i - 1])
    system[0, :3] = h[1], -(h[0] + h[1]), h[0]  # one cubic over the first two pieces, and over the last two
    system[-1, -3:] = h[-1], -(h[-2] + h[-1]), h[-2]
    bend = np.linalg.solve(system, right)
    first = chord - h[:, None] * (2 * bend[:-1] + bend[1:]) / 6
    third = np.diff(bend, axis=0) / (6 * h[:, None])
    return Spline(knots, np.stack([values[:-1], first, bend[:-1] / 2, third], axis=1))


def cardinal(knots: Array) -> Spline:
    """One column per knot: 1 there and 0 at all others, so that a spline of any values is a weighted sum."""
    return spline(knots, np.eye(knots.size))
