"""The functional forms that a property in `data/*.toml` may take: one name, one function.

A form reads its own keys from the property's table (and the mass fraction, for a mixture) and returns a law
`(temp, p_abs) -> value`. Laws broadcast, are smooth, never clip, and extrapolate without complaint: whether
a state lies in range is `Fluid.check`'s question. To add a form: write it in a module and add its line.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from headrace.physics.fluids import ethanol_water, water
from headrace.physics.fluids.kinds import Law, Table
from headrace.physics.fluids.polynomial import exp_polynomial, polynomial, vogel

FORMS: Mapping[str, Callable[[Table, float | None], Law]] = MappingProxyType(
    {
        "polynomial": polynomial,
        "exp-polynomial": exp_polynomial,
        "vogel": vogel,
        "if97-saturation": water.saturation_form,  # IAPWS R7-97(2012), 8.1
        "ethanol-water-density": ethanol_water.density_form,  # OIML R 22
        "ethanol-water-viscosity": ethanol_water.viscosity_form,
        "ethanol-water-van-laar": ethanol_water.vapour_form,
    }
)
