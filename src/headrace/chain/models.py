"""How the effective area may go with Reynolds number: one entry for each model. To add one: a scale, and a line below.

A model is ln E = level + coefficient * (scale(Re) - scale(re_ref)) / (d scale / d ln Re at re_ref), so that every
coefficient is d ln E / d ln Re at re_ref, whatever the model, and the level is the mean of the readings.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReModel:
    """One model. scale: rises with Re; per_ln: d scale / d ln Re; inverse: Re of a scale. None of all: constant.

    Source: in `source`.
    """

    name: str
    words: str
    source: str
    scale: Callable[[Array], Array] | None = None
    per_ln: Callable[[Array], Array] | None = None
    inverse: Callable[[Array], Array] | None = None

    @property
    def coefficients(self) -> int:
        """How many the readings have to give: the level, and a slope unless it is constant."""
        return 1 if self.scale is None else 2

    def reference(self, re: ArrayLike, weights: ArrayLike) -> float:
        """Re at which the model meets the weighted mean of ln E: the mean in its own scale.

        Args:
            re: (n,), above 0. weights: (n,), adding to 1.
        """
        values, shares = np.asarray(re, dtype=np.float64), np.asarray(weights, dtype=np.float64)
        if self.scale is None or self.inverse is None:
            return float(np.exp(shares @ np.log(values)))
        return float(self.inverse(np.asarray(shares @ self.scale(values))))

    def basis(self, re: ArrayLike, re_ref: float) -> Array:
        """What the coefficient multiplies: 0 at re_ref, and there of slope 1 in ln Re; 0 everywhere if constant."""
        values = np.asarray(re, dtype=np.float64)
        if self.scale is None or self.per_ln is None:
            return np.zeros_like(values)
        at = np.asarray(re_ref)
        return np.asarray((self.scale(values) - self.scale(at)) / self.per_ln(at))


def _negative_root(re: Array) -> Array:
    return np.asarray(-1 / np.sqrt(re))


def _half_root(re: Array) -> Array:
    return np.asarray(0.5 / np.sqrt(re))


def _of_negative_root(scale: Array) -> Array:
    return np.asarray(scale**-2.0)


MODELS: Mapping[str, ReModel] = MappingProxyType(
    {
        one.name: one
        for one in (
            ReModel(name="constant", words="constant", source="common practice"),
            ReModel(
                name="slope",
                words="log slope",
                source="power of Reynolds number, common practice",
                scale=np.log,
                per_ln=np.ones_like,
                inverse=np.exp,
            ),
            ReModel(
                name="inverse-root",
                words="inverse root",
                source="boundary layers of laminar growth: E = E_inf (1 - a Re^-1/2), common practice",
                scale=_negative_root,
                per_ln=_half_root,
                inverse=_of_negative_root,
            ),
        )
    }
)
"""Every model that is tried, simplest first."""
