"""Orifice-plate meters by ISO 5167-2, with the coefficient, its doubt and its scope of the standard."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters.base import Built, Field, coefficient_sources, total
from headrace.bench.meters.venturi import BORES, bore_source
from headrace.physics.hydraulics.limits import outside
from headrace.physics.hydraulics.orifice import TAPS, Taps, orifice_limits, orifice_m_dot, orifice_u_c
from headrace.records.given import Certificate, MeterGiven, Reference
from headrace.uncertainty.errors_map import Errors

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrificeLaw:
    """A frozen orifice plate. The pairs act on the standard's coefficient (relative), the names on the bores [m]."""

    taps: Taps
    d_pipe: float
    d_throat: float
    c_pairs: tuple[tuple[str, float], ...]
    pipe_name: str
    throat_name: str

    def m_dot(self, errors: Errors, *, signal: Array, rho: Array, mu: float) -> Array:
        """Mass flow [kg/s], shape (slices, draws)."""
        return np.asarray(
            orifice_m_dot(
                dp=signal,
                d_pipe=self.d_pipe + np.atleast_1d(errors[self.pipe_name]),
                d_throat=self.d_throat + np.atleast_1d(errors[self.throat_name]),
                rho=rho,
                mu=mu,
                taps=self.taps,
                c_factor=1 + total(errors, self.c_pairs),
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

    def build(
        self,
        given: MeterGiven,
        *,
        certificates: Mapping[str, Certificate],
        references: Mapping[str, Reference],
        re_pipe: tuple[float, float],
    ) -> Built:
        """Freeze it; see `MeterKind.build`. Outside the standard's scope the stated doubt is doubled (our choice)."""
        taps = TAPS[self.taps]
        d_pipe, d_throat = given.values["d_pipe"].value, given.values["d_throat"].value
        limits = orifice_limits(taps=taps, d_pipe=d_pipe, d_throat=d_throat)
        breaches = outside(limits, d_pipe=d_pipe, d_throat=d_throat, beta=d_throat / d_pipe, re=re_pipe[0])
        u = orifice_u_c(d_pipe=d_pipe, d_throat=d_throat, re=re_pipe[0]) / 2 * (2 if breaches else 1)
        origin = "ISO 5167-2:2003, 5.3.3.1" + (", outside its scope (doubled)" if breaches else "")
        pairs, sources = coefficient_sources(
            f"{given.id}.c",
            given,
            u_own=u,
            dist="normal",
            origin=origin,
            certificates=certificates,
            references=references,
        )
        bores = tuple(bore_source(given.id, name, given.values[name]) for name in ("d_pipe", "d_throat"))
        law = OrificeLaw(
            taps=taps,
            d_pipe=d_pipe,
            d_throat=d_throat,
            c_pairs=pairs,
            pipe_name=f"{given.id}.d_pipe",
            throat_name=f"{given.id}.d_throat",
        )
        own = given.certificate is not None
        return Built(law=law, sources=(*sources, *bores), outside=breaches, own=own)


CORNER = OrificePlate(title="orifice plate, corner taps", taps="corner")
FLANGE = OrificePlate(title="orifice plate, flange taps", taps="flange")
D_D2 = OrificePlate(title="orifice plate, D and D/2 taps", taps="D-D/2")
