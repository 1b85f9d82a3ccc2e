"""Local losses and the one resistance that all of them turn into: the effective area.

A loss coefficient K belongs to the velocity head of one named bore; an effective area belongs to none,
so resistances are added as effective areas. Start at `area_eff_from_k` and `series`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from headrace.physics.domain import Values, kept, not_negative, positive


@dataclass(frozen=True, slots=True, kw_only=True)
class Entrance:
    """Loss of a pipe entrance on the pipe's velocity head, and whose figure it is."""

    k: float
    source: str


ENTRANCES: Mapping[str, Entrance] = MappingProxyType(
    {
        "sharp": Entrance(k=0.5, source="Crane TP-410; Idelchik and Blevins give the same"),
        "sharp (Rennels)": Entrance(k=0.57, source="Rennels and Hudson, Pipe Flow (2012)"),
        "projecting": Entrance(k=0.78, source="Crane TP-410"),
    }
)

KV_DP, KV_RHO = 1e5, 1000.0
"""Kv is the flow in m3/h at 1 bar of water of 1000 kg/m3."""

CV_GALLON, CV_PSI = 3.785411784e-3, 6894.757293168
"""Cv is the flow in US gallons a minute at 1 psi of the same water. [m3] [Pa]"""


def borda_carnot_k(*, area_ratio: Values) -> Values:
    """Loss of a sudden enlargement on the smaller bore's velocity head: (1 - area_ratio)**2.

    Args:
        area_ratio: Area before over area behind; 0 (exit into a vessel) to 1. [-]
    Returns:
        Loss coefficient K on the smaller bore. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Borda-Carnot.

    >>> borda_carnot_k(area_ratio=0.25), borda_carnot_k(area_ratio=0.0)
    (0.5625, 1.0)
    """
    ok = np.greater_equal(area_ratio, 0) & np.less_equal(area_ratio, 1)
    return (1 - kept("area_ratio", area_ratio, ok, "from 0 to 1", "areas swapped?")) ** 2


def k_rebased(*, k: Values, d_from: Values, d_to: Values) -> Values:
    """The same loss on the velocity head of another bore: k * (d_to / d_from)**4.

    Args:
        k: Loss coefficient on the bore d_from; 0 or more. [-]
        d_from: Bore that k belongs to; above 0. [m]
        d_to: Bore wanted; above 0. [m]
    Returns:
        Loss coefficient on d_to. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Continuity.

    >>> round(k_rebased(k=32.688757, d_from=0.01, d_to=0.02), 4)
    523.0201
    """
    return not_negative("k", k) * (positive("d_to", d_to) / positive("d_from", d_from)) ** 4


def area_eff_from_k(*, k: Values, area: Values) -> Values:
    """Effective area of a loss: area / sqrt(k), so that m_dot = area_eff * sqrt(2 rho dp).

    Args:
        k: Loss coefficient on the area's velocity head; above 0. [-]
        area: Area that k belongs to; above 0. [m2]
    Returns:
        Effective area. [m2]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definition.

    >>> round(1e4 * float(area_eff_from_k(k=10.0, area=2.1647537e-3)), 6)
    6.845552
    """
    area_eff: Values = positive("area", area) / np.sqrt(positive("k", k))
    return area_eff


def k_from_area_eff(*, area_eff: Values, area: Values) -> Values:
    """Loss coefficient on a named area: `area_eff_from_k` turned round.

    Args:
        area_eff: Effective area; above 0. [m2]
        area: Area whose velocity head k shall belong to; above 0. [m2]
    Returns:
        Loss coefficient K. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definition.

    >>> round(k_from_area_eff(area_eff=6.8455522e-4, area=2.1647537e-3), 5)
    10.0
    """
    return (positive("area", area) / positive("area_eff", area_eff)) ** 2


def area_eff_from_kv(*, kv: Values) -> Values:
    """Effective area of a valve from its Kv (m3/h at 1 bar of cold water).

    Args:
        kv: Flow coefficient; above 0. [m3/h]
    Returns:
        Effective area. [m2]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definition of Kv.

    >>> round(1e4 * float(area_eff_from_kv(kv=10.0)), 6)
    1.964186
    """
    return positive("kv", kv) / 3600 / float(np.sqrt(2 * KV_DP / KV_RHO))


def kv_from_cv(*, cv: Values) -> Values:
    """Kv of a valve from its Cv (US gallons a minute at 1 psi of the same water).

    Args:
        cv: Flow coefficient; above 0. [US gal/min]
    Returns:
        Kv. [m3/h]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definitions of Kv and Cv.

    >>> round(kv_from_cv(cv=1.0), 7)
    0.8649777
    """
    return positive("cv", cv) * CV_GALLON * 60 * float(np.sqrt(KV_DP / CV_PSI))


def series(areas: Sequence[Values]) -> Values:
    """Effective area of resistances one after another: 1 / area_eff**2 adds.

    Args:
        areas: Effective areas, at least one; each above 0. [m2]
    Returns:
        Effective area of the whole. [m2]
    Raises:
        OutOfDomain: none given, or a lone number outside its range.
    Source:
        Drops add at one flow.

    >>> round(1e6 * float(series([1e-5, 2e-5])), 6)
    8.944272
    """
    _refuse_none(areas)
    whole: Values = 1 / np.sqrt(sum(positive("area_eff", area) ** -2 for area in areas))
    return whole


def parallel(areas: Sequence[Values]) -> Values:
    """Effective area of resistances side by side between the same two pressures: areas add.

    Args:
        areas: Effective areas, at least one; each 0 or more. [m2]
    Returns:
        Effective area of the whole. [m2]
    Raises:
        OutOfDomain: none given, or a lone number outside its range.
    Source:
        Flows add at one drop.

    >>> round(1e5 * parallel([1e-5, 2.5e-5]), 6)
    3.5
    """
    _refuse_none(areas)
    return sum((not_negative("area_eff", area) for area in areas), start=0.0)


def _refuse_none(areas: Sequence[Values]) -> None:
    positive("number of resistances", float(len(areas)))
