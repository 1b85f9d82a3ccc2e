"""Every reason for which a channel's time may be wrong, as sources in seconds. Start at `time_errors`.

An error of e seconds adds e times the rate of change to a value, whatever caused it: lag, filter, a channel sampled out
of turn, a second logger whose clock is not quite that of the first.
"""

from headrace.bench.timing import in_turn, timing_sources
from headrace.records.given import Campaign, RunGiven
from headrace.uncertainty.source import Source


def time_errors(campaign: Campaign, run: RunGiven, tag: str) -> tuple[Source, ...]:
    """Errors of the time of a channel [s]: positive where its true value belongs to a later moment.

    What the instrument and its turn in the scan leave open, then what joining two loggers does.
    """
    skews = {} if run.trace is None else run.trace.skews
    own = timing_sources(in_turn(campaign.bench.instruments[tag], skews), share=campaign.defaults.lag)
    shifts = () if run.trace is None else run.trace.shifts.get(tag, ())
    joined = tuple(
        Source(name=one.name, u=one.u, dist=one.dist, scope="run", origin=one.origin, group="water")
        for one in shifts
    )
    return (*own, *joined)
