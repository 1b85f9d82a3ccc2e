"""What an instrument and its logger do in time: how late it shows, and the sources of error of that.

A first-order lag, a filter and a channel sampled out of turn all shift a slow signal; the shift is taken out before
anything is computed, and what is not known of it acts by the rate of change. Start at `late_by` and `timing_sources`.
"""

from collections.abc import Mapping
from dataclasses import replace
from math import hypot

from headrace.records.given import Instrument, Stated
from headrace.uncertainty.source import Source


def delay(instrument: Instrument) -> float:
    """Sum of its time constants, filter and all [s]: what it takes to settle."""
    return sum(one.value for one in (instrument.lag, instrument.filter) if one is not None)


def late_by(instrument: Instrument) -> float:
    """How far a slow signal trails the time of its row [s]; negative for a channel sampled after that time."""
    return delay(instrument) - (instrument.skew.value if instrument.skew is not None else 0.0)


def in_turn(instrument: Instrument, skews: Mapping[str, Stated]) -> Instrument:
    """The instrument with the skew that a run states for its channel, in place of its own."""
    return instrument if instrument.tag not in skews else replace(instrument, skew=skews[instrument.tag])


def known(instrument: Instrument) -> bool:
    """Whether anything is stated of how fast it answers."""
    return instrument.lag is not None or instrument.filter is not None


def timing_sources(instrument: Instrument, *, share: float, group: str = "water") -> tuple[Source, ...]:
    """Errors of `late_by` [s]: what a true value changes in that time is missing from the value.

    Args:
        instrument: whose they are.
        share: of a lag or filter delay without a doubt of its own, its standard uncertainty.
    """
    out = []
    lag = instrument.lag
    own = 0.0 if lag is None else lag.u or share * lag.value
    behind = 0.0 if instrument.filter is None else share * instrument.filter.value
    if hypot(own, behind) > 0:
        stated = lag is not None and lag.u > 0
        out.append(
            Source(
                name=f"{instrument.tag}.lag",
                u=hypot(own, behind),
                dist=lag.dist if lag is not None and stated and behind == 0 else "normal",
                scope="instrument",
                origin=lag.origin or "lag as stated"
                if lag is not None and stated
                else f"lag or filter stated without ±: {100 * share:g} % of it, default",
                group=group,
            )
        )
    skew = instrument.skew
    if skew is not None and skew.u > 0:
        out.append(
            Source(
                name=f"{instrument.tag}.skew",
                u=skew.u,
                dist=skew.dist,
                scope="instrument",
                origin=skew.origin or "skew as stated",
                group=group,
            )
        )
    return tuple(out)
