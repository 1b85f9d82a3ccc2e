"""Density of a propellant in its feed, as a frozen law of temperature and pressure. Start at `DensityLaw`."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from headrace.physics.fluids import fluid
from headrace.uncertainty.errors_map import Values

Array = NDArray[np.float64]


class DensityLaw(Protocol):
    """Density [kg/m3] at a temperature [K] and an absolute pressure [Pa]; broadcasts, picklable, pure."""

    def __call__(self, temp: Values, p_abs: Values) -> Array:
        """Density [kg/m3]."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class FluidDensity:
    """The table of a propellant, times measured batch over table (1 without a batch)."""

    propellant: str
    factor: float = 1.0

    def __call__(self, temp: Values, p_abs: Values) -> Array:
        """Density [kg/m3]."""
        return np.asarray(fluid(self.propellant).rho(temp, p_abs)) * self.factor


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedDensity:
    """The same density everywhere: a liquid taken as incompressible [kg/m3]."""

    rho: float

    def __call__(self, temp: Values, p_abs: Values) -> Array:
        """Density [kg/m3], in the shape of temperature and pressure together."""
        return np.full(np.broadcast_shapes(np.shape(temp), np.shape(p_abs)), self.rho)
