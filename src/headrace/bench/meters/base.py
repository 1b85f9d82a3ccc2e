"""What every meter kind offers. A kind is one object: its declared fields, its sources of error, its frozen law."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from headrace.physics.hydraulics.limits import Breach
from headrace.records.given import Certificate, MeterGiven, Reference
from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

OVER: Mapping[str, str] = MappingProxyType(
    {"re": "ratio", "frequency": "frequency", "volume_flow": "volume_flow", "mass_flow": "mass_flow"}
)
"""Quantities over which a meter's certificate may give points of its factor, with their dimensions."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Working:
    """How a meter works in one run, at nominal: what its build asks for beside the pipe's Reynolds number.

    run: its id. signal: least and greatest of its signal, SI; re: likewise of its own bore's Reynolds number; None: not
    known. zeroed: its zero was taken in this
    run. nu: of the water [m2/s], None when not known.
    """

    run: str = ""
    signal: tuple[float, float] | None = None
    re: tuple[float, float] | None = None
    zeroed: bool = False
    nu: float | None = None


SOMEWHERE = Working()


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
    beyond: ranges of its own certificate that it left.
    """

    law: FlowLaw
    sources: tuple[Source, ...]
    outside: tuple[Breach, ...] = ()
    own: bool = False
    beyond: tuple[Breach, ...] = ()


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
    def over(self) -> tuple[str, ...]:
        """Keys of `OVER` by which its certificate may give points."""
        ...

    @property
    def factor(self) -> str:
        """Dimension of the factor that its certificate gives."""
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
        at: Working = SOMEWHERE,
    ) -> Built:
        """Freeze the meter for a run in which the pipe's Reynolds number spans re_pipe."""
        ...
