"""A drop with the wrong sign while water flows: lines crossed at the transmitter, or channels swapped."""

import numpy as np

from headrace.findings.channels import BAR, drop_lines, meter_tag, share
from headrace.findings.evidence import Array, RunEvidence, StreamEvidence
from headrace.notices import Notice, Severity

SPIKES = 0.01
"""Share of the window's samples that may be negative by a spike. Common practice."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """A *stop* for each drop, of meter or injector, that is negative in the window."""
    out: list[Notice] = []
    for name, stream in evidence.streams.items():
        for line in drop_lines(evidence, stream):
            tag = meter_tag(evidence, line)
            out.extend(
                _judge(evidence, stream, tag, f"meter of line {line}", stream.dp_by_line[line], _METER)
            )
        out.extend(_judge(evidence, stream, stream.flow.p_tap, f"tap of circuit {name}", stream.dp, _TAP))
    return tuple(out)


EDGES = 0.5
"""Seconds of opening and closing in which a drop may swing through none."""

MUCH = 0.1
"""Share of the flow between these that may be negative outside the window."""


_METER = (
    "likely first: high and low side of the cell are crossed (swap the lines, or the sign in the logger); "
    "else two channels are swapped in the map; else the line flowed backwards"
)
_TAP = (
    "likely first: the channel map names the wrong transmitter; else tap and back-pressure are swapped; "
    "else its zero was taken under pressure; else the cell's lines are crossed"
)


def _judge(
    evidence: RunEvidence, stream: StreamEvidence, tag: str, place: str, drop: Array, cause: str
) -> tuple[Notice, ...]:
    known = drop[stream.within & np.isfinite(drop)]
    negative, where = share(known < 0), "the window"
    begin, end = stream.window.start, stream.window.end
    if negative <= SPIKES:  # a window that was found keeps clear of it
        begin, end = stream.on[0] + EDGES, stream.on[1] - EDGES
        known = drop[(stream.time >= begin) & (stream.time <= end) & np.isfinite(drop)]
        negative, where = share(known < 0), "the flow"
        if negative <= MUCH:
            return ()
    middle = float(np.median(known))
    return (
        Notice(
            code="drop-negative",
            severity=Severity.STOP,
            text=(
                f"Run {evidence.run.id}, {tag}, {place}: the drop is negative in {100 * negative:.0f} % of "
                f"{where} from {begin:.2f} s to {end:.2f} s (median {middle / BAR:+.4f} bar)."
            ),
            facts=(("share", negative), ("dp", middle)),
            limit=f"{100 * SPIKES:g} % of the window, {100 * MUCH:g} % of the flow; common practice",
            try_=cause,
            run=evidence.run.id,
            about=f"channel {tag}",
        ),
    )
