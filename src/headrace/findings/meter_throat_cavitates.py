"""A meter whose throat comes near the vapour pressure: its flow is choked, and its drop no longer tells it."""

import numpy as np

from headrace.findings.channels import BAR, drop_lines
from headrace.findings.evidence import RunEvidence, StreamEvidence
from headrace.notices import Notice, Severity

MARGIN = 0.3e5
"""Distance of the throat from the vapour pressure that is doubtful [Pa]: dissolved air comes out first. Common
practice."""

LOWEST = 2.0
"""Percentile of the window's samples that stands for the least: one spike is none."""

LOST = 0.2
"""Share of a venturi's drop that is lost for good, at most. Common practice (5 to 20 %)."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """By the logged upstream pressure; without it, by what the tap leaves for the throat, and then only a *doubt*."""
    out = []
    for stream in evidence.streams.values():
        for line in drop_lines(evidence, stream):
            known = line in stream.throat
            throat = stream.throat[line] if known else _at_best(stream, line)
            inside = throat[stream.within & np.isfinite(throat)]
            if inside.size == 0:
                continue
            least = float(np.percentile(inside, LOWEST))
            if least < stream.p_vap + (MARGIN if known else 0.0):
                out.append(_notice(evidence, stream, line, least, known))
    return tuple(out)


def _at_best(stream: StreamEvidence, line: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Throat pressure if nothing but the meter lay between its upstream tap and the article's [Pa abs]."""
    return stream.p_tap + stream.p_out - (1 - LOST) * stream.dp_by_line[line]


def _notice(evidence: RunEvidence, stream: StreamEvidence, line: str, least: float, known: bool) -> Notice:
    hard = known and least < stream.p_vap
    seen = (
        f"the throat falls to {least / BAR:.2f} bar(a)"
        if known
        else f"its drop leaves {least / BAR:.2f} bar(a) for the throat if no other loss lies before "
        "the tap (the upstream pressure is not logged)"
    )
    return Notice(
        code="meter-throat-cavitates",
        severity=Severity.STOP if hard else Severity.DOUBT,
        text=(
            f"Run {evidence.run.id}, meter of line {line}: {seen}; the water's vapour pressure is "
            f"{stream.p_vap / BAR:.3f} bar(a)."
        ),
        facts=(("p_throat", least), ("p_vap", stream.p_vap)),
        limit=f"{MARGIN / BAR:g} bar above the vapour pressure, stop below it; common practice",
        try_=(
            "raise the pressure behind the meter (throttle downstream, not upstream of it), run at less "
            "flow, or use a wider throat; while it chokes, flow stays flat as the pressure falls"
            + ("" if known else "; log the upstream pressure and name it as p_up")
        ),
        run=evidence.run.id,
        about=f"line {line}",
    )
