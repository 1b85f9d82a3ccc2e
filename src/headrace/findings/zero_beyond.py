"""A zero check whose reading lies beyond what the owner allows a zero to move."""

from headrace.findings.evidence import DayEvidence
from headrace.notices import Notice, Severity
from headrace.records.day import Step

PRESSURES = ("gauge", "abs", "drop")


def find(evidence: DayEvidence) -> tuple[Notice, ...]:
    """One notice for each zero check beyond the limit; only pressures have a zero to be checked."""
    return tuple(
        notice
        for step in evidence.day.steps
        if step.event.what == "zero-check"
        for notice in _held(evidence, step)
    )


def _held(evidence: DayEvidence, step: Step) -> tuple[Notice, ...]:
    event = step.event
    instrument = evidence.campaign.bench.instruments.get(event.words["instrument"])
    shows = event.values.get("shows")
    if instrument is None or shows is None or instrument.measures not in PRESSURES:
        return ()
    accuracy = instrument.accuracy
    promised = 3**0.5 * (accuracy.of_span * instrument.span + accuracy.absolute)
    allowed = max(evidence.campaign.limits.tare_shift * instrument.span, promised, instrument.division or 0.0)
    off = shows.value - (step.ambient.value if instrument.measures == "abs" else 0.0)
    if abs(off) <= allowed + 2 * (step.ambient.u if instrument.measures == "abs" else 0.0):
        return ()
    return (
        Notice(
            code="zero-beyond",
            severity=Severity.DOUBT,
            text=(
                f"ledger.toml, line {event.line}, {event.place}: {instrument.tag} at rest shows {off / 100:+.4g} mbar "
                f"from its zero; {allowed / 100:.4g} mbar is allowed."
            ),
            facts=(("p_zero", off), ("limit", allowed)),
            limit="the largest of tare_shift of campaign.toml, the class of the instrument and one division",
            try_=(
                "likely in this order: line not drained or not open to air; air in an impulse line; the instrument was "
                "overloaded. Take the zero again before the next run"
            ),
            about=f"channel {instrument.tag}",
        ),
    )
