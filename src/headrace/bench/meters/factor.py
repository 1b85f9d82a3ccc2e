"""The factor by which a meter counts: one number or a curve by certificate, with all that may be wrong with it.

A discharge coefficient, true over shown flow, pulses per litre: what is common to every kind stands here. Start at
`factor_of`.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.physics.hydraulics.limits import Breach
from headrace.records.given import Certificate, MeterGiven, Reference
from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]
Pairs = tuple[tuple[str, float], ...]

ROUNDS = 6
"""Times that a factor which hangs on the flow is looked up again. It changes by a per cent or two over a decade of
flow, so that each round gains about two digits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """values over `at`, linear between and held outside; one value: the same everywhere. pairs: relative errors."""

    values: tuple[float, ...]
    at: tuple[float, ...] = ()
    over: str = ""
    pairs: Pairs = ()

    @property
    def middle(self) -> float:
        """A value to begin with."""
        return self.values[len(self.values) // 2]

    def of(self, errors: Errors, x: Array | float) -> Array:
        """The factor at x (of the quantity that `over` names), shape as x and draws."""
        nominal = np.interp(x, self.at, self.values) if self.at else np.asarray(self.values[0])
        return np.asarray(nominal * (1 + total(errors, self.pairs)))


def total(errors: Errors, pairs: Pairs) -> Array:
    """Sum of weight * error over the pairs: the relative error of a factor."""
    out: Array = np.zeros(1)
    for name, weight in pairs:
        out = out + weight * np.atleast_1d(np.asarray(errors[name], dtype=float))
    return out


def factor_of(
    name: str,
    given: MeterGiven,
    *,
    nominal: float,
    u_own: float,
    dist: str,
    origin: str,
    certificates: Mapping[str, Certificate],
    references: Mapping[str, Reference],
    more: tuple[Source, ...] = (),
) -> tuple[Factor, tuple[Source, ...]]:
    """The factor of a meter with its sources: by the points of its certificate where it states some, else `nominal`.

    Args:
        name: of its own source. nominal: without points.
        u_own, dist, origin: its relative standard uncertainty without a certificate.
        more: further relative errors of it, such as linearity.
    """
    pairs, sources = coefficient_sources(
        name, given, u_own=u_own, dist=dist, origin=origin, certificates=certificates, references=references
    )
    kept = tuple(one for one in more if one.u > 0)
    pairs = (*pairs, *((one.name, 1.0) for one in kept))
    points = () if given.certificate is None else certificates[given.certificate].points
    if not points:
        return Factor(values=(nominal,), pairs=pairs), (*sources, *kept)
    certificate = certificates[str(given.certificate)]
    curve = Factor(
        at=tuple(p[0] for p in points), values=tuple(p[1] for p in points), over=certificate.over, pairs=pairs
    )
    return curve, (*sources, *kept)


def beyond(
    factor: Factor, given: MeterGiven, spans: Mapping[str, tuple[float, float] | None]
) -> tuple[Breach, ...]:
    """Where the meter worked outside the points of its certificate. spans: least and most seen, by quantity."""
    span = spans.get(factor.over)
    if not factor.at or span is None:
        return ()
    low, high = factor.at[0], factor.at[-1]
    found = span[0] if span[0] < low else span[1]
    if low <= found <= high:
        return ()
    where = f"certificate {given.certificate}, points"
    return (Breach(quantity=factor.over, found=found, low=low, high=high, source=where),)


def coefficient_sources(
    name: str,
    given: MeterGiven,
    *,
    u_own: float,
    dist: str,
    origin: str,
    certificates: Mapping[str, Certificate],
    references: Mapping[str, Reference],
) -> tuple[Pairs, tuple[Source, ...]]:
    """Sources of a relative calibration factor: its own, and its reference standard's when the certificate names one.

    Returns (source name, weight) pairs whose errors add to the relative error, and the sources themselves. A
    certificate replaces `u_own`, all its parts taken as parts of reading; the reference's share is taken out of
    that total, in squares, so that it counts once.
    """
    if given.certificate is None:
        own = Source(name=name, u=u_own, dist=dist, scope="instrument", origin=origin, group="water")
        return ((name, 1.0),), (own,)
    certificate = certificates[given.certificate]
    promise = certificate.accuracy
    u_total = promise.of_reading + promise.of_span + promise.absolute
    shared: list[Source] = []
    if certificate.reference is not None:
        reference = references[certificate.reference]
        shared.append(reference_source(reference))
        u_total = float(np.sqrt(max(u_total**2 - reference.of_reading**2, 0.0)))
    own = Source(
        name=name,
        u=u_total,
        dist=promise.dist,
        scope="instrument",
        origin=f"certificate {certificate.id}",
        group="water",
    )
    pairs = ((name, 1.0), *((source.name, 1.0) for source in shared))
    return pairs, (own, *shared)


def reference_source(reference: Reference) -> Source:
    """The one source of a reference standard, by the one name under which it acts everywhere."""
    return Source(
        name=f"{reference.id}.gain",
        u=reference.of_reading,
        dist="normal",
        scope="shared",
        origin=reference.origin,
        group="water",
    )
