"""The shapes of error the engine can draw. To add one: write its draw, add its line to `DISTRIBUTIONS`.

A draw is standardised: multiplied by the standard uncertainty `u` of its source it is the error. What is
taken as known about a shape beyond its draw is data beside it: the fourth moment that second-order
propagation needs, and the variance of the draw itself, which is not 1 where `u` is itself uncertain.
Start at `DISTRIBUTIONS`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import inf, isinf, pi, sqrt
from types import MappingProxyType

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

Draw = Callable[[Generator, int, float], NDArray[np.float64]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Distribution:
    """One shape of error.

    about: the shape in words, for the manual.
    draw: (generator, size, dof) -> standardised draws.
    kurtosis: fourth central moment over u**4 of the shape that propagation of uncertainty works with.
    variance: dof -> variance of the standardised draws; infinite where the shape has none.
    """

    about: str
    draw: Draw
    kurtosis: float
    variance: Callable[[float], float]


def _one(_dof: float) -> float:
    return 1.0


def _normal(rng: Generator, size: int, _dof: float) -> NDArray[np.float64]:
    return rng.standard_normal(size)


def _rectangular(rng: Generator, size: int, _dof: float) -> NDArray[np.float64]:
    return sqrt(3.0) * (2.0 * rng.random(size) - 1.0)


def _triangular(rng: Generator, size: int, _dof: float) -> NDArray[np.float64]:
    return sqrt(6.0) * (rng.random(size) - rng.random(size))


def _arcsine(rng: Generator, size: int, _dof: float) -> NDArray[np.float64]:
    values: NDArray[np.float64] = np.sin(2.0 * pi * rng.random(size))
    return sqrt(2.0) * values


def _student(rng: Generator, size: int, dof: float) -> NDArray[np.float64]:
    return rng.standard_normal(size) if isinf(dof) else rng.standard_t(dof, size)


def _student_variance(dof: float) -> float:
    if isinf(dof):
        return 1.0
    return dof / (dof - 2.0) if dof > 2.0 else inf


def _inexact(rng: Generator, size: int, dof: float) -> NDArray[np.float64]:
    half_width = 1.0 + (2.0 * rng.random(size) - 1.0) / sqrt(2.0 * dof)
    return half_width * _rectangular(rng, size, dof)


def _inexact_variance(dof: float) -> float:
    return 1.0 + 1.0 / (6.0 * dof)


DISTRIBUTIONS: Mapping[str, Distribution] = MappingProxyType(
    {
        "normal": Distribution(about="normal", draw=_normal, kurtosis=3.0, variance=_one),
        # u = a / sqrt(3), JCGM 100:2008, 4.3.7; draw JCGM 101:2008, 6.4.2
        "rectangular": Distribution(
            about="rectangular, half-width a = u sqrt(3)", draw=_rectangular, kurtosis=9 / 5, variance=_one
        ),
        # u = a / sqrt(6), JCGM 100:2008, 4.3.9; draw JCGM 101:2008, 6.4.5
        "triangular": Distribution(
            about="symmetric triangular, half-width a = u sqrt(6)",
            draw=_triangular,
            kurtosis=12 / 5,
            variance=_one,
        ),
        # u = a / sqrt(2); draw JCGM 101:2008, 6.4.6
        "arcsine": Distribution(
            about="arcsine (a sine swung through), half-width a = u sqrt(2)",
            draw=_arcsine,
            kurtosis=3 / 2,
            variance=_one,
        ),
        # u is the standard deviation of the mean; the draw is u times Student's t: JCGM 101:2008, 6.4.9.
        # Propagation of uncertainty keeps u and lets the degrees of freedom act through the coverage factor.
        "t": Distribution(
            about="Student's t of `dof` degrees of freedom, scaled by u",
            draw=_student,
            kurtosis=3.0,
            variance=_student_variance,
        ),
        # Half-width a = u sqrt(3), itself known to +-a / sqrt(2 dof), rectangular: JCGM 101:2008, 6.4.3, with
        # the inexactness written as degrees of freedom by JCGM 100:2008, G.4.2.
        "inexact-rectangular": Distribution(
            about="rectangular whose half-width is known to 1 part in sqrt(2 dof)",
            draw=_inexact,
            kurtosis=9 / 5,
            variance=_inexact_variance,
        ),
    }
)
