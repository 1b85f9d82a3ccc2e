"""An instrument at work: nominal values become values with error terms, each under the name of its source.

How promises become sources is written in docs/uncertainty.md. In short, for a channel whose zero was taken (tared):
gain (in proportion to the reading), the reference standard's gain (one name for all that rest on it), linearity
(zero at both ends of the range), drift since the certificate, and the run's own tare. For a channel read
without a zero: one constant error of the class, the same at every reading of that instrument. Start at
`at_work`.
"""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters.base import reference_source
from headrace.records.given import Certificate, Instrument, Reference
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

MID_RANGE = sqrt(3) / 2
"""Share of a class that linearity takes at mid-range, so that gain and linearity together make up the whole
class there:
0.5**2 + MID_RANGE**2 = 1."""

BY_EYE = 4
"""A pointer is read to a quarter of a division (limits); common practice."""

DAYS_PER_YEAR = 365.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Zero:
    """A zero taken before and perhaps after the run, SI; u: standard uncertainty of the zero that is taken off.

    Source of the middle way: the true zero during the run lies somewhere between the two, rectangular, so
    u holds |after - before| / sqrt(12).
    """

    before: float
    after: float | None
    u: float


def corrected(certificate: Certificate | None, values: Array) -> Array:
    """Values with the certificate's corrections (true minus indicated, linear between its points) added."""
    if certificate is None or not certificate.points:
        return values
    shown = np.array([point[0] for point in certificate.points])
    true = np.array([point[1] for point in certificate.points])
    order = np.argsort(shown)
    correction: Array = np.interp(values, shown[order], (true - shown)[order])
    return values + correction


def at_work(
    instrument: Instrument,
    values: Array,
    *,
    run: str,
    zero: Zero | None,
    certificates: Mapping[str, Certificate],
    references: Mapping[str, Reference],
    on: datetime.date,
    group: str = "water",
) -> tuple[Doubted, tuple[Source, ...]]:
    """A channel's nominal values (corrected, zero taken off) with all that may be wrong with them.

    Args:
        instrument: whose values they are; values: SI, shape (n,).
        run: its id, for the names of what is the run's own.
        zero: the zero that was taken off, or None when none was.
        certificates, references: by id.
        on: day of the run, for drift since the certificate.
    Returns:
        The values with their terms, and the sources those terms name.
    """
    full = max(abs(instrument.low), abs(instrument.high))
    parts = _Promise.of(instrument, certificates, references, on)
    ones = np.ones_like(values)
    terms: list[tuple[str, Array]] = []
    sources: list[Source] = []

    def add(name: str, u: float, dist: str, scope: str, origin: str, shape: Array) -> None:
        if u > 0:
            terms.append((name, shape))
            sources.append(Source(name=name, u=u, dist=dist, scope=scope, origin=origin, group=group))

    tag = instrument.tag
    if parts.reference is not None and instrument.measures != "temperature":
        # no share of kelvins: it would depend on their zero
        shared = reference_source(parts.reference)
        terms.append((shared.name, values))
        sources.append(shared)
    if zero is not None and instrument.measures != "temperature":
        reach = np.abs(values) / full
        gain = parts.of_reading
        if parts.split:
            gain = sqrt(max(gain**2 + (parts.of_span * instrument.span / full) ** 2 - parts.inside**2, 0.0))
        add(
            f"{tag}.gain",
            gain,
            parts.dist,
            "instrument",
            parts.origin,
            values,
        )
        peak = parts.of_span * instrument.span * (MID_RANGE if parts.split else 1.0)
        shape = 4 * reach * (1 - reach)
        add(f"{tag}.linearity", peak, parts.dist, "instrument", parts.origin, shape)
        drift = parts.drift * instrument.span
        add(f"{tag}.drift", drift, "rectangular", "instrument", parts.drift_origin, reach * np.sign(values))
        origin = "zero before and after the run" if zero.after is not None else "zero before the run only"
        add(f"{run}.{tag}.tare", zero.u, "normal", "run", origin, ones)
    else:
        if parts.of_reading > 0 and instrument.measures != "temperature":
            add(f"{tag}.gain", parts.of_reading, parts.dist, "instrument", parts.origin, values)
        offset = hypot(parts.of_span, parts.drift) * instrument.span
        add(f"{tag}.class", offset, parts.dist, "instrument", parts.origin, ones)
    return Doubted(base=values, terms=tuple(terms)), tuple(sources)


def reading_by_eye(instrument: Instrument, *, run: str, moment: str, division: float | None) -> Source | None:
    """The error of one reading of a dial or tube by eye, SI; None for an instrument without divisions."""
    step = division if division is not None else instrument.division
    if step is None:
        return None
    return Source(
        name=f"{run}.{instrument.tag}.{moment}.reading",
        u=step / BY_EYE / sqrt(3),
        dist="rectangular",
        scope="run",
        origin="read by eye to a quarter of a division (common practice)",
        group="water",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Promise:
    """What holds for an instrument today: its certificate, or its class; absolute parts turned into parts of span.

    split: the part of span is all there is (a class, or a certificate that states nothing of reading), so it is
    dealt over gain and linearity; inside: the reference's share that is still in it.
    """

    of_reading: float
    of_span: float
    dist: str
    drift: float
    origin: str
    drift_origin: str
    split: bool
    inside: float
    reference: Reference | None

    @classmethod
    def of(
        cls,
        instrument: Instrument,
        certificates: Mapping[str, Certificate],
        references: Mapping[str, Reference],
        on: datetime.date,
    ) -> "_Promise":
        promise = instrument.accuracy
        class_of_span = hypot(promise.of_span, promise.absolute / instrument.span)
        if instrument.certificate is None:
            return cls(
                of_reading=promise.of_reading,
                of_span=class_of_span,
                dist=promise.dist,
                drift=0.0,
                origin=f"class of {instrument.tag}: {promise.text}",
                drift_origin="none stated",
                split=True,
                inside=0.0,
                reference=None,
            )
        certificate = certificates[instrument.certificate]
        stated = certificate.accuracy
        reference = references[certificate.reference] if certificate.reference else None
        own = stated.of_reading**2 - (reference.of_reading**2 if reference else 0.0)
        years = (
            abs((on - certificate.date).days) / DAYS_PER_YEAR
        )  # a calibration afterwards vouches no better
        if instrument.drift is not None:
            drift, drift_origin = instrument.drift * years, f"stated drift over {years:.1f} years"
        else:
            drift = hypot(class_of_span, promise.of_reading)
            drift_origin = "drift not stated: the class taken once"
        return cls(
            of_reading=sqrt(max(own, 0.0)),
            of_span=hypot(stated.of_span, stated.absolute / instrument.span),
            dist=stated.dist,
            drift=drift,
            origin=f"certificate {certificate.id}",
            drift_origin=drift_origin,
            split=stated.of_reading == 0,
            inside=reference.of_reading if reference else 0.0,
            reference=reference,
        )
