"""What the findings of a shut-in pressure share: what it may do by itself while nothing is moved."""

from collections.abc import Iterator
from dataclasses import dataclass

from headrace.findings.evidence import DayEvidence
from headrace.records.day import Step

CLEAR = 2.0
"""Standard uncertainties of the difference beyond which a pressure moved."""

AT_ONCE, AN_HOUR, MOST = 0.5, 2.0, 8.0
"""By how much a bench may warm or cool meanwhile: at once, for each hour, at most [K]. Common practice."""

COLD_ROOM = 280.0
"""The room, when it matters how much a pressure follows its temperature [K]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShutIn:
    """A pressure read twice with nothing moved in between. Gauge pressures [Pa]; seconds; low, high: what it may read
    by itself; u: of the difference.
    """

    step: Step
    vessel: str
    number: int
    before: float
    after: float
    low: float
    high: float
    time: float
    u: float


def shut_in(evidence: DayEvidence) -> Iterator[ShutIn]:
    """Every pair of readings of one vessel between which nothing was moved, leak checks included."""
    for step in evidence.day.steps:
        event, ambient = step.event, step.ambient.value
        if event.what == "leak-check":
            one, two = event.values["p_before"], event.values["p_after"]
            time = event.values["duration"].value
            yield _pair(step, event.words["vessel"], event.number, (one.value, two.value), (one.u, two.u), time,
                        (1.0, 1.0), ambient)  # fmt: skip
        for name, after in step.after.items():
            old, new = step.before[name].p_gauge, after.p_gauge
            if old is None or new is None or name in step.touched:
                continue
            checked = event.what == "leak-check" and event.words["vessel"] == name
            if new.number == event.number and new.how == old.how == "read" and not old.stale and not checked:
                time = (new.moment - old.moment).total_seconds()
                band = step.before[name].settle_low, step.before[name].settle_high
                yield _pair(
                    step, name, old.number, (old.value, new.value), (old.u, new.u), time, band, ambient
                )


def _pair(
    step: Step, vessel: str, number: int, read: tuple[float, float], u: tuple[float, float], time: float,
    band: tuple[float, float], ambient: float,
) -> ShutIn:  # fmt: skip
    kelvin = min(AT_ONCE + AN_HOUR * max(time, 0.0) / 3600, MOST) / COLD_ROOM
    start = read[0] + ambient
    return ShutIn(
        step=step, vessel=vessel, number=number, before=read[0], after=read[1], time=time,
        low=start * band[0] * (1 - kelvin) - ambient, high=start * band[1] * (1 + kelvin) - ambient,
        u=(u[0] ** 2 + u[1] ** 2) ** 0.5,
    )  # fmt: skip


def place(one: ShutIn) -> str:
    """Where it was read, for a message."""
    return f"ledger.toml, line {one.step.event.line}, {one.step.event.place}"
