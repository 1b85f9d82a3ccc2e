"""A gauge read by a person, or off film, that contradicts what was logged of the same place at the same moment.

The same place is the same instrument, or another one that some run of the campaign names for the same tap. A reading
with a time is held against that time, one "before" or "after" the run against the rest there. No number is changed.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.bench.instruments import Conditions, Zero, at_work, reading_by_eye
from headrace.findings.channels import BAR, PRESSURES
from headrace.findings.evidence import RunEvidence
from headrace.notices import Notice, Severity
from headrace.records.given import HandReading

Array = NDArray[np.float64]

CLEAR = 2.0
"""Standard uncertainties of their difference beyond which two readings of one place contradict each other."""

NEAR = 0.25
"""Seconds around a reading's time within which the record is looked at, at least. Common practice."""

G_RHO = 9.81e3
"""Pressure of a metre of water [Pa/m], enough for a limit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """What a channel or a gauge says at one moment: value over ambient (a pressure) [SI], standard uncertainty."""

    value: float
    u: float


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *doubt* for each pair that lies further apart than both doubts explain."""
    return (*_by_hand(evidence), *_filmed(evidence))


def _by_hand(evidence: RunEvidence) -> Iterator[Notice]:
    for reading in evidence.run.hand:
        where = _moment(evidence, reading)
        if where is None or reading.instrument not in evidence.campaign.bench.instruments:
            continue
        words = f"at {reading.time:.2f} s" if reading.time is not None else reading.moment
        for tag in _logged(evidence, reading.instrument):
            log = _log(evidence, tag, where, own=tag == reading.instrument)
            if log is not None:
                hand = _hand(evidence, reading, own=tag == reading.instrument)
                yield from _held(evidence, (reading.instrument, f"read by hand {words}", hand), (tag, log))


def _filmed(evidence: RunEvidence) -> Iterator[Notice]:
    films = evidence.run.trace.filmed if evidence.run.trace is not None else {}
    for stream in evidence.streams.values():
        where = np.flatnonzero(stream.within)
        for gauge in films:
            for tag in _logged(evidence, gauge):
                both = where[np.isfinite(evidence.signals[tag][where])] if tag != gauge else where[:0]
                both = (
                    both[np.isfinite(evidence.signals[gauge][both])]
                    if gauge in evidence.signals
                    else both[:0]
                )
                film, log = _log(evidence, gauge, both), _log(evidence, tag, both)
                if film is not None and log is not None:
                    apart = _off(evidence, gauge, both) - _off(evidence, tag, both)
                    seen = _Seen(value=log.value + float(np.median(apart)), u=film.u)
                    yield from _held(
                        evidence, (gauge, "filmed, in the middle of the window", seen), (tag, log)
                    )


def _logged(evidence: RunEvidence, tag: str) -> Iterator[str]:
    """Logged channels of the place that an instrument reads: itself, and others at the same tap."""
    known = evidence.campaign.bench.instruments
    films = evidence.run.trace.filmed if evidence.run.trace is not None else {}
    taps = _taps(evidence)
    for other in evidence.signals:
        here = bool(taps.get(tag, set()) & taps.get(other, set()))
        alike = {known[tag].measures, known[other].measures} <= {"gauge", "abs"}
        if other not in films and (other == tag or (here and alike)):
            yield other


def _taps(evidence: RunEvidence) -> Mapping[str, set[str]]:
    """Taps at which instruments stand, as the runs of the campaign name them."""
    out: dict[str, set[str]] = {}
    circuits = evidence.campaign.article.circuits
    for run in evidence.campaign.runs.values():
        for flow in run.flows:
            out.setdefault(flow.p_tap, set()).update(
                circuits[one].tap for one in flow.circuits if one in circuits
            )
    return out


def _moment(evidence: RunEvidence, reading: HandReading) -> NDArray[np.intp] | None:
    """The samples at the moment of a reading; None where that is not known to seconds."""
    time = evidence.time
    if reading.time is not None:
        reach = max(NEAR, 2 * reading.u_time)
        found = np.flatnonzero(np.abs(time - reading.time) <= reach)
    elif reading.moment in ("before", "after") and evidence.streams:
        first = min(one.on[0] for one in evidence.streams.values())
        last = max(one.on[1] for one in evidence.streams.values())
        found = np.flatnonzero(time < first - NEAR if reading.moment == "before" else time > last + 1.0)
    else:
        return None
    return found if found.size else None


def _off(evidence: RunEvidence, tag: str, where: NDArray[np.intp]) -> Array:
    """A channel over ambient, its zero taken off."""
    zero = evidence.zeros.get(tag)
    floor = evidence.run.ambient.value if _absolute(evidence, tag) and zero is None else 0.0
    return np.asarray(evidence.signals[tag][where] - (floor if zero is None else zero.before))


def _absolute(evidence: RunEvidence, tag: str) -> bool:
    return evidence.campaign.bench.instruments[tag].measures == "abs"


def _log(evidence: RunEvidence, tag: str, where: NDArray[np.intp], *, own: bool = False) -> _Seen | None:
    """What a channel says there. own: as the instrument shows it, its own errors apart."""
    trace = evidence.run.trace
    if own and trace is not None and tag in trace.channels:
        values = trace.channels[tag][where]
    else:
        values = _off(evidence, tag, where) if tag in evidence.signals else np.empty(0)
    values = values[np.isfinite(values)]
    if values.size == 0:
        return None
    moved = float(np.ptp(values)) / np.sqrt(12) if where.size < evidence.time.size / 2 else 0.0
    if not own and tag in _films(evidence):
        moved = 0.0
    promised = 0.0 if own else _promised(evidence, tag, float(np.median(values)), evidence.zeros.get(tag))
    return _Seen(value=float(np.median(values)), u=float(np.hypot(moved, promised)))


def _films(evidence: RunEvidence) -> Mapping[str, object]:
    return evidence.run.trace.filmed if evidence.run.trace is not None else {}


def _hand(evidence: RunEvidence, reading: HandReading, *, own: bool) -> _Seen:
    instrument = evidence.campaign.bench.instruments[reading.instrument]
    eye = reading_by_eye(instrument, run=evidence.run.id, moment=reading.moment, division=reading.division)
    floor = evidence.run.ambient.value if instrument.measures == "abs" and not own else 0.0
    promised = 0.0 if own else _promised(evidence, reading.instrument, reading.value, None)
    u = float(np.hypot(promised, 0.0 if eye is None else eye.u))
    return _Seen(value=reading.value - floor, u=u)


def _promised(evidence: RunEvidence, tag: str, value: float, zero: Zero | None) -> float:
    """Standard uncertainty of one value by all that its instrument may do to it, and of where it hangs."""
    campaign, run = evidence.campaign, evidence.run
    instrument = campaign.bench.instruments[tag]
    film = None if run.trace is None else run.trace.filmed.get(tag)
    doubted, sources = at_work(
        instrument,
        np.array([value]),
        run=run.id,
        zero=zero,
        certificates=campaign.certificates,
        references=campaign.references,
        on=run.date,
        conditions=Conditions(body_temp=run.air_temperature, film=film, loggers=campaign.bench.loggers),
    )
    size = {source.name: source.u for source in sources}
    taps = [
        campaign.bench.taps[one].height.value
        for one in _taps(evidence).get(tag, ())
        if one in campaign.bench.taps
    ]
    hangs = instrument.height.value if instrument.height is not None and zero is None else None
    head = 0.0 if hangs is None else G_RHO * max((abs(hangs - height) for height in taps), default=0.0)
    return float(
        np.hypot(np.sqrt(sum((float(shape[0]) * size[name]) ** 2 for name, shape in doubted.terms)), head)
    )


def _held(
    evidence: RunEvidence, gauge: tuple[str, str, _Seen], channel: tuple[str, _Seen]
) -> Iterator[Notice]:
    (tag, how, hand), (other, log) = gauge, channel
    apart, u = hand.value - log.value, float(np.hypot(hand.u, log.u))
    if not abs(apart) > CLEAR * u:
        return
    same = tag == other
    pressure = evidence.campaign.bench.instruments[tag].measures in PRESSURES
    said = (
        f"{apart / BAR:+.3f} bar, where ±{CLEAR * u / BAR:.3f} bar"
        if pressure
        else f"{apart:+.4g} (SI), where ±{CLEAR * u:.2g}"
    )
    yield Notice(
        code="hand-against-log",
        severity=Severity.DOUBT,
        text=(
            f"Run {evidence.run.id}: {tag}, {how}, is off from what was logged of {'it' if same else other} by {said} "
            "is what both doubts explain."
        ),
        facts=(("difference", apart), ("u", u)),
        limit=f"{CLEAR:g} standard uncertainties of the difference, common practice",
        try_=(
            "likely in this order: a reading mistyped or of another moment; "
            + ("the scaling or unit of its column" if same else f"the channel map or scaling of {other}")
            + "; a needle that sticks or whose zero has moved. Read both at rest and under pressure once more"
        ),
        run=evidence.run.id,
        about=f"channel {other}",
    )
