"""Classical venturi meters: by the standard without calibration, or with a coefficient of their own.

Outside the standard's scope (small pipe, low Reynolds number, odd diameter ratio: most bench meters) the
coefficient is kept and its doubt is widened to `OUT_OF_SCOPE_U`; the meter says what is outside. A calibrated
meter keeps its own doubt.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters.base import Built, Field, coefficient_sources, total
from headrace.physics.hydraulics.limits import Breach, Limits, outside
from headrace.physics.hydraulics.venturi import FORMS, venturi_m_dot
from headrace.records.given import Certificate, MeterGiven, Reference, Stated
from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

OUT_OF_SCOPE_U = 0.03
"""Relative expanded uncertainty (k = 2) of an uncalibrated machined venturi outside its scope: the widest that the
informative annex of ISO 5167-4:2003 gives for low Reynolds numbers (from memory)."""

BORES = (
    Field(name="d_pipe", dimension="length", required=True, help="bore at the upstream tap"),
    Field(name="d_throat", dimension="length", required=True, help="bore of the throat"),
)
COEFFICIENT = "discharge coefficient, with its doubt"


@dataclass(frozen=True, slots=True, kw_only=True)
class VenturiLaw:
    """A frozen venturi. The pairs name the sources that act on c (relative) and on the bores (in metres)."""

    c: float
    d_pipe: float
    d_throat: float
    c_pairs: tuple[tuple[str, float], ...]
    pipe_name: str
    throat_name: str

    def m_dot(self, errors: Errors, *, signal: Array, rho: Array, mu: float) -> Array:  # noqa: ARG002 - law of its kind
        """Mass flow [kg/s], shape (slices, draws)."""
        c = self.c * (1 + total(errors, self.c_pairs))
        return np.asarray(
            venturi_m_dot(
                dp=signal,
                d_pipe=self.d_pipe + np.atleast_1d(errors[self.pipe_name]),
                d_throat=self.d_throat + np.atleast_1d(errors[self.throat_name]),
                rho=rho,
                c=c,
            )
        )


def bore_source(meter: str, name: str, stated: Stated) -> Source:
    """The error of a measured bore [m]."""
    return Source(
        name=f"{meter}.{name}",
        u=stated.u,
        dist=stated.dist,
        scope="instrument",
        origin=stated.origin or "as given",
        group="water",
    )


def _law(given: MeterGiven, c: float, pairs: tuple[tuple[str, float], ...]) -> VenturiLaw:
    return VenturiLaw(
        c=c,
        d_pipe=given.values["d_pipe"].value,
        d_throat=given.values["d_throat"].value,
        c_pairs=pairs,
        pipe_name=f"{given.id}.d_pipe",
        throat_name=f"{given.id}.d_throat",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardVenturi:
    """A venturi whose coefficient is the standard's, for a tube made as the standard says."""

    title: str
    form: str
    fields: tuple[Field, ...] = (
        *BORES,
        Field(name="c", dimension="ratio", required=False, help=f"{COEFFICIENT}; default: the standard's"),
    )
    role: str = "dp"
    measures: tuple[str, ...] = ("drop",)

    def build(
        self,
        given: MeterGiven,
        *,
        certificates: Mapping[str, Certificate],
        references: Mapping[str, Reference],
        re_pipe: tuple[float, float],
    ) -> Built:
        """Freeze it; see `MeterKind.build`."""
        form = FORMS[self.form]
        breaches = _breaches(form.limits, given, re_pipe)
        u, origin = form.u_expanded / 2, form.limits.source
        dist = "normal"
        c = form.c
        if breaches:
            u, origin = OUT_OF_SCOPE_U / 2, f"{origin}, outside its scope (wider doubt)"
        if "c" in given.values:
            stated = given.values["c"]
            c, u, dist, origin = stated.value, stated.u / stated.value, stated.dist, stated.origin
        pairs, sources = coefficient_sources(
            f"{given.id}.c",
            given,
            u_own=u,
            dist=dist,
            origin=origin,
            certificates=certificates,
            references=references,
        )
        bores = tuple(bore_source(given.id, name, given.values[name]) for name in ("d_pipe", "d_throat"))
        own = "c" in given.values or given.certificate is not None
        return Built(law=_law(given, c, pairs), sources=(*sources, *bores), outside=breaches, own=own)


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibratedVenturi:
    """A venturi with its own calibration: c with its doubt, or c with a certificate."""

    title: str = "venturi, calibrated"
    fields: tuple[Field, ...] = (*BORES, Field(name="c", dimension="ratio", required=True, help=COEFFICIENT))
    role: str = "dp"
    measures: tuple[str, ...] = ("drop",)

    def build(
        self,
        given: MeterGiven,
        *,
        certificates: Mapping[str, Certificate],
        references: Mapping[str, Reference],
        re_pipe: tuple[float, float],  # noqa: ARG002 - every kind takes it
    ) -> Built:
        """Freeze it; see `MeterKind.build`."""
        stated = given.values["c"]
        pairs, sources = coefficient_sources(
            f"{given.id}.c",
            given,
            u_own=stated.u / stated.value,
            dist=stated.dist,
            origin=stated.origin or "as given",
            certificates=certificates,
            references=references,
        )
        bores = tuple(bore_source(given.id, name, given.values[name]) for name in ("d_pipe", "d_throat"))
        return Built(law=_law(given, stated.value, pairs), sources=(*sources, *bores))


def _breaches(limits: Limits, given: MeterGiven, re_pipe: tuple[float, float]) -> tuple[Breach, ...]:
    d_pipe, d_throat = given.values["d_pipe"].value, given.values["d_throat"].value
    low = outside(limits, d_pipe=d_pipe, beta=d_throat / d_pipe, re=re_pipe[0])
    return low or outside(limits, re=re_pipe[1])


MACHINED = StandardVenturi(title="classical venturi, machined convergent", form="machined")
AS_CAST = StandardVenturi(title="classical venturi, as-cast convergent", form="as-cast")
ROUGH_WELDED = StandardVenturi(title="classical venturi, rough-welded convergent", form="rough-welded")
CALIBRATED = CalibratedVenturi()
