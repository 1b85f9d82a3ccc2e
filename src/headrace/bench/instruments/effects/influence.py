"""What else acts on an instrument: the temperature of its body, and the line pressure on both sides of a dp cell.

One coefficient per instrument, so a cold morning and a warm afternoon err against each other. A zero that was taken
on the day takes the shift of zero off; the shift of span stays.
"""

from collections.abc import Iterator
from math import sqrt

import numpy as np

from headrace.bench.instruments.case import Array, Case, Term
from headrace.bench.instruments.promise import at_full, of_span
from headrace.records.given import Accuracy


def temperature(case: Case) -> Iterator[Term]:
    """Zero and span per K away from the reference temperature."""
    stated = case.stated
    away = _away(case)
    if away is None:
        return
    if stated.zero_per_kelvin is not None and not case.tared:
        yield _zero(case, "zero_per_kelvin", stated.zero_per_kelvin, away * case.ones)
    if stated.span_per_kelvin is not None and case.proportional:
        yield _span(case, "span_per_kelvin", stated.span_per_kelvin, away * case.values)


def line_pressure(case: Case) -> Iterator[Term]:
    """Zero and span per Pa of line pressure; a zero that was taken under line pressure takes its shift off."""
    stated, p_line = case.stated, case.conditions.p_line
    if p_line is None:
        return
    under_pressure = case.zero is not None and case.zero.at_pressure is not None
    if stated.zero_per_pascal is not None and not under_pressure:
        yield _zero(case, "zero_per_pascal", stated.zero_per_pascal, p_line)
    if stated.span_per_pascal is not None:
        yield _span(case, "span_per_pascal", stated.span_per_pascal, p_line * case.values)


def _away(case: Case) -> float | None:
    """Kelvins away from the reference temperature: of the day, else (in the mean square) of the span it may have."""
    stated, body = case.stated, case.conditions.body_temp
    if stated.reference_temp is None:
        return None
    if body is not None:
        off = body.value - stated.reference_temp
        size = sqrt(off**2 + body.u**2)
        return -size if off < 0 else size
    if stated.temp_span is None:
        return None
    low, high = stated.temp_span
    middle = (low + high) / 2 - stated.reference_temp
    return sqrt(middle**2 + (high - low) ** 2 / 12)


def _zero(case: Case, what: str, stated: Accuracy, shape: Array) -> Term:
    return Term(
        name=f"{case.tag}.{what}",
        u=of_span(stated, case.instrument) * case.instrument.span,
        dist=stated.dist,
        scope="instrument",
        origin=f"data sheet of {case.tag}: {stated.text}",
        shape=np.asarray(shape),
    )


def _span(case: Case, what: str, stated: Accuracy, shape: Array) -> Term:
    return Term(
        name=f"{case.tag}.{what}",
        u=at_full(stated, case.instrument),
        dist=stated.dist,
        scope="instrument",
        origin=f"data sheet of {case.tag}: {stated.text}",
        shape=np.asarray(shape),
    )
