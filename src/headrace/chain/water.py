"""All streams joined into characteristics: ln E of each circuit is a frozen linear map of its slices' ln E.

The map's weights come from unshared, run-level doubt only and were fixed at nominal; shared parts act through the
streams.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from headrace.chain.models import MODELS
from headrace.chain.streams import Stream
from headrace.notices import Notice
from headrace.records.in_place import InPlace
from headrace.records.readings import Characteristic, Comparison, Contrast, Crossover, RunResult
from headrace.uncertainty.errors_map import Errors, Values
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """One characteristic: ln E(Re) = level + slope * basis(Re), the basis being that of its model about re_ref.

    members: stream names in the order of the weights. level, slope: weights per member, shape (slices of it,); slope is
    None when a constant is carried. model: key of `chain.models.MODELS`. noise: names of the type-A sources of level
    (and slope). extra: sources that shift the level (between lines, one run carries all).
    """

    members: tuple[str, ...]
    level: tuple[Array, ...]
    slope: tuple[Array, ...] | None
    re_ref: float
    noise: tuple[str, ...]
    extra: tuple[str, ...] = ()
    model: str = "slope"

    @property
    def names(self) -> tuple[str, ...]:
        """Sources of the fit itself."""
        return (*self.noise, *self.extra)


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterChain:
    """The water side as a pure model: `chain(errors)` gives "area_eff.<key>" for every characteristic."""

    streams: Mapping[str, Stream]
    fits: Mapping[str, Fit]

    def only(self, keys: tuple[str, ...]) -> "WaterChain":
        """The part that these characteristics need."""
        fits = {key: self.fits[key] for key in keys}
        members = dict.fromkeys(member for fit in fits.values() for member in fit.members)
        return WaterChain(streams={name: self.streams[name] for name in members}, fits=fits)

    @property
    def names(self) -> tuple[str, ...]:
        """All sources it asks for."""
        streams = (name for stream in self.streams.values() for name in stream.names)
        fits = (name for fit in self.fits.values() for name in fit.names)
        return tuple(dict.fromkeys((*streams, *fits)))

    def ln_areas(self, errors: Errors, ln_re: Mapping[str, float]) -> dict[str, Array]:
        """ln E of each characteristic at its own ln Re (its reference where none is given), shape (draws,)."""
        slices = {name: stream.ln_area(errors) for name, stream in self.streams.items()}
        out: dict[str, Array] = {}
        for key, fit in self.fits.items():
            value = _mapped(fit.level, [slices[member] for member in fit.members])
            value = value + np.atleast_1d(errors[fit.noise[0]])
            for name in fit.extra:
                value = value + np.atleast_1d(errors[name])
            if fit.slope is not None and key in ln_re:
                slope = _mapped(fit.slope, [slices[member] for member in fit.members])
                slope = slope + np.atleast_1d(errors[fit.noise[1]])
                value = value + slope * MODELS[fit.model].basis(np.exp(ln_re[key]), fit.re_ref)
            out[key] = value
        return out

    def __call__(self, errors: Errors) -> dict[str, Values]:
        """Effective areas [m2] at the reference Reynolds numbers."""
        return {f"area_eff.{key}": np.exp(value) for key, value in self.ln_areas(errors, {}).items()}


def _mapped(weights: tuple[Array, ...], slices: list[Array]) -> Array:
    total: Array = np.zeros(1)
    for weight, values in zip(weights, slices, strict=True):
        total = total + np.einsum("n,nd->d", weight, values)
    return total


@dataclass(frozen=True, slots=True, kw_only=True)
class SliceModel:
    """Every slice's own effective area as a model, for the doubt of single readings: "<stream>#<slice>" [m2]."""

    streams: Mapping[str, Stream]

    def __call__(self, errors: Errors) -> dict[str, Values]:
        """Effective area of each slice [m2]."""
        out: dict[str, Values] = {}
        for name, stream in self.streams.items():
            for number, row in enumerate(np.exp(stream.ln_area(errors))):
                out[f"{name}#{number}"] = row
        return out


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduced:
    """A campaign's runs reduced: results for reports, and the frozen chain with its sources for what follows."""

    runs: Mapping[str, RunResult]
    characteristics: Mapping[str, Characteristic]
    water: WaterChain
    sources: tuple[Source, ...]
    notices: tuple[Notice, ...]
    contrasts: tuple[Contrast, ...] = ()
    comparisons: tuple[Comparison, ...] = ()
    crossovers: tuple[Crossover, ...] = ()
    in_place: Mapping[str, InPlace] = field(default_factory=dict)  # by meter that the runs calibrate
