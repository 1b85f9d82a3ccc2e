"""What theory says of single injection holes, and how a head adds up from its elements.

For plausibility and planning only: the bench gives the effective area, not these. Start at
`short_tube_cd` for a hole, `head_area_eff` for a head.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from headrace.physics.domain import Values, between, not_negative, positive
from headrace.physics.hydraulics.cavitation import CONTRACTION_SHARP
from headrace.physics.hydraulics.limits import Limits, Range
from headrace.physics.hydraulics.losses import borda_carnot_k, parallel, series


@dataclass(frozen=True, slots=True, kw_only=True)
class JetContraction:
    """Area of a free jet over the area of the opening it leaves, and whose figure it is. [-]"""

    ratio: float
    source: str


JET_CONTRACTIONS: Mapping[str, JetContraction] = MappingProxyType(
    {
        "sharp edge": JetContraction(ratio=CONTRACTION_SHARP, source="Nurick (1976) (from memory)"),
        "plane slot": JetContraction(ratio=math.pi / (math.pi + 2), source="Kirchhoff, free streamlines"),
        "re-entrant mouthpiece": JetContraction(ratio=0.5, source="Borda, momentum theorem; running free"),
    }
)

LICHTAROWICZ_LIMITS = Limits(
    source="Lichtarowicz, Duggins and Markland (1965)",
    ranges=(
        Range(quantity="length_ratio", low=2.0, high=10.0),
        Range(quantity="re", low=10.0, high=2e4),
    ),
)


def short_tube_cd(*, contraction: Values) -> Values:
    """Discharge coefficient of a sharp short tube running full: lossless contraction, then Borda-Carnot.

    1 / sqrt(1 + (1/contraction - 1)**2). Real tubes give some 4 % less.

    Args:
        contraction: Contraction of the jet at the inlet, between 0 and 1. [-]
    Returns:
        Discharge coefficient on the bore. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Borda-Carnot.

    >>> round(float(short_tube_cd(contraction=0.62)), 7)
    0.8526013
    """
    contraction = between("contraction", contraction, 0, 1)
    mixing = borda_carnot_k(area_ratio=contraction) / contraction**2
    cd: Values = 1 / np.sqrt(1 + mixing)
    return cd


def lichtarowicz_cd(*, re: Values, length_ratio: Values) -> Values:
    """Discharge coefficient of a long sharp-edged orifice without cavitation.

    Args:
        re: Reynolds number on bore and IDEAL velocity (`injector.element_re_ideal`); above 0. [-]
        length_ratio: Length over bore; above 0, see `LICHTAROWICZ_LIMITS`. [-]
    Returns:
        Discharge coefficient; within about 2 % of a real orifice inside its limits. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Lichtarowicz, Duggins and Markland, J. Mech. Eng. Sci. 7 (1965), 210 (first line from memory).

    >>> round(float(lichtarowicz_cd(re=1e4, length_ratio=2.0)), 6)
    0.80811
    """
    re = positive("re", re)
    length_ratio = positive("length_ratio", length_ratio)
    ultimate = 0.827 - 0.0085 * length_ratio
    viscous = 20 / re * (1 + 2.25 * length_ratio)
    dip = 0.005 * length_ratio / (1 + 7.5 * np.log10(0.00015 * re) ** 2)
    cd: Values = 1 / (1 / ultimate + viscous - dip)
    return cd


def head_area_eff(*, count: int, area_eff_element: Values, area_eff_manifold: Values) -> Values:
    """Effective area of equal elements side by side behind one manifold resistance.

    Args:
        count: Number of elements; 1 or more. [-]
        area_eff_element: Effective area of one; above 0. [m2]
        area_eff_manifold: Effective area of the manifold before them; above 0. [m2]
    Returns:
        Effective area of the head. [m2]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Flows add side by side, drops add one after another.

    >>> round(1e5 * float(head_area_eff(count=60, area_eff_element=1e-6, area_eff_manifold=2e-4)), 5)
    5.74696
    """
    positive("count", count)
    return series([parallel([count * area_eff_element]), area_eff_manifold])


def head_relative_u(*, count: int, u_element: Values, u_shared: Values) -> Values:
    """Relative uncertainty of the sum of equal elements: own parts average out, the shared part does not.

    Args:
        count: Number of elements; 1 or more. [-]
        u_element: Relative uncertainty of each on its own; 0 or more. [-]
        u_shared: Relative uncertainty that all have in common; 0 or more. [-]
    Returns:
        Relative uncertainty of the head's effective area. [-]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        GUM (JCGM 100:2008), 5.2.

    >>> round(100 * float(head_relative_u(count=60, u_element=0.02, u_shared=0.01)), 6)
    1.032796
    """
    own = not_negative("u_element", u_element) ** 2 / positive("count", count)
    u: Values = np.sqrt(own + not_negative("u_shared", u_shared) ** 2)
    return u
