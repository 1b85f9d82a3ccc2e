"""What in the ledger contradicts itself, the runs or the bench. Start at `find`; `of_runs` is what runs must carry."""

from math import hypot

import numpy as np
from numpy.typing import NDArray

from headrace.chain.water import Reduced
from headrace.findings import DAY_FINDINGS
from headrace.findings.evidence import DayEvidence
from headrace.jobs.day.walk import walk
from headrace.notices import Notice, merged
from headrace.records.day import Day
from headrace.records.given import Campaign
from headrace.records.readings import Array, RunResult, Window

THINNED = 0.005
"""What the thinned record of a run may miss of its water, relative."""

AROUND = 0.5
"""Seconds before and after the flow that are counted too, as closure does."""


def find(campaign: Campaign, day: Day, reduced: Reduced | None = None) -> tuple[Notice, ...]:
    """Every finding of the day; with the runs reduced, levels are held against meters too."""
    if campaign.ledger is None:
        return ()
    evidence = DayEvidence(
        campaign=campaign,
        day=day,
        known=_known(campaign),
        metered={} if reduced is None else metered(reduced),
    )
    return merged(*(find(evidence) for find in DAY_FINDINGS.values()))


def of_runs(campaign: Campaign) -> tuple[Notice, ...]:
    """What the ledger says against single runs: it goes with their effective areas."""
    if campaign.ledger is None:
        return ()
    return tuple(one for one in find(campaign, walk(campaign)) if one.run is not None)


def metered(reduced: Reduced) -> dict[str, tuple[float, float]]:
    """Water of each metered run and the standard uncertainty of that [kg]."""
    return {run: found for run, result in reduced.runs.items() if (found := _metered(result)) is not None}


def _metered(result: RunResult) -> tuple[float, float] | None:
    if result.method != "metered" or not result.series:
        return None
    mass = 0.0
    for stream, one in result.series.items():
        good = np.isfinite(one.m_dot) & _flowing(result.windows.get(stream), one.time)
        mass += float(np.trapezoid(one.m_dot[good], one.time[good]))
    if result.closure is not None and {len(one.lines) for one in result.readings} == {1}:
        mass = result.closure.metered  # one number for the same water; of several lines it may be that of one
    shares = [reading.u / reading.area_eff for reading in result.readings if reading.area_eff > 0]
    if not mass > 0 or not shares:
        return None
    return mass, mass * hypot(max(shares), THINNED)


def _flowing(window: Window | None, time: Array) -> NDArray[np.bool_]:
    """Where water flowed, and a little around it: a rectified zero at rest is no water."""
    if window is None:
        return np.ones(time.shape, dtype=bool)
    spans = ((window.start, window.end), *((start, end) for _, start, end in window.phases))
    begin, end = min(start for start, _ in spans), max(end for _, end in spans)
    inside: NDArray[np.bool_] = (time >= begin - AROUND) & (time <= end + AROUND)
    return inside


def _known(campaign: Campaign) -> frozenset[str]:
    """Ids of all runs in the folder, those that wait for an answer included."""
    return frozenset(campaign.runs) | {one.run for one in campaign.notices if one.run is not None}
