"""Air in an impulse line: a zero that came back shifted by a column of water, a channel that answers late, or both."""

import numpy as np
from numpy.typing import NDArray

from headrace.findings.channels import BAR, drop_lines, meter_tag
from headrace.findings.evidence import RunEvidence, StreamEvidence
from headrace.notices import Notice, Severity
from headrace.physics.hydraulics.hydrostatics import G_STANDARD

Array = NDArray[np.float64]

COLUMN = (0.05, 1.0)
"""Heights of water that air may stand in for [m]. Common practice."""

LATE = 0.08
"""Seconds by which a channel must be late at opening and at closing; stated lags are gone before. Common practice."""

HALF = 0.5
"""A channel has followed when it has gone half way."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *doubt* for each channel that shows both signs, information for one that shows either."""
    out = []
    for stream in evidence.streams.values():
        channels = {stream.flow.p_tap: stream.p_tap}
        channels.update(
            {meter_tag(evidence, line): stream.dp_by_line[line] for line in drop_lines(evidence, stream)}
        )
        turns = {tag: _turns(stream, values) for tag, values in channels.items()}
        for tag, values in channels.items():
            zero, others = evidence.zeros.get(tag), [turns[other] for other in channels if other != tag]
            if not others:
                continue
            late = [turns[tag][k] - min(other[k] for other in others) for k in (0, 1)]
            slow = min(late) > LATE
            shift = 0.0 if zero is None or zero.after is None else zero.after - zero.before
            height = abs(shift) / (stream.rho * G_STANDARD)
            moved = COLUMN[0] <= height <= COLUMN[1]
            allowed = evidence.campaign.limits.tare_shift * evidence.campaign.bench.instruments[tag].span
            if moved and slow:
                out.append(_both(evidence, tag, shift, height, late))
            elif moved and abs(shift) > allowed:
                out.append(_shifted(evidence, tag, shift, height))
            elif slow:
                noise = [
                    _noise(stream, one) for one in (values, *(v for t, v in channels.items() if t != tag))
                ]
                out.append(
                    _late(evidence, tag, late, noise[0] / max(noise[1:]) if max(noise[1:]) > 0 else 1.0)
                )
    return tuple(out)


def _noise(stream: StreamEvidence, values: Array) -> float:
    """Scatter from sample to sample in the window, over the mean: a bubble swallows what its neighbours show."""
    inside = values[stream.within & np.isfinite(values)]
    mean = float(np.mean(inside)) if inside.size > 2 else 0.0
    return float(np.std(np.diff(inside))) / abs(mean) if mean else 0.0


def _turns(stream: StreamEvidence, values: Array) -> tuple[float, float]:
    """When the channel passes half of its early level upwards, and half of its last level downwards; NaN if never."""
    time = stream.time
    inside = np.flatnonzero(stream.within & np.isfinite(values))
    if inside.size < 20:
        return float("nan"), float("nan")
    tenth = max(inside.size // 10, 5)
    early = HALF * float(np.mean(values[inside[:tenth]]))
    late = HALF * float(np.mean(values[inside[-tenth:]]))
    up = np.flatnonzero((time <= stream.window.start) & (values < early))
    down = np.flatnonzero((time >= stream.window.end) & (values < late))
    return (
        float(time[up[-1]]) if up.size else float("nan"),
        float(time[down[0]]) if down.size else float("nan"),
    )


def _both(evidence: RunEvidence, tag: str, shift: float, height: float, late: list[float]) -> Notice:
    return Notice(
        code="impulse-leg-air",
        severity=Severity.DOUBT,
        text=(
            f"Run {evidence.run.id}, {tag}: its zero came back shifted by {shift / BAR:+.4f} bar, what "
            f"{height:.2f} m of water weigh, and it follows {late[0]:.2f} s late at opening and "
            f"{late[1]:.2f} s late at closing: air in its impulse line."
        ),
        facts=(("shift", shift), ("height", height), ("lag_opening", late[0]), ("lag_closing", late[1])),
        limit=(
            f"a zero shift of {COLUMN[0]:g} to {COLUMN[1]:g} m of water and {LATE:g} s of lag at both ends; "
            "common practice"
        ),
        try_=(
            "bleed both impulse lines with the transmitter below its taps, take the zero again, and run "
            "again; the zero in between does not mend this run, for the air is squeezed while the pressure "
            "is on"
        ),
        run=evidence.run.id,
        about=f"channel {tag}",
    )


def _shifted(evidence: RunEvidence, tag: str, shift: float, height: float) -> Notice:
    return Notice(
        code="impulse-leg-air",
        severity=Severity.INFO,
        text=(
            f"Run {evidence.run.id}, {tag}: its zero came back shifted by {shift / BAR:+.4f} bar, what "
            f"{height:.2f} m of water weigh, and it does not answer late: water that hangs in its leg, or drained "
            "from it, would look so."
        ),
        facts=(("shift", shift), ("height", height)),
        limit=f"a zero shift of {COLUMN[0]:g} to {COLUMN[1]:g} m of water; common practice",
        try_="look at the leg: filled or empty for both zeros (state it by `leg`); else the cell itself drifts",
        run=evidence.run.id,
        about=f"channel {tag}",
    )


def _late(evidence: RunEvidence, tag: str, late: list[float], noise_ratio: float) -> Notice:
    return Notice(
        code="impulse-leg-air",
        severity=Severity.INFO,
        text=(
            f"Run {evidence.run.id}, {tag}: it follows {late[0]:.2f} s late at opening and {late[1]:.2f} s late at "
            f"closing, and scatters {noise_ratio:.2g} times as much as its neighbours do (relative): a bubble in its "
            "leg would do that, and so would a slow instrument."
        ),
        facts=(("lag_opening", late[0]), ("lag_closing", late[1]), ("noise_ratio", noise_ratio)),
        limit=f"{LATE:g} s of lag at both ends; common practice",
        try_="bleed its leg; if it is as slow as that by itself, state its `lag` in bench.toml: it is then corrected",
        run=evidence.run.id,
        about=f"channel {tag}",
    )
