"""Gas came through before the valve shut: E wobbles while the pressure is still on."""

import numpy as np
from numpy.typing import NDArray

from headrace.findings.evidence import RunEvidence, StreamEvidence
from headrace.notices import Notice, Severity

Array = NDArray[np.float64]

LEAST = 0.2
"""Seconds that the wobble must last."""

WOBBLE = 3.0
"""Times the scatter of ln E in the sweep... """

FLOOR = 0.01
"""... and this much in ln E. Common practice: a gas signature is coarse."""

SMOOTH = 3
"""Degree of the smooth course about which E wobbles."""

HIGH = 0.5
"""Share of the pressure at the sweep's end that counts as still on: below it the valve is closing."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """Information when the window ends before it, a *doubt* when a window that was typed includes it."""
    return tuple(
        notice for name, stream in evidence.streams.items() for notice in _judge(evidence, name, stream)
    )


def _judge(evidence: RunEvidence, name: str, stream: StreamEvidence) -> tuple[Notice, ...]:
    phases = {phase[0]: phase[1:] for phase in stream.window.phases}
    if "breakthrough" not in phases or "sweep" not in phases:
        return ()
    sweep, late = phases["sweep"], phases["breakthrough"]
    if late[1] - late[0] <= LEAST:
        return ()
    steady = _between(stream, sweep)
    last = stream.time[steady] > sweep[1] - 0.1 * (sweep[1] - sweep[0])
    if np.count_nonzero(last) < 5:
        return ()
    pressure = float(np.mean(stream.p_tap[steady][last]))
    on = _between(stream, late) & (stream.p_tap > HIGH * pressure)
    step = float(np.median(np.diff(stream.time)))
    lasts = float(np.count_nonzero(on) * step)
    if lasts <= LEAST or np.count_nonzero(on) < 5:
        return ()
    usual, seen = _scatter(stream, steady), _scatter(stream, on)
    if seen <= max(WOBBLE * usual, FLOOR):
        return ()
    begin = float(stream.time[np.flatnonzero(on)[0]])
    inside = stream.window.end > late[0] + LEAST
    return (
        Notice(
            code="gas-breakthrough",
            severity=Severity.DOUBT if inside else Severity.INFO,
            text=(
                f"Run {evidence.run.id}, circuit {name}: from {begin:.2f} s for {lasts:.1f} s E "
                f"wobbles by {100 * seen:.1f} % "
                f"(before: {100 * usual:.2f} %) while the pressure is still on: gas comes through. "
                "The window "
                f"{'typed in run.toml includes it' if inside else 'ends before it'} "
                f"({stream.window.start:.2f} s to {stream.window.end:.2f} s)."
            ),
            facts=(("time", begin), ("scatter", seen), ("scatter_usual", usual), ("duration", lasts)),
            limit=f"{WOBBLE:g} times the scatter before and {100 * FLOOR:g} % for {LEAST:g} s; common practice",
            try_=(
                f"end the window before {late[0]:.2f} s; refill, and close while water still covers "
                "the outlet by one or two "
                "of its diameters"
            ),
            run=evidence.run.id,
            about=f"circuit {name}",
        ),
    )


def _between(stream: StreamEvidence, span: tuple[float, float]) -> NDArray[np.bool_]:
    inside: NDArray[np.bool_] = (stream.time >= span[0]) & (stream.time <= span[1])
    return inside & np.isfinite(stream.area_eff) & (stream.area_eff > 0)


def _scatter(stream: StreamEvidence, chosen: NDArray[np.bool_]) -> float:
    """Standard deviation of ln E about its own smooth course: a channel late at closing bends E, and is no gas."""
    time, value = stream.time[chosen], np.log(stream.area_eff[chosen])
    at = (time - time.mean()) / max(float(np.ptp(time)), 1e-9)
    return float(np.std(value - np.polyval(np.polyfit(at, value, SMOOTH), at)))
