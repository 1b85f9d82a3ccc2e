"""What a class or a certificate makes of a channel: reference, gain, linearity, drift, and one constant error."""

from collections.abc import Iterator
from math import hypot, sqrt

import numpy as np

from headrace.bench.instruments.case import Case, Term
from headrace.bench.instruments.promise import of_span
from headrace.bench.meters.factor import reference_source

MID_RANGE = sqrt(3) / 2
"""Share of a class that linearity takes at mid-range, so that gain and linearity together make up the whole
class there:
0.5**2 + MID_RANGE**2 = 1."""


def reference(case: Case) -> Iterator[Term]:
    """The standard behind its certificate, by the one name under which it acts on all that was calibrated on it."""
    if case.promise.reference is not None and case.proportional:
        one = reference_source(case.promise.reference)
        yield Term(
            name=one.name, u=one.u, dist=one.dist, scope=one.scope, origin=one.origin, shape=case.values
        )


def gain(case: Case) -> Iterator[Term]:
    """In proportion to the reading; a class counts whole at the end of the range, less the reference's share."""
    if not case.proportional:
        return
    parts = case.promise
    u = parts.of_reading
    if case.tared and parts.split:
        at_end = parts.of_span * case.instrument.span / case.full
        u = sqrt(max(u**2 + at_end**2 - parts.inside**2, 0.0))
    yield Term(
        name=f"{case.tag}.gain",
        u=u,
        dist=parts.dist,
        scope="instrument",
        origin=parts.origin,
        shape=case.values,
    )


def linearity(case: Case) -> Iterator[Term]:
    """A bow over the range: as stated, else dealt from the class; a certificate's part of span counts as one too.

    What is stated is taken off by a certificate's points, and otherwise joins the certificate's own part.
    """
    parts, stated = case.promise, case.stated.linearity
    dist, origin = parts.dist, parts.origin
    u = 0.0
    if case.tared:
        u = parts.of_span * (MID_RANGE if parts.split else 1.0)
    if stated is not None and not parts.corrected:
        own = hypot(of_span(stated, case.instrument), stated.of_reading)
        u = own if case.instrument.certificate is None else hypot(u, own)
        dist, origin = stated.dist, f"linearity of {case.tag}: {stated.text}"
    yield Term(
        name=f"{case.tag}.linearity",
        u=u * case.instrument.span,
        dist=dist,
        scope="instrument",
        origin=origin,
        shape=case.bow,
    )


def drift(case: Case) -> Iterator[Term]:
    """Since the certificate: what was seen to change at each reading, less that at the zero that was taken off.

    Where nothing was seen it grows with the reading, and without a zero is inside the constant error.
    """
    change = case.promise.change
    if change is not None and change.greatest != 0:
        way = -case.ones if case.conditions.travel is None else case.conditions.travel
        nought = case.nought if case.tared else 0.0
        moved = change.at(case.values + nought, way)
        if case.tared:
            moved = moved - change.at(np.array([nought]), -1.0)
        yield Term(
            name=f"{case.tag}.drift",
            u=case.promise.drift * abs(change.greatest),
            dist="rectangular",
            scope="instrument",
            origin=case.promise.drift_origin,
            shape=moved / change.greatest,
        )
    elif change is None and case.tared:
        yield Term(
            name=f"{case.tag}.drift",
            u=case.promise.drift * case.instrument.span,
            dist="rectangular",
            scope="instrument",
            origin=case.promise.drift_origin,
            shape=case.reach * np.sign(case.values),
        )


def tare(case: Case) -> Iterator[Term]:
    """The zero that was taken off: the run's own, the same at every reading."""
    if case.tared and case.zero is not None:
        after = "zero before and after the run" if case.zero.after is not None else "zero before the run only"
        yield Term(
            name=f"{case.run}.{case.tag}.tare",
            u=case.zero.u,
            dist="normal",
            scope="run",
            origin=after,
            shape=case.ones,
        )


def constant(case: Case) -> Iterator[Term]:
    """Without a zero: one error of the whole class, the same at every reading of that instrument in every run."""
    if not case.tared:
        drifted = case.promise.drift if case.promise.change is None else 0.0
        yield Term(
            name=f"{case.tag}.class",
            u=hypot(case.promise.of_span, drifted) * case.instrument.span,
            dist=case.promise.dist,
            scope="instrument",
            origin=case.promise.origin,
            shape=case.ones,
        )
