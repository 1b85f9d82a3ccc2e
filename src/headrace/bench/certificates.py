"""Certificates over time: which corrections hold on a day, up and down; what drifted between two certificates.

A certificate states points as it left the instrument, and perhaps as it found it before an adjustment. A run between
two certificates takes its corrections from a straight line in time: from as the former left it to as the later found
it. Outside their points corrections are held. Start at `corrected`.
"""

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.records.given import Certificate

Array = NDArray[np.float64]
Points = tuple[tuple[float, float], ...]

DAYS_PER_YEAR = 365.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """Points that count with a weight: indicated and true values, read upwards and downwards."""

    weight: float
    points: Points
    falling: Points


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """How the corrections went from as one certificate left an instrument to as the next one found it."""

    former: Certificate
    later: Certificate

    @property
    def years(self) -> float:
        """Between the two."""
        return (self.later.date - self.former.date).days / DAYS_PER_YEAR

    @property
    def greatest(self) -> float:
        """Greatest change at any point of the two, SI, signed."""
        old, new = self._ends()
        at = np.array(sorted({p[0] for points in (*old, *new) for p in points}))
        change = np.concatenate([self.at(at, -1.0), self.at(at, 1.0)])
        return float(change[np.argmax(np.abs(change))])

    def at(self, values: Array, travel: Array | float) -> Array:
        """The change at indicated values, SI; travel as in `corrected`."""
        old, new = ((_blended(*ends, values, travel)) for ends in self._ends())
        return new - old

    def _ends(self) -> tuple[tuple[Points, Points], tuple[Points, Points]]:
        return (self.former.points, self.former.falling), _found(self.later)


def corrected(
    certificate: Certificate | None,
    values: Array,
    *,
    certificates: Mapping[str, Certificate] | None = None,
    on: datetime.date | None = None,
    travel: Array | float = -1.0,
) -> Array:
    """Values with the certificate's corrections (true minus indicated, linear between its points) added.

    Args:
        certificate: the instrument's last one, or None.
        values: as indicated, SI.
        certificates: all by id, for the former one. on: the day of the values; None: after the certificate.
        travel: -1 where a value was reached from below, +1 from above; between them, in proportion.
    """
    if certificate is None:
        return values
    out = values
    for share in _holding(certificate, certificates or {}, on):
        if not share.points:
            continue
        out = out + share.weight * _blended(share.points, share.falling, values, travel)
    return out


def both_ways(certificate: Certificate, certificates: Mapping[str, Certificate]) -> bool:
    """Whether it or one before it was read upwards and downwards."""
    return any(one.falling or one.as_found_falling for one in _chain(certificate, certificates))


def former_of(certificate: Certificate, certificates: Mapping[str, Certificate]) -> Certificate | None:
    """The certificate before this one of the same instrument; it is older, as `files` sees to."""
    return None if certificate.former is None else certificates.get(certificate.former)


def between(
    certificate: Certificate, certificates: Mapping[str, Certificate], on: datetime.date
) -> tuple[Certificate, Certificate] | None:
    """The two certificates that stand before and after a day, or None."""
    for later in _chain(certificate, certificates):
        former = former_of(later, certificates)
        if former is not None and former.date <= on < later.date:
            return former, later
    return None


def change_of(certificate: Certificate, certificates: Mapping[str, Certificate]) -> Change | None:
    """What changed from the former certificate to this one; None without a former, or where one states no points."""
    former = former_of(certificate, certificates)
    if former is None or not _found(certificate)[0] or not former.points:
        return None
    return Change(former=former, later=certificate)


def change_per_year(certificate: Certificate, certificates: Mapping[str, Certificate]) -> float | None:
    """Greatest change of the correction from as the former left it to as this one found it, SI per year, signed.

    None where there is no former one, or one of the two states no points.
    """
    change = change_of(certificate, certificates)
    return None if change is None else change.greatest / change.years


def reach(
    certificate: Certificate, certificates: Mapping[str, Certificate], on: datetime.date
) -> tuple[float, float] | None:
    """Lowest and highest indicated value among the points that hold on a day; None without points."""
    shown = [
        p[0] for share in _holding(certificate, certificates, on) for p in (*share.points, *share.falling)
    ]
    return (min(shown), max(shown)) if shown else None


def _chain(certificate: Certificate, certificates: Mapping[str, Certificate]) -> Iterator[Certificate]:
    """This certificate and those before it, latest first."""
    at: Certificate | None = certificate
    while at is not None:
        yield at
        at = former_of(at, certificates)


def _holding(
    certificate: Certificate, certificates: Mapping[str, Certificate], on: datetime.date | None
) -> tuple[Share, ...]:
    """The sets of points that hold on a day, with weights that add up to one."""
    if on is None or on >= certificate.date:
        return (Share(weight=1.0, points=certificate.points, falling=certificate.falling),)
    found, found_falling = _found(certificate)
    former = former_of(certificate, certificates)
    if former is None:
        return (Share(weight=1.0, points=found, falling=found_falling),)
    if on < former.date:
        return _holding(former, certificates, on)
    late = (on - former.date).days / (certificate.date - former.date).days
    return (
        Share(weight=1 - late, points=former.points, falling=former.falling),
        Share(weight=late, points=found, falling=found_falling),
    )


def _found(certificate: Certificate) -> tuple[Points, Points]:
    """Points as it found the instrument, upwards and downwards; without an adjustment those it left it with."""
    if certificate.as_found:
        return certificate.as_found, certificate.as_found_falling
    return certificate.points, certificate.falling


def _blended(points: Points, falling: Points, values: Array, travel: Array | float) -> Array:
    """The correction on the way that each value was reached; between both ways in proportion."""
    up = _correction(points, values)
    down = _correction(falling, values) if falling else up
    return np.asarray(up + (down - up) * (1 + np.asarray(travel)) / 2)


def _correction(points: Points, values: Array) -> Array:
    if not points:
        return np.zeros_like(values)
    shown = np.array([point[0] for point in points])
    true = np.array([point[1] for point in points])
    order = np.argsort(shown)
    return np.asarray(np.interp(values, shown[order], (true - shown)[order]))
