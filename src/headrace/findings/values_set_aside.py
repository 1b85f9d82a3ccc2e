"""Values that stand alone in time: line noise that still reads as a number, kept out of everything, or too many."""

import numpy as np

from headrace.findings.channels import BAR, MARKS, PRESSURES, carrying
from headrace.findings.evidence import Aside, RunEvidence
from headrace.notices import Notice, Severity, spelled

WORTH_DOUBT = 1e-3
"""Share of a channel's samples above which wild values are a doubt: a line that noisy may bend the others too. Common
practice."""

SHOWN = 3
"""Wild values that are named one by one."""


def find(evidence: RunEvidence) -> tuple[Notice, ...]:
    """One *info* for each channel with a few, a *doubt* when they are many; a *doubt* when too many to be noise."""
    if evidence.run.trace is None:
        return ()
    carries = carrying(evidence)
    out = []
    for tag, aside in evidence.aside.items():
        if aside.too_many:
            out.append(_too_many(evidence, tag, aside))
        elif aside.alone.any():
            out.append(_left_out(evidence, tag, aside, tag in carries))
    return tuple(out)


def _left_out(evidence: RunEvidence, tag: str, aside: Aside, carries: bool) -> Notice:
    trace = evidence.run.trace
    assert trace is not None
    rows = np.flatnonzero(aside.alone)
    known = int(np.count_nonzero(np.isfinite(trace.channels[tag])))
    part = rows.size / known
    seen = "; ".join(_one(evidence, tag, aside, int(row)) for row in rows[:SHOWN])
    more = f"; and {spelled(rows.size - SHOWN)} more" if rows.size > SHOWN else ""
    many = part > WORTH_DOUBT and rows.size > SHOWN and carries
    which = "1 value stands" if rows.size == 1 else f"{spelled(rows.size)} values stand"
    return Notice(
        code="values-set-aside",
        severity=Severity.DOUBT if many else Severity.INFO,
        text=(
            f"Run {evidence.run.id}, {tag}: {which} alone among neighbours and "
            f"{'is' if rows.size == 1 else 'are'} left out of everything: {seen}{more}."
        ),
        facts=(
            ("values_aside", float(rows.size)),
            ("share", part),
            ("first_line", float(trace.lines[rows[0]])),
        ),
        limit=f"a doubt above {100 * WORTH_DOUBT:g} % of the samples, common practice",
        try_="look at these lines of the raw file (it is not changed): a digit lost on the line, a drop-out, a first "
        "value after a restart; mend cable, ground or logger when they come again",
        run=evidence.run.id,
        about=f"channel {tag}",
    )


def _one(evidence: RunEvidence, tag: str, aside: Aside, row: int) -> str:
    """Line, value, and what stands before and after it."""
    trace = evidence.run.trace
    assert trace is not None
    values = trace.channels[tag]
    good = np.flatnonzero(np.isfinite(values) & ~aside.out)
    at = int(np.searchsorted(good, row))
    before, after = good[at - 1 : at], good[at : at + 1]
    size, unit = _unit(evidence, tag)
    near = " and ".join(f"{values[one] / size:.5g}" for one in (*before, *after))
    return f"line {trace.lines[row]}, {values[row] / size:.5g} {unit} between {near}"


def _unit(evidence: RunEvidence, tag: str) -> tuple[float, str]:
    measures = evidence.campaign.bench.instruments[tag].measures
    return (BAR, MARKS[measures]) if measures in PRESSURES else (1.0, "(SI)")


def _too_many(evidence: RunEvidence, tag: str, aside: Aside) -> Notice:
    trace = evidence.run.trace
    assert trace is not None
    known = int(np.count_nonzero(np.isfinite(trace.channels[tag])))
    part = aside.too_many / known
    return Notice(
        code="values-set-aside",
        severity=Severity.DOUBT,
        text=(
            f"Run {evidence.run.id}, {tag}: {spelled(aside.too_many)} values ({100 * part:.1f} % of all) stand alone "
            "among their neighbours, too many for line noise. None of them is left out."
        ),
        facts=(("values_aside", float(aside.too_many)), ("share", part)),
        limit=f"at most {100 * aside.share:g} % are set aside, common practice",
        try_="look at the trace: pulses that are real, a rate too low for what happens, two signals in one column, or "
        "a line so noisy that the run is to be repeated",
        run=evidence.run.id,
        about=f"channel {tag}",
    )
