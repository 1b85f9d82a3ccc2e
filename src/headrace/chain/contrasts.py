"""Results that should agree, as a model: ln of ratios of effective areas, so that what both share cancels by itself."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.chain.water import WaterChain
from headrace.uncertainty.errors_map import Errors, Values

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class ContrastModel:
    """Each contrast is ln(sum of areas above / sum of areas below), by keys of the chain's fits."""

    water: WaterChain
    contrasts: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]]

    def __call__(self, errors: Errors) -> dict[str, Values]:
        """ln ratio of each contrast."""
        areas = {key: np.exp(value) for key, value in self.water.ln_areas(errors, {}).items()}
        return {
            name: np.log(_sum(areas, above)) - np.log(_sum(areas, below))
            for name, (above, below) in self.contrasts.items()
        }


def _sum(areas: Mapping[str, Array], keys: tuple[str, ...]) -> Array:
    total: Array = areas[keys[0]]
    for key in keys[1:]:
        total = total + areas[key]
    return total
