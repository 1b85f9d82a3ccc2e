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
        rising = _correction(share.points, values)
        falling = _correction(share.falling, values) if share.falling else rising
        out = out + share.weight * (rising + (falling - rising) * (1 + np.asarray(travel)) / 2)
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


def change_per_year(certificate: Certificate, certificates: Mapping[str, Certificate]) -> float | None:
    """Greatest change of the correction from as the former left it to as this one found it, SI per year, signed.

    None where there is no former one, or one of the two states no points.
    """
    former = former_of(certificate, certificates)
    found = certificate.as_found or certificate.points
    if former is None or not found or not former.points:
        return None
    at = np.array(sorted({point[0] for point in (*found, *former.points)}))
    change = _correction(found, at) - _correction(former.points, at)
    years = (certificate.date - former.date).days / DAYS_PER_YEAR
    return float(change[np.argmax(np.abs(change))]) / years


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
    found, found_falling = certificate.points, certificate.falling
    if certificate.as_found:
        found, found_falling = certificate.as_found, certificate.as_found_falling
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


def _correction(points: Points, values: Array) -> Array:
    if not points:
        return np.zeros_like(values)
    shown = np.array([point[0] for point in points])
    true = np.array([point[1] for point in points])
    order = np.argsort(shown)
    return np.asarray(np.interp(values, shown[order], (true - shown)[order]))
