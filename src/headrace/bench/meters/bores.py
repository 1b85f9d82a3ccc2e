"""The two bores of a differential-pressure meter: their fields, their sources of error, their values under errors."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters.base import Field
from headrace.records.given import MeterGiven
from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

BORES = (
    Field(name="d_pipe", dimension="length", required=True, help="bore at the upstream tap"),
    Field(name="d_throat", dimension="length", required=True, help="bore of the throat"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bores:
    """Nominal bores [m]; the errors of a meter's bores go by its id."""

    meter: str
    d_pipe: float
    d_throat: float

    @classmethod
    def of(cls, given: MeterGiven) -> tuple["Bores", tuple[Source, ...]]:
        """The bores of a meter with their sources."""
        d_pipe, d_throat = (given.values[field.name] for field in BORES)
        sources = tuple(
            Source(
                name=f"{given.id}.{field.name}",
                u=stated.u,
                dist=stated.dist,
                scope="instrument",
                origin=stated.origin or "as given",
                group="water",
            )
            for field, stated in zip(BORES, (d_pipe, d_throat), strict=True)
        )
        return cls(meter=given.id, d_pipe=d_pipe.value, d_throat=d_throat.value), sources

    @property
    def beta(self) -> float:
        """Diameter ratio."""
        return self.d_throat / self.d_pipe

    def pipe(self, errors: Errors) -> Array:
        """Pipe bore under errors [m]."""
        return self.d_pipe + np.atleast_1d(errors[f"{self.meter}.d_pipe"])

    def throat(self, errors: Errors) -> Array:
        """Throat bore under errors [m]."""
        return self.d_throat + np.atleast_1d(errors[f"{self.meter}.d_throat"])
