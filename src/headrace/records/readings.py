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
class Channels:
    """Every channel of a run's record for figures, thinned to its extremes: time [s], SI values by instrument tag.

    Corrected by certificate; zero not taken off.
    """

    time: Array
    values: Mapping[str, Array]


@dataclass(frozen=True, slots=True, kw_only=True)
class ZeroSeen:
    """Zeros of one channel in one run, SI: before it, after it, and at rest under line pressure; None: not taken."""

    before: float
    after: float | None = None
    at_pressure: float | None = None


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
    tares: Mapping[str, ZeroSeen]  # by tag
    notices: tuple[Notice, ...]
    channels: Channels | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelSeen:
    """One model of E against Re as the runs show it.

    name: key of `chain.models.MODELS`. coefficient, u: d ln E / d ln Re at re_ref and its standard uncertainty, all
    sources (0, 0 of the constant). re_ref: where it meets the mean of all readings. score: by the criterion, less
    that of the best model. rival: the data cannot tell it from the one carried, or its cause is open; its distance
    from the one carried counts as doubt.
    """

    name: str
    coefficient: float
    u: float
    re_ref: float
    score: float
    rival: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """What explains the trend of E over the readings, by the cause test.

    verdict: "flat", "reynolds", "zero error", "cavitation", "flip" or "not separated". among: those that explain it
    about as well. scores: by cause, by the criterion, less that of the best. slope, u_slope: d ln E / d ln Re if Re is
    the cause. zero, u_zero: what the drop reads too high, if a zero error is [Pa]. onset: K below which E goes with
    sqrt(K), if cavitation is. jump, u_jump: change of ln E, if it is a flip. readings: how many it rests on.
    """

    verdict: str
    why: str
    among: tuple[str, ...]
    scores: Mapping[str, float]
    slope: float | None = None
    u_slope: float | None = None
    zero: float | None = None
    u_zero: float | None = None
    onset: float | None = None
    jump: float | None = None
    u_jump: float | None = None
    readings: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two results that should agree: ratio of a's effective area to b's, shared parts cancelled.

    kind, stream, a, b: as in `findings.evidence.Contrast`. carried: "alone" or "together" where the engine has to
    choose, with why.
    """

    kind: str
    stream: str
    a: str
    b: str
    ratio: Estimate
    carried: str | None = None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossover:
    """Two circuits by two lines, and by the same lines swapped: what is the lines' and what is the circuits'.

    circuits, lines: (first, second). line_bias: what the first line reads over the second, less 1, in both
    circuits. circuit_ratio: effective area of the first circuit over that of the second, lines cancelled. unexplained:
    half of how much more the lines differ in the first circuit than in the second, in ln E.
    """

    circuits: tuple[str, str]
    lines: tuple[str, str]
    line_bias: Estimate
    circuit_ratio: Estimate
    unexplained: Estimate
    runs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Characteristic:
    """E against Re of one stream in one state, as it may be carried to the engine.

    area_eff: at re_ref, the mean Re of what was used (geometric, or in the scale of the model carried). model: what is
    carried, a key of `chain.models.MODELS`. slope_seen, u_slope: d ln E / d ln Re as the runs show it, carried or not.
    models: every model as the runs show it. choice: "decided", "undecided" (rivals fit about as well) or "not
    separated" (Re, K and 1/dp ran together, and E goes with them). cause: what explains the trend. re_span: Re tested.
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
    models: tuple[ModelSeen, ...] = ()
    choice: str = "decided"
    cause: Cause | None = None

    @property
    def carried(self) -> ModelSeen:
        """The model carried, as the runs show it."""
        known = next((one for one in self.models if one.name == self.model), None)
        if known is not None:
            return known
        flat = self.model == "constant"
        return ModelSeen(
            name=self.model,
            coefficient=0.0 if flat else self.slope_seen,
            u=0.0 if flat else self.u_slope,
            re_ref=self.re_ref,
            score=0.0,
            rival=False,
        )

    @property
    def rivals(self) -> tuple[ModelSeen, ...]:
        """Models whose distance from the one carried is a doubt."""
        return tuple(one for one in self.models if one.rival)

    @property
    def key(self) -> str:
        """Name of this characteristic: the stream, with its state when it flowed with a neighbour."""
        return characteristic_key(self.stream, self.state)


def characteristic_key(stream: str, state: str) -> str:
    """Name of a characteristic: the stream, with its state when it flowed with a neighbour."""
    return stream if state == "alone" else f"{stream} ({state})"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contrast:
    """Two results that should agree: ln of their ratio with its standard uncertainty, shared parts cancelled.

    kind: "lines" (same stream by two lines that both carry weight), "witness" (one of them hardly does), "runs" (one
    run against the others by the same lines), "sum" (both circuits together against the sum of each alone), "neighbour"
    (alone against with its neighbour flowing).
    """

    kind: str
    stream: str
    a: str
    b: str
    ln_ratio: float
    u: float
