"""What a finding may look at: a run with its signals, or a whole campaign with its readings. SI throughout."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from headrace.bench.instruments import Conditions, Zero
from headrace.records.day import Day
from headrace.records.given import Campaign, Circuit, Flow, RunGiven
from headrace.records.readings import (
    Characteristic,
    Closure,
    Comparison,
    Crossover,
    Reading,
    RunResult,
    Window,
)
from headrace.records.readings import Contrast as Contrast

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class GasSeen:
    """Gas between meter and article that the record leaves room for: volume at ambient pressure [m3] with its doubt,
    what it may add to ln E in the window (mean, largest), and where it was seen: "opening" or "closing"."""

    volume: float
    u: float
    bias: float
    bias_most: float
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoGauges:
    """A drop read as the difference of two gauges: their tags, what it carries ("meter" or "tap"), the mean drop in the
    window [Pa], the doubt of ln E by the two gauges alone, and whether a common zero was taken."""

    tags: tuple[str, str]
    role: str
    dp: float
    u_ln_area: float
    tared: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamEvidence:
    """One stream of one run. Arrays are per sample over the whole record, NaN where they have no value.

    p_tap: tap minus outlet pressure, zero taken off [Pa]; dp: drop on the tap's basis [Pa]; m_dot [kg/s], all lines;
    area_eff [m2]; cav: K; m_dot_by_line, dp_by_line: per line; throat: absolute pressure in each metered throat [Pa],
    where the upstream pressure is known; on: first and last time of flow [s]. rho, p_vap, p_out: water and outlet,
    nominal. at_ends: what each channel worked under in the first and in the last slice of the window, by tag.
    """

    flow: Flow
    circuit: Circuit
    window: Window
    on: tuple[float, float]
    time: Array
    p_tap: Array
    dp: Array
    m_dot: Array
    area_eff: Array
    cav: Array
    m_dot_by_line: Mapping[str, Array]
    dp_by_line: Mapping[str, Array]
    throat: Mapping[str, Array]
    rho: float
    p_vap: float
    p_out: float
    gas: GasSeen | None = None
    two_gauges: tuple[TwoGauges, ...] = ()
    at_ends: Mapping[str, Conditions] = field(default_factory=dict)

    @property
    def within(self) -> NDArray[np.bool_]:
        """Which samples lie in the window."""
        inside: NDArray[np.bool_] = (self.time >= self.window.start) & (self.time <= self.window.end)
        return inside


@dataclass(frozen=True, slots=True, kw_only=True)
class Aside:
    """Samples of a channel that were left out of everything: alone in time (wild), clipped (a top cut flat).

    too_many: how many stood alone where that was above `share` of all, so that none was left out for it.
    """

    alone: NDArray[np.bool_]
    clipped: NDArray[np.bool_]
    too_many: int
    share: float

    @property
    def out(self) -> NDArray[np.bool_]:
        """All that was left out."""
        return self.alone | self.clipped


@dataclass(frozen=True, slots=True, kw_only=True)
class RunEvidence:
    """One run: its signals (corrected by certificate, zero not taken off), its zeros, streams, readings, closure."""

    campaign: Campaign
    run: RunGiven
    time: Array
    signals: Mapping[str, Array]
    zeros: Mapping[str, Zero]
    streams: Mapping[str, StreamEvidence]
    readings: tuple[Reading, ...]
    closure: Closure | None
    aside: Mapping[str, Aside] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class CampaignEvidence:
    """The whole campaign: reduced runs, characteristics, and what was compared."""

    campaign: Campaign
    runs: Mapping[str, RunResult]
    characteristics: Mapping[str, Characteristic]
    contrasts: tuple[Contrast, ...]
    comparisons: tuple[Comparison, ...] = ()
    crossovers: tuple[Crossover, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DayEvidence:
    """The ledger walked through. known: ids of all runs in the folder; metered: water of a run by its meter and the
    standard uncertainty of that, where it was reduced [kg].
    """

    campaign: Campaign
    day: Day
    known: frozenset[str]
    metered: Mapping[str, tuple[float, float]]
