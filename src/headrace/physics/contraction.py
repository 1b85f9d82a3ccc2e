"""How the bores of an injector shrink in the cold and grow in the warm, by alloy.

An effective area measured in water at room temperature is carried to propellant temperature by
`area_factor`. The hole is taken to follow the metal freely, at one temperature: a face that is still cooling
down, or a plate held by a warmer flange, does not, hence the wide doubt of `u_area_factor`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from headrace.physics.domain import Values, positive

DATABASE = (
    "Marquardt, Le and Radebaugh, Cryogenic Material Properties Database, 11th International Cryocooler "
    "Conference (2000), and its on-line fits by NIST; coefficients read in public copies"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Alloy:
    """One metal: its expansion relative to 293 K is 1e-5 * sum of coefficients[k] * T^k.

    temp_min, temp_max [K]: where the fit holds; fit: its stated misfit to the data, relative; source.
    """

    title: str
    coefficients: tuple[float, ...]
    temp_min: float
    temp_max: float
    fit: float
    source: str


STAINLESS = Alloy(
    title="austenitic stainless steel (304, 304L, 310, 316)",
    coefficients=(-2.9554e2, -3.9811e-1, 9.2683e-3, -2.0261e-5, 1.7127e-8),
    temp_min=23.0,
    temp_max=350.0,
    fit=0.05,
    source=f"{DATABASE}; fit to 300 K, 50 K more by its own slope of 15.5e-6 to 16e-6 per K",
)
ALUMINIUM = Alloy(
    title="aluminium alloy (6061-T6, 5083, 3003)",
    coefficients=(-4.1277e2, -3.0389e-1, 8.7696e-3, -9.9821e-6),
    temp_min=18.0,
    temp_max=350.0,
    fit=0.04,
    source=f"{DATABASE}; fit to 300 K, 50 K more by its own slope of 22e-6 to 23e-6 per K",
)
NICKEL_718 = Alloy(
    title="nickel alloy 718",
    coefficients=(-2.368e2, -2.120e-1, 5.497e-3, -6.882e-6),
    temp_min=20.0,
    temp_max=350.0,
    fit=0.02,
    source=f"{DATABASE}; fit to 300 K, 50 K more by its own slope",
)
COPPER = Alloy(
    title="copper and copper-beryllium",
    coefficients=(-3.1150e2, -4.4498e-1, 1.0133e-2, -2.4718e-5, 2.6277e-8),
    temp_min=24.0,
    temp_max=350.0,
    fit=0.03,
    source=f"{DATABASE}, copper-beryllium; pure copper contracts by 2 % more (from memory)",
)
BRASS = Alloy(
    title="brass",
    coefficients=tuple(1.19 * one for one in COPPER.coefficients),
    temp_min=24.0,
    temp_max=350.0,
    fit=0.05,
    source="from memory: 0.353 % from 293 K to 77 K, spread over temperature as copper-beryllium's",
)
RIGID = Alloy(
    title="no contraction applied",
    coefficients=(0.0,),
    temp_min=0.0,
    temp_max=np.inf,
    fit=0.0,
    source="the user's choice",
)

ALLOYS: Mapping[str, Alloy] = MappingProxyType(
    {
        "austenitic-steel": STAINLESS,
        "aluminium": ALUMINIUM,
        "nickel-718": NICKEL_718,
        "copper": COPPER,
        "brass": BRASS,
        "none": RIGID,
    }
)


def expansion(*, alloy: Alloy, temp: Values) -> Values:
    """Relative change of length from 293 K; negative in the cold.

    Args:
        alloy: One of `ALLOYS`.
        temp: Metal temperature; the fit holds from alloy.temp_min to alloy.temp_max. [K]
    Returns:
        (L - L293)/L293. [-]
    Raises:
        OutOfDomain: temp not above 0, or NaN (an entry of an array becomes NaN instead).
    Source:
        As the alloy says.

    >>> round(float(expansion(alloy=ALLOYS["austenitic-steel"], temp=77.0)), 4)
    -0.0028
    """
    temp = positive("temp", temp, "a Celsius reading, or a missing value?")
    total: Values = alloy.coefficients[-1] + 0.0 * temp
    for coefficient in reversed(alloy.coefficients[:-1]):
        total = total * temp + coefficient
    return 1e-5 * total


def area_factor(*, alloy: Alloy, temp: Values, temp_ref: Values) -> Values:
    """Area of a hole at `temp` over its area at `temp_ref`.

    Args:
        alloy: One of `ALLOYS`.
        temp: Metal temperature in use. [K]
        temp_ref: Metal temperature when the area was measured, that of the water. [K]
    Returns:
        ((1 + e(temp))/(1 + e(temp_ref)))^2. [-]
    Raises:
        OutOfDomain: a temperature not above 0, or NaN (an entry of an array becomes NaN instead).
    Source:
        A hole scales as the metal around it; expansions as the alloy says.

    >>> round(float(area_factor(alloy=ALLOYS["austenitic-steel"], temp=90.0, temp_ref=293.0)), 4)
    0.9946
    """
    value: Values = (
        (1 + expansion(alloy=alloy, temp=temp)) / (1 + expansion(alloy=alloy, temp=temp_ref))
    ) ** 2
    return value


def u_area_factor(*, alloy: Alloy, temp: Values, temp_ref: Values) -> Values:
    """Standard uncertainty of `area_factor`: one third of the effect; arguments as there. [-]

    The fits are better than that; that the whole face has reached one temperature is not known.
    Source: common practice.

    >>> round(float(u_area_factor(alloy=ALLOYS["aluminium"], temp=90.0, temp_ref=293.0)), 4)
    0.0025
    """
    value: Values = np.abs(area_factor(alloy=alloy, temp=temp, temp_ref=temp_ref) - 1) / 3
    return value
