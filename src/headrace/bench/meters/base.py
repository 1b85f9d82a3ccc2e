"""What every meter kind offers. A kind is one object: its declared fields, its sources of error, its frozen law."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from headrace.physics.hydraulics.limits import Breach
from headrace.records.given import Certificate, MeterGiven, Reference
from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field of a meter in bench.toml: its name, dimension, whether it must be given, and a line of help."""

    name: str
    dimension: str
    required: bool
    help: str


class FlowLaw(Protocol):
    """A frozen meter: from its signal to mass flow, under errors. Picklable, pure."""

    def m_dot(self, errors: Errors, *, signal: Array, rho: Array, mu: float) -> Array:
        """Mass flow [kg/s], shape (slices, draws), from the meter's signal (drop [Pa], or its own flow) and density."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A meter made ready: its law, the sources of error it brings, what is outside its scope.

    own: its coefficient is its own (stated or certified), so that leaving the standard's scope widened nothing.
    """

    law: FlowLaw
    sources: tuple[Source, ...]
    outside: tuple[Breach, ...] = ()
    own: bool = False


class MeterKind(Protocol):
    """A kind of meter, as METERS holds it."""

    @property
    def title(self) -> str:
        """What it is, in words."""
        ...

    @property
    def fields(self) -> tuple[Field, ...]:
        """Its own fields in bench.toml."""
        ...

    @property
    def role(self) -> str:
        """The instrument role that carries its signal: "dp" or "signal"."""
        ...

    @property
    def measures(self) -> tuple[str, ...]:
        """What that instrument may measure."""
        ...

    def build(
        self,
        given: MeterGiven,
        *,
        certificates: Mapping[str, Certificate],
        references: Mapping[str, Reference],
        re_pipe: tuple[float, float],
    ) -> Built:
        """Freeze the meter for runs whose pipe Reynolds number spans re_pipe."""
        ...


def coefficient_sources(
    name: str,
    given: MeterGiven,
    *,
    u_own: float,
    dist: str,
    origin: str,
    certificates: Mapping[str, Certificate],
    references: Mapping[str, Reference],
) -> tuple[tuple[tuple[str, float], ...], tuple[Source, ...]]:
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


def total(errors: Errors, pairs: tuple[tuple[str, float], ...]) -> Array:
    """Sum of weight * error over the pairs: the relative error of a factor."""
    out: Array = np.zeros(1)
    for name, weight in pairs:
        out = out + weight * np.atleast_1d(np.asarray(errors[name], dtype=float))
    return out
