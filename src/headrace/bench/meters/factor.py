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

IN_PLACE_REACH = 1.5
"""Ratio of Reynolds numbers by which runs may lie beyond those that calibrated their meter in place. Our choice."""

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


def stated_factor(
    field: str,
    given: MeterGiven,
    *,
    certificates: Mapping[str, Certificate],
    references: Mapping[str, Reference],
    more: tuple[Source, ...] = (),
) -> tuple[Factor, tuple[Source, ...]]:
    """`factor_of` a meter whose factor is one of its fields, with the doubt that is stated there."""
    stated = given.values[field]
    return factor_of(
        f"{given.id}.{field}",
        given,
        nominal=stated.value,
        u_own=stated.u / stated.value,
        dist=stated.dist,
        origin=stated.origin or "as given",
        certificates=certificates,
        references=references,
        more=more,
    )


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
    pairs, own = coefficient_sources(
        name, given, u_own=u_own, dist=dist, origin=origin, certificates=certificates, references=references
    )
    kept = tuple(one for one in more if one.u > 0)
    said, scale = _in_place(given), 1.0 if given.in_place is None else given.in_place.factor
    pairs = (*pairs, *((one.name, 1.0) for one in kept), *((one.name, weight) for one, weight in said))
    sources = tuple({one.name: one for one in (*(one for one, _ in said), *own, *kept)}.values())
    points = () if given.certificate is None else certificates[given.certificate].points
    if not points:
        return Factor(values=(nominal * scale,), pairs=pairs), sources
    certificate = certificates[str(given.certificate)]
    curve = Factor(
        at=tuple(p[0] for p in points),
        values=tuple(p[1] * scale for p in points),
        over=certificate.over,
        pairs=pairs,
    )
    return curve, sources


def _in_place(given: MeterGiven) -> tuple[tuple[Source, float], ...]:
    """What runs that calibrate it say: sources with their weights."""
    parts = () if given.in_place is None else given.in_place.parts
    return tuple(
        (
            Source(
                name=one.name,
                u=one.u,
                dist=one.dist,
                dof=one.dof,
                scope=one.scope,
                origin=one.origin,
                group="water",
            ),
            one.weight,
        )
        for one in parts
    )


def together(*groups: tuple[Source, ...]) -> tuple[Source, ...]:
    """All sources, each once: one that a calibration in place carries too is the same."""
    return tuple({one.name: one for group in groups for one in group}.values())


def beyond(
    factor: Factor, given: MeterGiven, spans: Mapping[str, tuple[float, float] | None]
) -> tuple[Breach, ...]:
    """Where the meter worked outside the points of its certificate. spans: least and most seen, by quantity."""
    out = []
    if factor.at:
        where = f"certificate {given.certificate}, points"
        out.append(_left(factor.over, spans.get(factor.over), (factor.at[0], factor.at[-1]), where))
    said = given.in_place
    if said is not None and said.re is not None:
        ends = (said.re[0] / IN_PLACE_REACH, said.re[1] * IN_PLACE_REACH)
        out.append(_left("re", spans.get("re"), ends, f"calibration in place, {', '.join(said.runs)}"))
    return tuple(one for one in out if one is not None)


def _left(
    quantity: str, span: tuple[float, float] | None, ends: tuple[float, float], source: str
) -> Breach | None:
    if span is None:
        return None
    found = span[0] if span[0] < ends[0] else span[1]
    if ends[0] <= found <= ends[1]:
        return None
    return Breach(quantity=quantity, found=found, low=ends[0], high=ends[1], source=source)


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
