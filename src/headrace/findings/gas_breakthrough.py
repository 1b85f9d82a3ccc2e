"""Gas came through before the valve shut: E wobbles while the pressure is still on."""

import numpy as np
from numpy.typing import NDArray

from headrace.findings.evidence import RunEvidence, StreamEvidence
from headrace.notices import Notice, Severity

Array = NDArray[np.float64]

BLOCK = 0.15
"""Seconds over which a wobble is told from a course that bends: a late channel at closing bends, and is no gas."""

LEAST_SAMPLES = 8
"""Samples of a block, at least."""

LEAST = 0.25
"""Seconds that the wobble must last, to the end of the flow."""

WOBBLE = 3.0
"""Times the scatter of ln E in the quiet part of the flow... """

FLOOR = 0.01
"""... and this much in ln E. Common practice: a gas signature is coarse."""

QUIET = 25.0
"""Percentile of the blocks' scatter that stands for the quiet part."""

MOST = 0.7
"""Share of the blocks from its start that must wobble."""

HIGH = 0.5
"""Share of the usual pressure that counts as still on: below it the valve is closing."""

CLOSING = 0.2
"""Seconds before the last flow that are the valve's."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """Information when the window ends before it, a *doubt* when the window includes it."""
    return tuple(
        notice for name, stream in evidence.streams.items() for notice in _judge(evidence, name, stream)
    )


def _judge(evidence: RunEvidence, name: str, stream: StreamEvidence) -> tuple[Notice, ...]:
    blocks = _blocks(stream)
    if len(blocks) < 4:
        return ()
    scatter = np.array([_scatter(stream, block) for block in blocks])
    usual = float(np.percentile(scatter, QUIET))
    loud = scatter > max(WOBBLE * usual, FLOOR)
    # the earliest block from which on nearly all wobble, the last one included
    share = np.cumsum(loud[::-1])[::-1] / np.arange(len(loud), 0, -1)
    starts = np.flatnonzero(loud & (share >= MOST))
    if starts.size == 0:
        return ()
    begin = float(stream.time[blocks[starts[0]][0]])
    lasts = float(stream.time[blocks[-1][-1]]) - begin
    if lasts <= LEAST:
        return ()
    seen = float(np.sqrt(np.mean(scatter[starts[0] :][loud[starts[0] :]] ** 2)))
    inside = stream.window.end > begin + LEAST
    return (
        Notice(
            code="gas-breakthrough",
            severity=Severity.DOUBT if inside else Severity.INFO,
            text=(
                f"Run {evidence.run.id}, circuit {name}: from {begin:.2f} s for {lasts:.1f} s E wobbles by "
                f"{100 * seen:.1f} % (before: {100 * usual:.2f} %) while the pressure is still on: gas "
                f"comes through. The window {'includes it' if inside else 'ends before it'} "
                f"({stream.window.start:.2f} s to {stream.window.end:.2f} s)."
            ),
            facts=(("time", begin), ("scatter", seen), ("scatter_usual", usual), ("duration", lasts)),
            limit=f"{WOBBLE:g} times the scatter before and {100 * FLOOR:g} % for {LEAST:g} s; common practice",
            try_=(
                f"end the window before {begin:.2f} s; refill, and close while water still covers the "
                "outlet by one or two of its diameters"
            ),
            run=evidence.run.id,
            about=f"circuit {name}",
        ),
    )


def _blocks(stream: StreamEvidence) -> list[NDArray[np.intp]]:
    """Sample numbers of each block of the flow, pressure on, opening and closing left out."""
    inside = (stream.time >= stream.on[0] + CLOSING) & (stream.time <= stream.on[1] - CLOSING)
    inside &= np.isfinite(stream.p_tap)
    if not np.any(inside):
        return []
    usual = float(np.median(stream.p_tap[inside]))
    inside &= (stream.p_tap > HIGH * usual) & np.isfinite(stream.area_eff) & (stream.area_eff > 0)
    index = np.flatnonzero(inside)
    if index.size < LEAST_SAMPLES:
        return []
    step = float(np.median(np.diff(stream.time)))
    per_block = max(round(BLOCK / step) if step > 0 else 0, LEAST_SAMPLES)
    return [np.asarray(part) for part in np.array_split(index, max(index.size // per_block, 1))]


def _scatter(stream: StreamEvidence, chosen: NDArray[np.intp]) -> float:
    """Standard deviation of ln E about its own straight line."""
    value = np.log(stream.area_eff[chosen])
    at = np.linspace(-0.5, 0.5, value.size)
    slope = float(np.sum(at * (value - value.mean())) / np.sum(at**2))
    return float(np.sqrt(np.sum((value - value.mean() - slope * at) ** 2) / (value.size - 2)))
