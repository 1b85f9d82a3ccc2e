"""The logger as a measuring instrument: gain and offset that all its channels share, and the steps of its converter.

Source of the steps: rounding to a step q errs by q/sqrt(12) (JCGM 100:2008, F.2.2.1). Noise above the step makes the
mean of many samples err far less: the mean error of a rounded value with normal noise sigma falls as
exp(-2 pi^2 sigma^2 / q^2), the first term of its Fourier series (closed form). A signal that runs over many steps in a
slice averages likewise; what is left there is at most the last step's share, q/sweep.
"""

from collections.abc import Iterator
from math import exp, hypot, pi, sqrt

from headrace.bench.instruments.case import Array, Case, Term


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
    noise = case.conditions.noise or 0.0
    still = exp(-2 * (pi * noise / step) ** 2)
    running = still * min(1.0, step / case.conditions.sweep) if case.conditions.sweep > 0 else still
    left = hypot(running, still) if case.tared else running
    yield Term(
        name=f"{case.run}.{case.tag}.steps",
        u=step / sqrt(12) * left,
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
