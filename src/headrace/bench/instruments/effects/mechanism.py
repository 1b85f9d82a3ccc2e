"""How a mechanism comes to rest: hysteresis, which has one sign while all fall, and repeatability, which has none."""

from collections.abc import Iterator
from math import hypot

import numpy as np

from headrace.bench.instruments.case import Case, Term
from headrace.bench.instruments.promise import of_span


def hysteresis(case: Case) -> Iterator[Term]:
    """Half of the stated difference up against down, at mid-range, with the sign of the way each value was reached.

    One error per instrument: in runs that all fall it does not average. A certificate with points up and points down
    corrects it instead.
    """
    stated = case.stated.hysteresis
    if stated is None or case.promise.both_ways:
        return
    way = -case.ones if case.conditions.travel is None else case.conditions.travel
    yield Term(
        name=f"{case.tag}.hysteresis",
        u=hypot(of_span(stated, case.instrument), stated.of_reading) * case.instrument.span / 2,
        dist=stated.dist,
        scope="instrument",
        origin=f"hysteresis of {case.tag}: {stated.text}, half to either side",
        shape=way * case.bow,
    )


def repeatability(case: Case) -> Iterator[Term]:
    """Anew in every run; anew at every reading where they are made one by one."""
    stated = case.stated.repeatability
    if stated is None:
        return
    size = np.hypot(of_span(stated, case.instrument) * case.instrument.span, stated.of_reading * case.values)
    origin = f"repeatability of {case.tag}: {stated.text}"
    if not case.conditions.moments:
        yield Term(
            name=f"{case.run}.{case.tag}.repeatability",
            u=1.0,
            dist=stated.dist,
            scope="run",
            origin=origin,
            shape=size,
        )
        return
    for k, moment in enumerate(case.conditions.moments):
        shape = np.zeros_like(case.values)
        shape[k] = size[k]
        yield Term(
            name=f"{case.run}.{case.tag}.{moment}.repeatability",
            u=1.0,
            dist=stated.dist,
            scope="run",
            origin=origin,
            shape=shape,
        )
