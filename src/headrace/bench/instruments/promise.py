"""What holds for an instrument today: its certificate, or its class; absolute parts turned into parts of span."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot, sqrt

from headrace.bench.certificates import DAYS_PER_YEAR, Change, between, change_of
from headrace.records.given import Accuracy, Certificate, Instrument, Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """Standard uncertainties, in parts of reading and of span.

    split: the part of span is all there is (a class, or a certificate that states nothing of reading), so it is
    dealt over gain and linearity; inside: the reference's share that is still in it. corrected: by points that the
    certificate states; both_ways: by points up and points down. change: what was seen to change between two
    certificates; drift is then a share of that change, at each reading.
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
    corrected: bool = False
    both_ways: bool = False
    change: Change | None = None


def promise_of(
    instrument: Instrument,
    certificates: Mapping[str, Certificate],
    references: Mapping[str, Reference],
    on: datetime.date,
) -> Promise:
    """What is promised on a day."""
    promise = instrument.accuracy
    class_of_span = of_span(promise, instrument)
    if instrument.certificate is None:
        return Promise(
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
    drift, drift_origin, change = _drift(instrument, certificate, certificates, on)
    return Promise(
        of_reading=sqrt(max(own, 0.0)),
        of_span=of_span(stated, instrument),
        dist=stated.dist,
        drift=drift,
        origin=f"certificate {certificate.id}",
        drift_origin=drift_origin,
        split=stated.of_reading == 0,
        inside=reference.of_reading if reference else 0.0,
        reference=reference,
        corrected=bool(certificate.points),
        both_ways=bool(certificate.falling),
        change=change,
    )


def of_span(accuracy: Accuracy, instrument: Instrument) -> float:
    """The parts of span and the absolute part together, as a share of the instrument's span."""
    return hypot(accuracy.of_span, accuracy.absolute / instrument.span)


def at_full(accuracy: Accuracy, instrument: Instrument) -> float:
    """All parts together at the upper end of the range, as a share of that end."""
    full = max(abs(instrument.low), abs(instrument.high))
    return hypot(accuracy.of_reading, of_span(accuracy, instrument) * instrument.span / full)


def _drift(
    instrument: Instrument,
    certificate: Certificate,
    certificates: Mapping[str, Certificate],
    on: datetime.date,
) -> tuple[float, str, Change | None]:
    """Drift on that day, whose word it is, and what it is a share of: the change that was seen, or (None) the span.

    Between two certificates it was somewhere between them; after the last one it goes on as stated, else as it went
    from one to the next, else the class is taken once.
    """
    years = abs((on - certificate.date).days) / DAYS_PER_YEAR  # a calibration afterwards vouches no better
    pair = between(certificate, certificates, on)
    if pair is not None:
        former, later = pair
        moved = change_of(later, certificates)
        origin = f"drift between {former.id} and {later.id}"
        return (0.0 if moved is None else 1 / sqrt(12)), origin, moved
    if instrument.drift is not None:
        return instrument.drift * years, f"stated drift over {years:.1f} years", None
    seen = change_of(certificate, certificates)
    if seen is not None:
        origin = f"drift from {certificate.former} to {certificate.id}, over {years:.1f} years"
        return years / seen.years / sqrt(3), origin, seen
    class_of_span = of_span(instrument.accuracy, instrument)
    return (
        hypot(class_of_span, instrument.accuracy.of_reading),
        "drift not stated: the class taken once",
        None,
    )
