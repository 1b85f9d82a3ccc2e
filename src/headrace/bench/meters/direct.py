"""Meters whose output is the flow itself, by their certificate: turbine or magnetic (volume), Coriolis (mass)."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters.base import Built, Field, coefficient_sources, total
from headrace.records.given import Certificate, MeterGiven, Reference
from headrace.uncertainty.errors_map import Errors

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class MassLaw:
    """Mass flow is the signal times the factor."""

    factor: float
    pairs: tuple[tuple[str, float], ...]

    def m_dot(self, errors: Errors, *, signal: Array, rho: Array, mu: float) -> Array:  # noqa: ARG002 - law of its kind
        """Mass flow [kg/s], shape (slices, draws)."""
        return signal * self.factor * (1 + total(errors, self.pairs))


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeLaw:
    """Mass flow is the volume flow times the factor and the density."""

    factor: float
    pairs: tuple[tuple[str, float], ...]

    def m_dot(self, errors: Errors, *, signal: Array, rho: Array, mu: float) -> Array:  # noqa: ARG002 - law of its kind
        """Mass flow [kg/s], shape (slices, draws)."""
        return signal * rho * self.factor * (1 + total(errors, self.pairs))


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectMeter:
    """A meter whose logged channel is the flow. factor: true over shown, with its doubt."""

    title: str
    law: type[MassLaw] | type[VolumeLaw]
    measures: tuple[str, ...]
    fields: tuple[Field, ...] = (
        Field(name="factor", dimension="ratio", required=True, help="true over shown flow, with its doubt"),
    )
    role: str = "signal"

    def build(
        self,
        given: MeterGiven,
        *,
        certificates: Mapping[str, Certificate],
        references: Mapping[str, Reference],
        re_pipe: tuple[float, float],  # noqa: ARG002 - every kind takes it
    ) -> Built:
        """Freeze it; see `MeterKind.build`."""
        stated = given.values["factor"]
        pairs, sources = coefficient_sources(
            f"{given.id}.factor",
            given,
            u_own=stated.u / stated.value,
            dist=stated.dist,
            origin=stated.origin or "as given",
            certificates=certificates,
            references=references,
        )
        return Built(law=self.law(factor=stated.value, pairs=pairs), sources=sources)


MASS = DirectMeter(title="mass-flow meter (Coriolis or other)", law=MassLaw, measures=("mass_flow",))
VOLUME = DirectMeter(title="volume-flow meter (turbine, magnetic)", law=VolumeLaw, measures=("volume_flow",))
