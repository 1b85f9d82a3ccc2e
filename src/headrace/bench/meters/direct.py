"""Meters whose output is the flow itself, by their certificate: magnetic or other (volume), Coriolis (mass).

A Coriolis tube's zero wanders by so many kg/s, whatever flows: `zero_stability`. Where the run took the zero of its
channel, what is left of it is that run's own; else it is one error of the meter in all runs.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters.base import SOMEWHERE, Built, Field, Working
from headrace.bench.meters.factor import Factor, beyond, stated_factor, together
from headrace.records.given import Certificate, MeterGiven, Reference
from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.source import Source, half_width

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class MassLaw:
    """Mass flow is the signal, less the error of its zero, times the factor (over the shown flow)."""

    factor: Factor
    zero: str | None = None

    def m_dot(self, errors: Errors, *, signal: Array, rho: Array, mu: float) -> Array:  # noqa: ARG002 - law of its kind
        """Mass flow [kg/s], shape (slices, draws)."""
        shown = signal if self.zero is None else signal + np.atleast_1d(errors[self.zero])
        return np.asarray(shown * self.factor.of(errors, shown))


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeLaw:
    """Mass flow is the volume flow times the factor (over the shown flow) and the density."""

    factor: Factor
    zero: str | None = None

    def m_dot(self, errors: Errors, *, signal: Array, rho: Array, mu: float) -> Array:  # noqa: ARG002 - law of its kind
        """Mass flow [kg/s], shape (slices, draws)."""
        shown = signal if self.zero is None else signal + np.atleast_1d(errors[self.zero])
        return np.asarray(shown * rho * self.factor.of(errors, shown))


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectMeter:
    """A meter whose logged channel is the flow. factor: true over shown, with its doubt."""

    title: str
    law: type[MassLaw] | type[VolumeLaw]
    measures: tuple[str, ...]
    fields: tuple[Field, ...]
    over: tuple[str, ...]
    factor: str = "ratio"
    role: str = "signal"

    def build(
        self,
        given: MeterGiven,
        *,
        certificates: Mapping[str, Certificate],
        references: Mapping[str, Reference],
        re_pipe: tuple[float, float],  # noqa: ARG002 - every kind takes it
        at: Working = SOMEWHERE,
    ) -> Built:
        """Freeze it; see `MeterKind.build`."""
        factor, sources = stated_factor(
            "factor", given, certificates=certificates, references=references, more=relative(given, at)
        )
        zero = _zero(given, at)
        law = self.law(factor=factor, zero=None if zero is None else zero.name)
        out = beyond(factor, given, {self.measures[0]: at.signal})
        return Built(law=law, sources=together(sources, () if zero is None else (zero,)), beyond=out)


def relative(given: MeterGiven, at: Working) -> tuple[Source, ...]:
    """Linearity (one error of the meter) and repeatability (anew in every run) as stated: limits, relative."""
    out = []
    for name, owner, scope in (
        ("linearity", given.id, "instrument"),
        ("repeatability", f"{at.run}.{given.id}", "run"),
    ):
        stated = given.values.get(name)
        if stated is not None:
            out.append(
                Source(
                    name=f"{owner}.{name}",
                    u=half_width(stated.value),
                    dist="rectangular",
                    scope=scope,
                    origin=stated.origin or "as given",
                    group="water",
                )
            )
    return tuple(out)


def _zero(given: MeterGiven, at: Working) -> Source | None:
    stated = given.values.get("zero_stability")
    if stated is None:
        return None
    return Source(
        name=f"{at.run}.{given.id}.zero" if at.zeroed else f"{given.id}.zero",
        u=half_width(stated.value),
        dist="rectangular",
        scope="run" if at.zeroed else "instrument",
        origin=stated.origin or "as given",
        group="water",
    )


REPEATS = Field(
    name="repeatability", dimension="ratio", required=False, help="limits from run to run, relative"
)
LINEAR = Field(
    name="linearity",
    dimension="ratio",
    required=False,
    help="limits over its range, relative, where it has no points",
)
TRUE_OVER_SHOWN = Field(
    name="factor", dimension="ratio", required=True, help="true over shown flow, with its doubt"
)
MASS = DirectMeter(
    title="mass-flow meter (Coriolis or other)",
    law=MassLaw,
    measures=("mass_flow",),
    over=("mass_flow",),
    fields=(
        TRUE_OVER_SHOWN, LINEAR, REPEATS,
        Field(name="zero_stability", dimension="mass_flow", required=False, help="limits of its zero, whatever flows"),
    ),
)  # fmt: skip
VOLUME = DirectMeter(
    title="volume-flow meter (magnetic, or a turbine that shows flow)",
    law=VolumeLaw,
    measures=("volume_flow",),
    over=("volume_flow",),
    fields=(TRUE_OVER_SHOWN, LINEAR, REPEATS),
)
