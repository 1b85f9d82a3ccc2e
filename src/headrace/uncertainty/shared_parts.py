"""Correlated inputs as shared parts: a covariance matrix turned into independent sources of error.

Where the cause of a correlation is known, it is one source that acts in two places and needs nothing from
here. Where only a covariance matrix is known (inputs measured together), `shared_parts` writes the errors as
sums of independent parts: the first input has one part, the second shares that part and has one of its own,
and so on (Cholesky's triangle). Start at `shared_parts`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import ArrayLike, NDArray

from headrace.uncertainty.errors_map import Errors, Values
from headrace.uncertainty.source import Source

ROUNDING = 1e-10
"""What is left of a correlation matrix below this is taken as nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedParts:
    """Independent sources, and how they add up to the errors of the correlated inputs.

    names: the inputs. sources: as many parts, each in the unit of its own input.
    mix: (inputs, parts), unit triangle: error of input i is sum_k mix[i, k] * part k.
    """

    names: tuple[str, ...]
    sources: tuple[Source, ...]
    mix: NDArray[np.float64]

    def spread(self, errors: Errors) -> dict[str, Values]:
        """Errors of the inputs, by name, from the errors of the parts."""
        result: dict[str, Values] = {}
        for i, name in enumerate(self.names):
            total: Values = 0.0
            for k in range(i + 1):
                total = total + float(self.mix[i, k]) * errors[self.sources[k].name]
            result[name] = total
        return result

    @property
    def covariance(self) -> NDArray[np.float64]:
        """The covariance of the inputs that the parts stand for."""
        u = np.array([source.u for source in self.sources])
        half = self.mix * u
        product: NDArray[np.float64] = half @ half.T
        return product


def shared_parts(
    names: Sequence[str],
    covariance: ArrayLike,
    *,
    scope: str,
    origin: str,
    dof: float = inf,
    group: str = "",
) -> SharedParts:
    """Independent normal sources that together have the given covariance.

    Args:
        names: The correlated inputs, each once. Part k is called "c | a, b": what input c has beyond a and b.
        covariance: Symmetric and without negative eigenvalues, units of the inputs multiplied.
        scope, origin, dof, group: As in `Source`, for all parts.
    Returns:
        The parts and how to spread them.
    Raises:
        ValueError: the matrix has another shape, is not symmetric, or is no covariance.
    Source:
        JCGM 101:2008, 6.4.8 draws correlated inputs by the same triangle (from memory).

    >>> parts = shared_parts(["a", "b"], [[4.0, 2.0], [2.0, 5.0]], scope="run", origin="example")
    >>> [(part.name, round(part.u, 9)) for part in parts.sources]
    [('a', 2.0), ('b | a', 2.0)]
    """
    matrix = np.asarray(covariance, dtype=np.float64)
    size = len(names)
    if matrix.shape != (size, size) or len(set(names)) != size:
        raise ValueError(f"a covariance of {size} different inputs is ({size}, {size}), not {matrix.shape}")
    scale = np.sqrt(np.abs(np.diag(matrix)))
    unit = np.where(scale > 0, scale, 1.0)
    left = matrix / np.outer(unit, unit)
    if not np.all(np.abs(left - left.T) <= ROUNDING):
        raise ValueError("the covariance is not symmetric, or holds NaN")
    mix, own = np.eye(size), np.zeros(size)
    for k in range(size):
        pivot, column = left[k, k], left[k:, k].copy()
        if pivot > ROUNDING:
            mix[k:, k], own[k] = column / pivot, np.sqrt(pivot)
            left[k:, k:] -= np.outer(column, column) / pivot
        elif pivot < -ROUNDING or np.any(np.abs(column) > np.sqrt(ROUNDING)):
            raise ValueError("the matrix is no covariance: it has a negative eigenvalue")
    mix = mix * unit[:, None] / unit[None, :]
    own = own * scale
    return SharedParts(
        names=tuple(names),
        sources=tuple(
            Source(
                name=name if k == 0 else f"{name} | {', '.join(names[:k])}",
                u=float(own[k]),
                dof=dof,
                scope=scope,
                origin=origin,
                group=group,
            )
            for k, name in enumerate(names)
        ),
        mix=mix,
    )
