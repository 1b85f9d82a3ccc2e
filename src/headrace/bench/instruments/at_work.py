"""An instrument at work: nominal values become values with error terms, each under the name of its source.

How promises become sources is written in docs/uncertainty.md. Start at `at_work`; what may err is in `effects`.
"""

import datetime
from collections.abc import Mapping
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from headrace.bench.instruments.case import Case
from headrace.bench.instruments.conditions import PLAIN, Conditions
from headrace.bench.instruments.effects import EFFECTS
from headrace.bench.instruments.promise import promise_of
from headrace.bench.instruments.zero import Zero
from headrace.records.given import Certificate, Instrument, Reference
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

BY_EYE = 4
"""A pointer is read to a quarter of a division (limits); common practice."""


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
    conditions: Conditions = PLAIN,
) -> tuple[Doubted, tuple[Source, ...]]:
    """A channel's nominal values (corrected, zero taken off) with all that may be wrong with them.

    Args:
        instrument: whose values they are; values: SI, shape (n,).
        run: its id, for the names of what is the run's own.
        zero: the zero that was taken off, or None when none was.
        certificates, references: by id.
        on: day of the run, for drift since the certificate.
        conditions: what held while it was read.
    Returns:
        The values with their terms, and the sources those terms name.
    """
    case = Case(
        instrument=instrument,
        values=values,
        run=run,
        zero=zero,
        promise=promise_of(instrument, certificates, references, on),
        conditions=conditions,
    )
    found = [term for effect in EFFECTS.values() for term in effect(case) if term.u > 0]
    sources = tuple(
        Source(name=one.name, u=one.u, dist=one.dist, scope=one.scope, origin=one.origin, group=group)
        for one in found
    )
    return Doubted(base=values, terms=tuple((one.name, one.shape) for one in found)), sources


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
