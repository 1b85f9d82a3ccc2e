"""What a data sheet states of an instrument beside its accuracy. Every part is optional; None acts not at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # given.py holds an Effects in each Instrument
    from headrace.records.given import Accuracy


@dataclass(frozen=True, slots=True, kw_only=True)
class Effects:
    """Stated parts of an instrument's error, as standard uncertainties.

    linearity, repeatability: as for an accuracy. hysteresis: of the greatest difference between up and down.
    zero_per_kelvin, span_per_kelvin: per K away from reference_temp [K]; temp_span: coldest and warmest that its body
    may be [K], where nobody says. zero_per_pascal, span_per_pascal: per Pa of line pressure on both its sides.
    logger: id of the logger that stores it; raw_width: what its whole range stands for, SI of what is measured.
    """

    linearity: Accuracy | None = None
    hysteresis: Accuracy | None = None
    repeatability: Accuracy | None = None
    zero_per_kelvin: Accuracy | None = None
    span_per_kelvin: Accuracy | None = None
    reference_temp: float | None = None
    temp_span: tuple[float, float] | None = None
    zero_per_pascal: Accuracy | None = None
    span_per_pascal: Accuracy | None = None
    logger: str | None = None
    raw_width: float | None = None


NO_EFFECTS = Effects()


@dataclass(frozen=True, slots=True, kw_only=True)
class Logger:
    """A logger as a measuring instrument: bits of its converter; its accuracy as relative standard uncertainties.

    gain: of the raw signal; offset: of its whole range; both shared by all channels that it stores.
    """

    id: str
    bits: int | None = None
    gain: float = 0.0
    offset: float = 0.0
    dist: str = "rectangular"
    origin: str = ""
