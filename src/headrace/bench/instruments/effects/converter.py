"""The logger as a measuring instrument: gain and offset that all its channels share, and the steps of its converter."""

from collections.abc import Iterator

from headrace.bench.instruments.case import Array, Case, Term
from headrace.bench.instruments.effects.rounding import left


def logger(case: Case) -> Iterator[Term]:
    """Gain in proportion to the raw signal, offset in proportion to its whole range: one source for all channels."""
    one = case.conditions.loggers.get(case.stated.logger or "")
    if one is None:
        return
    raw = _raw(case)
    if raw is not None:
        yield Term(
            name=f"{one.id}.gain", u=one.gain, dist=one.dist, scope="shared", origin=one.origin, shape=raw
        )
    if not case.tared:
        yield Term(
            name=f"{one.id}.offset",
            u=one.offset,
            dist=one.dist,
            scope="shared",
            origin=one.origin,
            shape=case.ones * _width(case),
        )


def steps(case: Case) -> Iterator[Term]:
    """What rounding to the converter's steps leaves in a mean, in the run's flow and in its zero."""
    one = case.conditions.loggers.get(case.stated.logger or "")
    if one is None or one.bits is None:
        return
    step = _width(case) / 2**one.bits
    held = case.conditions
    yield Term(
        name=f"{case.run}.{case.tag}.steps",
        u=left(step, noise=held.noise or 0.0, sweep=held.sweep, tared=case.tared, rest=held.rest),
        dist="rectangular",
        scope="run",
        origin=f"{one.bits} bits of {one.id}",
        shape=case.ones,
    )


def _width(case: Case) -> float:
    return case.instrument.span if case.stated.raw_width is None else case.stated.raw_width


def _raw(case: Case) -> Array | None:
    """The raw signal in units of what it stands for; of a zeroed channel the part above its zero."""
    signal = case.instrument.signal
    if signal is None or case.tared:
        return case.values if case.proportional else None
    live = signal[0] / (signal[1] - signal[0]) * case.instrument.span
    return case.values - case.instrument.low + live
