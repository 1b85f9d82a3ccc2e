"""Properties of the liquids that flow: density, viscosity, vapour pressure, each with source, range, doubt.

Start at `fluid(name)`; `PROPELLANTS` lists the names. The rest of physics takes densities as numbers and
never asks this package.
"""

from headrace.physics.fluids.fluid import Fluid, Outside, Property
from headrace.physics.fluids.registry import PROPELLANTS, fluid

__all__ = ["PROPELLANTS", "Fluid", "Outside", "Property", "fluid"]
