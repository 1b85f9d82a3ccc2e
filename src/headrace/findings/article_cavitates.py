"""Water cavitated in the article, or came near it: what was left out of the carried curve, and what K cannot judge."""

from headrace.bench.elements import ELEMENTS
from headrace.findings.evidence import CampaignEvidence
from headrace.notices import Notice, Severity
from headrace.records.readings import Reading, characteristic_key


def find(evidence: CampaignEvidence) -> tuple[Notice, ...]:
    """One notice for each characteristic with slices below the owner's first limit of K."""
    groups: dict[str, list[Reading]] = {}
    campaign = evidence.campaign.runs.values()
    short = {
        run.minus for run in campaign if run.excluded is None
    }  # they count in their long run, nowhere else
    for run in evidence.runs.values():
        for reading in run.readings if run.excluded is None and run.run not in short else ():
            groups.setdefault(characteristic_key(reading.stream, reading.state), []).append(reading)
    return tuple(notice for key, readings in groups.items() for notice in _judge(evidence, key, readings))


def _judge(evidence: CampaignEvidence, key: str, readings: list[Reading]) -> tuple[Notice, ...]:
    limits = evidence.campaign.limits
    low = [one for one in readings if one.cav < limits.cavitation_doubt]
    if not low:
        return ()
    circuit = evidence.campaign.article.circuits[readings[0].stream.split("+")[0]]
    gas_cored = ELEMENTS[circuit.element].gas_cored
    runs = {
        name: min(one.cav for one in low if one.run == name) for name in dict.fromkeys(one.run for one in low)
    }
    least = min(runs.values())
    where = ", ".join(f"{name} (to {cav:.2f})" for name, cav in runs.items())
    seen = f"Circuit {key}: K falls below {limits.cavitation_doubt:g} in {'run' if len(runs) == 1 else 'runs'} {where}"
    if gas_cored:
        text = (
            f"{seen}. Its elements run with a gas core, so K over the whole drop does not judge them; it "
            "has to be judged at their tangential ports, with the pressure behind these."
        )
    else:
        text = f"{seen}; {_fate(readings, limits.cavitation_stop)}"
    return (
        Notice(
            code="article-cavitates",
            severity=Severity.INFO if gas_cored else Severity.DOUBT,
            text=text,
            facts=(("cav", least), ("slices", float(len(low))), ("slices_all", float(len(readings)))),
            limit=(
                f"K > {limits.cavitation_doubt:g}, left out below {limits.cavitation_stop:g}; owner's limits"
            ),
            try_=(
                "find the pressure behind the tangential ports, or compare with a run against back-pressure"
                if gas_cored
                else "run at less drop, or against back-pressure (a flooded cap, for plain holes), "
                "with fresh water; the hot engine runs at another K, and the step to propellant is wider "
                "while this stands"
            ),
            run=next(iter(runs)) if len(runs) == 1 else None,
            about=f"circuit {key}",
        ),
    )


def _fate(readings: list[Reading], stop: float) -> str:
    beyond = [one for one in readings if one.cav <= stop]
    out = [one for one in beyond if not one.used]
    if not beyond:
        return f"all {len(readings)} slices stay in the carried curve."
    where = ", ".join(f"{one.run} at {one.t:.1f} s" for one in beyond[:6]) + (
        " ..." if len(beyond) > 6 else ""
    )
    counted = f"{len(out) if out else len(beyond)} of {len(readings)} slices have K below {stop:g}"
    if out:
        return f"{counted} and are left out of the carried curve ({where})."
    return f"{counted}, and none clear of it is there to be carried ({where})."
