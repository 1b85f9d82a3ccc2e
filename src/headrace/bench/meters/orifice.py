"""Orifice-plate meters by ISO 5167-2, with the coefficient, its doubt and its scope of the standard, or by points."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters.base import SOMEWHERE, Built, Field, FlowLaw, Working
from headrace.bench.meters.bores import BORES, Bores
from headrace.bench.meters.factor import Factor, beyond, factor_of, together
from headrace.bench.meters.venturi import VenturiLaw
from headrace.physics.hydraulics.limits import outside
from headrace.physics.hydraulics.orifice import TAPS, Taps, orifice_limits, orifice_m_dot, orifice_u_c
from headrace.records.given import Certificate, MeterGiven, Reference
from headrace.uncertainty.errors_map import Errors

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrificeLaw:
    """A frozen orifice plate; the errors of its factor act on the standard's coefficient."""

    taps: Taps
    bores: Bores
    c_factor: Factor

    def m_dot(self, errors: Errors, *, signal: Array, rho: Array, mu: float) -> Array:
        """Mass flow [kg/s], shape (slices, draws)."""
        return np.asarray(
            orifice_m_dot(
                dp=signal,
                d_pipe=self.bores.pipe(errors),
                d_throat=self.bores.throat(errors),
                rho=rho,
                mu=mu,
                taps=self.taps,
                c_factor=self.c_factor.of(errors, 0.0),
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class OrificePlate:
    """A plate with the named pressure taps."""

    title: str
    taps: str
    fields: tuple[Field, ...] = BORES
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
        """Freeze it; see `MeterKind.build`. Outside the standard's scope the stated doubt is doubled (our choice)."""
        taps = TAPS[self.taps]
        bores, of_bores = Bores.of(given)
        limits = orifice_limits(taps=taps, d_pipe=bores.d_pipe, d_throat=bores.d_throat)
        breaches = outside(
            limits, d_pipe=bores.d_pipe, d_throat=bores.d_throat, beta=bores.beta, re=re_pipe[0]
        )
        u = orifice_u_c(d_pipe=bores.d_pipe, d_throat=bores.d_throat, re=re_pipe[0]) / 2
        origin = "ISO 5167-2:2003, 5.3.3.1" + (", outside its scope (doubled)" if breaches else "")
        factor, sources = factor_of(
            f"{given.id}.c",
            given,
            nominal=1.0,
            u_own=u * (2 if breaches else 1),
            dist="normal",
            origin=origin,
            certificates=certificates,
            references=references,
        )
        # with points of its own the plate is a throat with a coefficient, as a venturi is: the same equation
        law: FlowLaw = OrificeLaw(taps=taps, bores=bores, c_factor=factor)
        if factor.at:
            law, breaches = VenturiLaw(c=factor, bores=bores), ()
        return Built(
            law=law,
            sources=together(sources, of_bores),
            outside=breaches,
            own=given.certificate is not None or given.in_place is not None,
            beyond=beyond(factor, given, {"re": at.re}),
        )


CORNER = OrificePlate(title="orifice plate, corner taps", taps="corner")
FLANGE = OrificePlate(title="orifice plate, flange taps", taps="flange")
D_D2 = OrificePlate(title="orifice plate, D and D/2 taps", taps="D-D/2")
