"""What the runs say: windows, slices turned into readings, characteristics. Made by `jobs.reduce`."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.notices import Notice
from headrace.records.answers import BudgetLine, Estimate
from headrace.records.given import Origin

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The part of a run that counts: start, end [s]; how it was chosen; the phases around it (name, start, end)."""

    start: float
    end: float
    chosen: str  # "found" or "typed: <reason>"
    phases: tuple[tuple[str, float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Effective area of one stream over one quasi-steady slice (or over a whole run read by hand).

    stream: circuit id, or ids joined by "+" where only their sum was metered. state: "alone" or "together".
    t: middle of the slice [s]; re: ideal-velocity Reynolds number on the element's bore; cav: K; dp [Pa] at the basis
    of the tap; m_dot [kg/s]; area_eff [m2] nominal; u: its standard uncertainty, all sources; cd or None; noise:
    relative standard uncertainty of the mean from scatter; used: in the carried curve; why: reason if not.
    """

    run: str
    stream: str
    state: str
    lines: tuple[str, ...]
    t: float
    re: float
    cav: float
    dp: float
    m_dot: float
    area_eff: float
    u: float
    cd: float | None
    noise: float
    used: bool
    why: str
    sources: tuple[str, ...]
    origin: Origin


@dataclass(frozen=True, slots=True, kw_only=True)
class Closure:
    """Two witnesses of the same water: what the meter says over what level or scale says, less 1."""

    ratio: Estimate
    metered: float  # kg
    witnessed: float  # kg
    witness: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Per-sample results of one stream for figures, thinned: time, drop, flow, area, K."""

    time: Array
    dp: Array
    m_dot: Array
    area_eff: Array
    cav: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class RunResult:
    """One run reduced: by stream its window, readings and traces; closure if a second witness exists."""

    run: str
    method: str
    excluded: str | None
    windows: Mapping[str, Window]
    readings: tuple[Reading, ...]
    series: Mapping[str, Series]
    closure: Closure | None
    tares: Mapping[str, tuple[float, float | None]]  # tag -> zero before, zero after (SI)
    notices: tuple[Notice, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Characteristic:
    """E against Re of one stream in one state, as it may be carried to the engine.

    area_eff: at re_ref, the geometric mean Re of what was used. model: "constant" or "slope". slope_seen, u_slope:
    d ln E / d ln Re as the runs show it, carried or not. re_span: Re tested.
    cav_least: lowest K among what was used. weights: share of each run in the fit.
    """

    stream: str
    state: str
    area_eff: Estimate
    cd: Estimate | None
    model: str
    why: str
    re_ref: float
    re_span: tuple[float, float]
    cav_least: float
    slope_seen: float
    u_slope: float
    runs: tuple[str, ...]
    days: int
    weights: Mapping[str, float]
    budget: tuple[BudgetLine, ...]
    notices: tuple[Notice, ...]

    @property
    def key(self) -> str:
        """Name of this characteristic: the stream, with its state when it flowed with a neighbour."""
        return characteristic_key(self.stream, self.state)


def characteristic_key(stream: str, state: str) -> str:
    """Name of a characteristic: the stream, with its state when it flowed with a neighbour."""
    return stream if state == "alone" else f"{stream} ({state})"
