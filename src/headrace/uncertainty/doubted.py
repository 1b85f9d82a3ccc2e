"""A nominal value and what each source of error adds to it, linearly. Start at `Doubted.at`.

This is how a scaled, tared, corrected channel enters a model: every decision about it was taken at nominal, and what
is left is base + sum over sources of shape * error. One source may act on many values with different shapes
(a gain acts in proportion to the reading), and on many channels under one name (a shared reference).
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.uncertainty.errors_map import Errors

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubted:
    """base: nominal values, shape (n,). terms: (source name, shape (n,)): what one unit of that source adds."""

    base: Array
    terms: tuple[tuple[str, Array], ...] = ()

    def at(self, errors: Errors) -> Array:
        """Values under `errors`: shape (n, draws), or (n, 1) when nothing acts."""
        base = self.base[:, None]
        if not self.terms:
            return base
        drawn = np.stack(np.broadcast_arrays(*(np.atleast_1d(errors[name]) for name, _ in self.terms)))
        shapes = np.stack([shape for _, shape in self.terms], axis=1)
        out: Array = np.einsum("nk,kd->nd", shapes, drawn)  # no threads: the same numbers on every machine
        out += base
        return out

    def plus(self, *others: "Doubted") -> "Doubted":
        """Sum with other values of the same length; a source that acts on both acts with the summed shape."""
        base = self.base.copy()
        terms: dict[str, Array] = dict(self.terms)
        for other in others:
            base = base + other.base
            for name, shape in other.terms:
                terms[name] = terms[name] + shape if name in terms else shape
        return Doubted(base=base, terms=tuple(terms.items()))

    def times(self, factor: float | Array) -> "Doubted":
        """Every value and shape multiplied by a constant (or one constant for each value)."""
        return Doubted(
            base=self.base * factor, terms=tuple((name, shape * factor) for name, shape in self.terms)
        )

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the sources that act here."""
        return tuple(name for name, _ in self.terms)


def constant(value: float | Array, terms: Iterable[tuple[str, float]] = ()) -> Doubted:
    """A single value (n = 1) with its terms."""
    return Doubted(
        base=np.atleast_1d(np.asarray(value, dtype=float)),
        terms=tuple((name, np.atleast_1d(np.asarray(shape, dtype=float))) for name, shape in terms),
    )
