"""Classical venturi meters: by the standard without calibration, or with a coefficient of their own.

Outside the standard's scope (small pipe, low Reynolds number, odd diameter ratio: most bench meters) the
coefficient is kept and its doubt is widened to `OUT_OF_SCOPE_U`; the meter says what is outside. A calibrated
meter keeps its own doubt; by points over Reynolds number its coefficient follows them.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters.base import SOMEWHERE, Built, Field, Working
from headrace.bench.meters.bores import BORES, Bores
from headrace.bench.meters.factor import ROUNDS, Factor, beyond, factor_of, together
from headrace.physics.hydraulics.limits import Breach, Limits, outside
from headrace.physics.hydraulics.venturi import FORMS, venturi_m_dot
from headrace.records.given import Certificate, MeterGiven, Reference
from headrace.uncertainty.errors_map import Errors

Array = NDArray[np.float64]

OUT_OF_SCOPE_U = 0.03
"""Relative expanded uncertainty (k = 2) of an uncalibrated machined venturi outside its scope: the widest that the
informative annex of ISO 5167-4:2003 gives for low Reynolds numbers (from memory)."""

COEFFICIENT = "discharge coefficient, with its doubt"


@dataclass(frozen=True, slots=True, kw_only=True)
class VenturiLaw:
    """A frozen venturi: its coefficient, over the pipe's Reynolds number where it has points, and its bores."""

    c: Factor
    bores: Bores

    def m_dot(self, errors: Errors, *, signal: Array, rho: Array, mu: float) -> Array:
        """Mass flow [kg/s], shape (slices, draws)."""
        d_pipe, d_throat = self.bores.pipe(errors), self.bores.throat(errors)
        one = np.asarray(venturi_m_dot(dp=signal, d_pipe=d_pipe, d_throat=d_throat, rho=rho, c=1.0))
        if not self.c.at:
            return np.asarray(one * self.c.of(errors, 0.0))
        flow = one * self.c.middle
        for _ in range(ROUNDS):
            flow = one * self.c.of(errors, 4 * np.abs(flow) / (np.pi * d_pipe * mu))
        return np.asarray(flow)


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
    over: tuple[str, ...] = ("re",)
    factor: str = "ratio"

    def build(
        self,
        given: MeterGiven,
        *,
        certificates: Mapping[str, Certificate],
        references: Mapping[str, Reference],
        re_pipe: tuple[float, float],
        at: Working = SOMEWHERE,
    ) -> Built:
        """Freeze it; see `MeterKind.build`."""
        form = FORMS[self.form]
        bores, of_bores = Bores.of(given)
        breaches = _breaches(form.limits, bores, re_pipe)
        c, u, dist, origin = form.c, form.u_expanded / 2, "normal", form.limits.source
        if breaches:
            u, origin = OUT_OF_SCOPE_U / 2, f"{origin}, outside its scope (wider doubt)"
        if "c" in given.values:
            stated = given.values["c"]
            c, u, dist, origin = stated.value, stated.u / stated.value, stated.dist, stated.origin
        factor, sources = factor_of(
            f"{given.id}.c",
            given,
            nominal=c,
            u_own=u,
            dist=dist,
            origin=origin,
            certificates=certificates,
            references=references,
        )
        own = "c" in given.values or given.certificate is not None or given.in_place is not None
        return Built(
            law=VenturiLaw(c=factor, bores=bores),
            sources=together(sources, of_bores),
            outside=() if factor.at else breaches,
            own=own,
            beyond=beyond(factor, given, {"re": at.re}),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibratedVenturi:
    """A venturi with its own calibration: c with its doubt, or c with a certificate, or the certificate's points."""

    title: str = "venturi, calibrated"
    fields: tuple[Field, ...] = (*BORES, Field(name="c", dimension="ratio", required=True, help=COEFFICIENT))
    role: str = "dp"
    measures: tuple[str, ...] = ("drop",)
    over: tuple[str, ...] = ("re",)
    factor: str = "ratio"

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
        stated = given.values["c"]
        bores, of_bores = Bores.of(given)
        factor, sources = factor_of(
            f"{given.id}.c",
            given,
            nominal=stated.value,
            u_own=stated.u / stated.value,
            dist=stated.dist,
            origin=stated.origin or "as given",
            certificates=certificates,
            references=references,
        )
        return Built(
            law=VenturiLaw(c=factor, bores=bores),
            sources=together(sources, of_bores),
            beyond=beyond(factor, given, {"re": at.re}),
        )


def _breaches(limits: Limits, bores: Bores, re_pipe: tuple[float, float]) -> tuple[Breach, ...]:
    low = outside(limits, d_pipe=bores.d_pipe, beta=bores.beta, re=re_pipe[0])
    return low or outside(limits, re=re_pipe[1])


MACHINED = StandardVenturi(title="classical venturi, machined convergent", form="machined")
AS_CAST = StandardVenturi(title="classical venturi, as-cast convergent", form="as-cast")
ROUGH_WELDED = StandardVenturi(title="classical venturi, rough-welded convergent", form="rough-welded")
CALIBRATED = CalibratedVenturi()
