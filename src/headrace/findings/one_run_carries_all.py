"""A characteristic that rests on a single run, or on one run above all, or on a single day."""

from headrace.findings.evidence import CampaignEvidence
from headrace.notices import Notice, Severity
from headrace.records.readings import Characteristic, characteristic_key

MOST = 0.8
"""Share of the weight that one run of several may have. Common practice."""


def find(evidence: CampaignEvidence) -> tuple[Notice, ...]:
    """At most one notice for each characteristic; for one that no engine side carries it is information."""
    carried = _carried(evidence)
    return tuple(
        notice
        for key, one in evidence.characteristics.items()
        for notice in _judge(key, one, carried is None or key in carried)
    )


def _carried(evidence: CampaignEvidence) -> set[str] | None:
    """Keys of the characteristics that the engine carries; None without an engine."""
    engine = evidence.campaign.engine
    if engine is None:
        return None
    out = set()
    for side in engine.sides.values():
        for circuit in side.circuits:
            states = (circuit.characteristic,) if circuit.characteristic else ("alone", "together")
            keys = [characteristic_key(circuit.id, state) for state in states]
            out.update([key for key in keys if key in evidence.characteristics][:1])
    return out


def _judge(key: str, one: Characteristic, carried: bool) -> tuple[Notice, ...]:
    name, top = max(one.weights.items(), key=lambda item: item[1], default=("", 1.0))
    if len(one.runs) <= 1:
        seen = (
            f"rests on run {name or ', '.join(one.runs)} alone; how far runs scatter is a default, not seen"
        )
        severity, limit = Severity.DOUBT, "two runs or more, common practice"
    elif top > MOST:
        seen = f"rests on run {name} for {100 * top:.0f} %; the other {len(one.runs) - 1} hardly count"
        severity, limit = Severity.DOUBT, f"{100 * MOST:g} % of the weight, common practice"
    elif one.days <= 1:
        seen = f"rests on {len(one.runs)} runs of one day; how far days scatter is a default, not seen"
        severity, limit = Severity.INFO, "two days or more, common practice"
    else:
        return ()
    return (
        Notice(
            code="one-run-carries-all",
            severity=severity if carried else Severity.INFO,
            text=f"Circuit {key} {seen}.",
            facts=(("weight", top), ("runs", float(len(one.runs))), ("days", float(one.days))),
            limit=limit,
            try_="repeat the run, best on another day after a new set-up, bleed and zero",
            run=name or None if len(one.runs) <= 1 or top > MOST else None,
            about=f"circuit {key}",
        ),
    )
