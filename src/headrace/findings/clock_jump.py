"""A time axis that leaps, or runs back, while water flows: rates and integrals over it are wrong."""

import numpy as np
from numpy.typing import NDArray

from headrace.findings.channels import WEIGHED
from headrace.findings.evidence import RunEvidence, StreamEvidence
from headrace.notices import Notice, Severity

Array = NDArray[np.float64]

STEPS = 5.0
"""A step of time longer than this many usual ones is a leap: a few refused lines make no leap. Common practice."""

AROUND = 0.5
"""Seconds before and after the flow that count too."""

NEAR = 40
"""Samples on either side of a leap from which the course of the pressure is taken."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *doubt*; a *stop* when the result is an integral over the leap."""
    time = evidence.time
    if time.size < 3 or not evidence.streams:
        return ()
    steps = np.diff(time)
    usual = float(np.median(steps[steps > 0])) if np.any(steps > 0) else 0.0
    begin = min(stream.on[0] for stream in evidence.streams.values()) - AROUND
    end = max(stream.on[1] for stream in evidence.streams.values()) + AROUND
    flowing = (time[1:] >= begin) & (time[:-1] <= end)
    leaps = (steps > STEPS * usual) | (steps < 0)
    at = np.flatnonzero(leaps & flowing)
    if at.size == 0:
        return ()
    worst = int(at[np.argmax(np.abs(steps[at]))])
    window = np.any([stream.within for stream in evidence.streams.values()], axis=0)
    hard = evidence.run.method == WEIGHED and bool(np.any(window[at] | window[at + 1]))
    more = f" and at {at.size - 1} more places" if at.size > 1 else ""
    return (
        Notice(
            code="clock-jump",
            severity=Severity.STOP if hard else Severity.DOUBT,
            text=(
                f"Run {evidence.run.id}: time goes on by {steps[worst]:+.3f} s from one sample to the next "
                f"at {time[worst]:.2f} s{more}, while water flows; its usual step is {usual:.4g} s. "
                + (
                    "The result is an integral over this time."
                    if hard
                    else "Effective areas are taken sample by sample; closure and rates over the "
                    "leap are wrong."
                )
            ),
            facts=(
                ("time", float(time[worst])),
                ("step", float(steps[worst])),
                ("step_usual", usual),
                ("leaps", float(at.size)),
            ),
            limit=f"{STEPS:g} usual steps, common practice",
            try_=_cause(evidence, worst, float(steps[worst]))
            + "; look at the logger's own log; repeat the run if its total counts",
            run=evidence.run.id,
            about="time",
        ),
    )


def _cause(evidence: RunEvidence, at: int, step: float) -> str:
    """Whether the pressure fell as if the time had passed (samples lost) or went on as if it had not (clock set)."""
    if step < 0:
        return "the logger's clock was set back, or two files were joined in the wrong order"
    verdicts = [_passed(stream, at, step) for stream in evidence.streams.values()]
    if True in verdicts:
        return "likely samples were lost: the pressure went on falling over the gap"
    if False in verdicts:
        return "likely the logger's clock was set: the pressure goes on as if no time had passed"
    return "likely samples were lost (blocks dropped), else the logger's clock was set"


def _passed(stream: StreamEvidence, at: int, step: float) -> bool | None:
    sides = (slice(max(at + 1 - NEAR, 0), at + 1), slice(at + 1, at + 1 + NEAR))
    ends, slopes, scatter = [], [], 0.0
    for side, edge in zip(sides, (at, at + 1), strict=True):
        t, p = stream.time[side] - stream.time[edge], stream.p_tap[side]
        good = np.isfinite(p)
        if np.count_nonzero(good) < NEAR // 2 or np.any(np.diff(t) < 0):
            return None
        fit = np.polyfit(t[good], p[good], 1)
        slopes.append(float(fit[0]))
        ends.append(float(fit[1]))
        scatter = max(scatter, float(np.std(p[good] - np.polyval(fit, t[good]))) / np.sqrt(NEAR) * 2)
    expected, seen = float(np.mean(slopes)) * step, ends[1] - ends[0]
    if abs(expected) < 5 * scatter:
        return None
    return bool(seen / expected > 0.5)
