"""Theoretical characteristic velocity by mixture ratio and chamber pressure, from the user's table.

The numbers come from a published equilibrium method; headrace does not compute them. Between the points runs
a cubic spline in O/F and in the logarithm of pressure; one point is a constant. The table answers outside
its span too (the last piece goes on): ask `outside` once, at the nominal point.
"""

from dataclasses import dataclass, field

import numpy as np

from headrace.errors import OutOfDomain
from headrace.physics.combustion.spline import Array, Spline, cardinal, spline
from headrace.physics.domain import Values, positive

ENDS = 1e-9
"""Relative: as far beyond its end a solved point may lie by rounding and still stand on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OutsideTable:
    """One way in which a point leaves the table: quantity, the worst value asked, and the span left."""

    quantity: str
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CStarTable:
    """c_star[i][j] [m/s] at of_ratio[i] [-] and p_chamber[j] [Pa, absolute], both rising.

    One pressure: c* does not depend on pressure. One mixture ratio: it does not depend on that.

    Raises:
        OutOfDomain: points not above 0 or not rising, rows that do not match, NaN.
    Source:
        Interpolation: cubic spline with not-a-knot ends. Values: the user's, by an equilibrium method.

    >>> c_star = ((1779.65,), (1788.53,), (1781.95,))
    >>> table = CStarTable(of_ratio=(2.0, 2.2, 2.4), p_chamber=(2e6,), c_star=c_star)
    >>> round(float(table.at(of_ratio=2.3, p_chamber=2e6)), 2)
    1787.17
    """

    of_ratio: tuple[float, ...]
    p_chamber: tuple[float, ...]
    c_star: tuple[tuple[float, ...], ...]
    _by_of: Spline = field(init=False, repr=False, compare=False)
    _by_ln_p: Spline = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        for name, axis in (("of_ratio", self.of_ratio), ("p_chamber", self.p_chamber)):
            points = np.asarray(axis, dtype=float)
            if points.size == 0 or not (np.all(points > 0) and np.all(np.diff(points) > 0)):
                raise OutOfDomain(name, axis, "above 0 and rising", "rows of the table out of order?")
        if len(self.c_star) != len(self.of_ratio) or {len(row) for row in self.c_star} != {
            len(self.p_chamber)
        }:
            shape = f"{len(self.of_ratio)} rows of {len(self.p_chamber)}"
            raise OutOfDomain("c_star", self.c_star, shape, "one row per O/F, one column per pressure")
        if not np.all(np.asarray(self.c_star) > 0):
            raise OutOfDomain("c_star", self.c_star, "above 0")
        rows = np.asarray(self.c_star, dtype=float)
        object.__setattr__(self, "_by_of", spline(np.asarray(self.of_ratio, dtype=float), rows))
        object.__setattr__(self, "_by_ln_p", cardinal(np.log(np.asarray(self.p_chamber, dtype=float))))

    @classmethod
    def constant(cls, c_star: float) -> "CStarTable":
        """The same c* [m/s] everywhere.

        >>> float(CStarTable.constant(1600.0).at(of_ratio=3.1, p_chamber=5e5))
        1600.0
        """
        return cls(of_ratio=(1.0,), p_chamber=(1.0,), c_star=((c_star,),))

    def at(self, *, of_ratio: Values, p_chamber: Values) -> Array:
        """c* at a mixture ratio [-] and a chamber pressure [Pa, absolute]; broadcasts. [m/s]

        Raises:
            OutOfDomain: an argument not above 0, or NaN (an entry of an array becomes NaN instead).
        """
        of, ln_p = positive("of_ratio", of_ratio), np.log(positive("p_chamber", p_chamber))
        return _sum(self._by_of(of), self._by_ln_p(ln_p))

    def slopes(self, *, of_ratio: Values, p_chamber: Values) -> tuple[Array, Array]:
        """Derivatives of c* by mixture ratio [m/s] and by the logarithm of chamber pressure [m/s]; as `at`."""
        r, ln_p = positive("of_ratio", of_ratio), np.log(positive("p_chamber", p_chamber))
        of, p = self._by_of(r), self._by_ln_p(ln_p)
        return _sum(self._by_of.slope(r), p), _sum(of, self._by_ln_p.slope(ln_p))

    def outside(self, *, of_ratio: Values, p_chamber: Values) -> tuple[OutsideTable, ...]:
        """In which directions a point (any of these points) leaves the table; one point has no ends.

        Raises:
            OutOfDomain: of_ratio or p_chamber not above 0, or NaN.
        """
        found = []
        for name, value, axis in (
            ("of_ratio", of_ratio, self.of_ratio),
            ("p_chamber", p_chamber, self.p_chamber),
        ):
            values = np.asarray(value, dtype=float)
            if not np.all(values > 0):
                raise OutOfDomain(name, value, "above 0")
            low, high, bottom, top = axis[0], axis[-1], float(values.min()), float(values.max())
            slack = ENDS * high
            if len(axis) > 1 and (bottom < low - slack or top > high + slack):
                worst = bottom if low / bottom > top / high else top
                found.append(OutsideTable(quantity=name, value=worst, low=low, high=high))
        return tuple(found)


def _sum(of: Array, p: Array) -> Array:
    """Values at every pressure of the table, joined by the weights of the pressures."""
    return np.asarray((of * p).sum(axis=-1))
