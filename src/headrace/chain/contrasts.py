"""Results that should agree, as a model: ln of ratios of effective areas, so that what both share cancels by itself."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from headrace.chain.water import WaterChain
from headrace.uncertainty.errors_map import Errors, Values

Array = NDArray[np.float64]

Combination = tuple[tuple[str, float], ...]
"""Factors of ln of the areas, by key."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ContrastModel:
    """Each contrast is ln(sum of areas above / sum of areas below), by keys of the chain's fits.

    combinations: weighted sums of ln of the areas.
    """

    water: WaterChain
    contrasts: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]]
    combinations: Mapping[str, Combination] = field(default_factory=dict)

    def __call__(self, errors: Errors) -> dict[str, Values]:
        """ln ratio of each contrast, value of each combination."""
        logs = self.water.ln_areas(errors, {})
        areas = {key: np.exp(value) for key, value in logs.items()}
        mixed: dict[str, Values] = {
            name: np.asarray(sum(factor * logs[key] for key, factor in parts))
            for name, parts in self.combinations.items()
        }
        return mixed | {
            name: np.log(_sum(areas, above)) - np.log(_sum(areas, below))
            for name, (above, below) in self.contrasts.items()
        }


def _sum(areas: Mapping[str, Array], keys: tuple[str, ...]) -> Array:
    total: Array = areas[keys[0]]
    for key in keys[1:]:
        total = total + areas[key]
    return total
