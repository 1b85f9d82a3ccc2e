"""From what is true to what a logger stores or an eye reads.

An instrument errs as its papers allow, and each error is drawn once for as long as it lasts: gain, linearity and
drift for the campaign, the gain of a reference standard for all that were calibrated against it, the zero for a run.
The zero stands anywhere, hops when the pressure comes on to somewhere between its first and its last place, and noise,
lag and steps come on top. A device whose zero nobody takes (a thermometer, a stand gauge) is off by one constant.
Start at `Device.stored`.
"""

import datetime
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from headrace.demo.simulator.said import Draws

Array = NDArray[np.float64]

AIR_LIFT = 1.2 * (1 / 998.2 - 1 / 8000.0)
"""A scale adjusted with steel weights shows water lighter by this share (air of 1.2 kg/m3; common practice)."""

MID = sqrt(0.75)  # what is left of a class at mid-range once its gain has its share there


@dataclass(frozen=True, slots=True, kw_only=True)
class Standard:
    """A reference standard: its own doubt, a share of the reading, at k."""

    id: str
    of_reading: float
    k: float = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A calibration certificate: U at k, shares of reading and of span, the standard's part included.

    bend: correction at mid-range and at full range, as shares of span, that the certificate states as points.
    """

    id: str
    date: datetime.date
    of_reading: float
    of_span: float
    k: float = 2.0
    standard: Standard | None = None
    bend: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """An instrument of the invented bench or stand. SI, except that unit and signal are for its text.

    limits: class, share of span. absolute: class in SI instead (a thermometer). of_reading: class as share of
    reading (a scale). drift: limits per year, share of span.
    noise: standard deviation at a sample, share of span; memory: its correlation from one sample to the next.
    zero: half width of where the zero stands; wander: half width of how far it goes in a run; shares of span.
    steps: number of steps of the converter. signal: what is stored at both ends of the range (mA).
    """

    tag: str
    measures: str
    low: float
    high: float
    unit: str
    limits: float = 0.0
    absolute: float = 0.0
    of_reading: float = 0.0
    paper: Paper | None = None
    drift: float = 0.0
    noise: float = 2e-4
    memory: float = 0.3
    zero: float = 3e-3
    wander: float = 5e-4
    steps: int = 65536
    lag: float = 0.0
    signal: tuple[float, float] | None = None
    division: float | None = None

    @property
    def span(self) -> float:
        """Width of the range, SI."""
        return self.high - self.low

    def gain(self, draws: Draws, on: datetime.date) -> float:
        """All errors in proportion to the reading together: own, the standard's, and drift since the certificate."""
        if self.paper is None:
            return draws.within(f"{self.tag}.gain", self.limits)
        paper = self.paper
        own, shared = paper.of_reading / paper.k, 0.0
        if paper.standard is not None:
            common = paper.standard.of_reading / paper.standard.k
            own = sqrt(own**2 - common**2)
            shared = draws.normal(f"{paper.standard.id}.gain", common)
        years = (on - paper.date).days / 365.25
        # drift is a share of span at full range: in proportion below it, one direction for the campaign
        drift = draws.within(f"{self.tag}.drift", self.drift) * years
        return draws.normal(f"{self.tag}.gain", own) + shared + drift

    def bow(self, draws: Draws) -> float:
        """Error at mid-range beyond the gain's, SI; none at both ends."""
        if self.paper is None:
            return draws.within(f"{self.tag}.linearity", MID * self.limits) * self.span
        return draws.normal(f"{self.tag}.linearity", self.paper.of_span / self.paper.k) * self.span

    def shown(self, true: Array, draws: Draws, on: datetime.date) -> Array:
        """What it shows, its zero apart, for true values: the true value is the shown one plus all its errors."""
        reach = true / self.high
        error = self.gain(draws, on) * true + self.bow(draws) * 4 * reach * (1 - reach)
        if self.paper is not None and self.paper.bend is not None:
            mid, end = self.paper.bend
            error = error + np.interp(reach, [0.0, 0.5, 1.0], [0.0, mid * self.span, end * self.span])
        return true - error

    def stored(
        self,
        true: Array,
        *,
        draws: Draws,
        run: str,
        on: datetime.date,
        step: float,
        loaded: NDArray[np.bool_],
        tared: bool = True,
        extra_shift: Array | None = None,
        sluggish: float = 0.0,
    ) -> Array:
        """What the logger stores at every sample, `step` seconds apart; SI of the quantity (see `scaled` for mA).

        loaded: samples with the valve open; the zero hops at its first and last. extra_shift, sluggish: a planted
        fault.
        """
        tau = self.lag + sluggish
        value = _lagged(true, step, tau) if tau > 0 else true
        if tared:
            value = self.shown(value, draws, on) + self._zero(draws, run, loaded)
        else:
            value = value - draws.within(f"{self.tag}.class", self.limits * self.span + self.absolute)
        if extra_shift is not None:
            value = value + extra_shift
        size = self.noise * self.span * draws.factor(f"{run}.{self.tag}.noise")
        if size > 0:
            value = value + size * _memory_noise(
                draws.dice(f"{run}.{self.tag}.noise"), value.size, self.memory
            )
        if self.steps and draws.factor(f"{self.tag}.steps"):
            lsb = self.span / self.steps
            value = np.round(value / lsb) * lsb
        return value

    def _zero(self, draws: Draws, run: str, loaded: NDArray[np.bool_]) -> Array:
        first = draws.within(f"{run}.{self.tag}.zero", self.zero * self.span)
        wander = draws.within(f"{run}.{self.tag}.wander", self.wander * self.span)
        where = 0.5 + draws.within(f"{run}.{self.tag}.tare", 0.5)
        zero = np.full(loaded.size, first)
        if loaded.any():
            begin, end = int(np.argmax(loaded)), loaded.size - int(np.argmax(loaded[::-1]))
            zero[begin:end] = first + where * wander
            zero[end:] = first + wander
        return zero

    def scaled(self, value: Array) -> Array:
        """Values as the logger stores them: mA for a device with a signal, else as they are."""
        if self.signal is None:
            return value
        low, high = self.signal
        return low + (value - self.low) / self.span * (high - low)

    def weighed(self, true: float, draws: Draws) -> float:
        """What a scale shows for a true mass [kg] of water: its class, and the lift of the air it displaces."""
        return true * (1 - AIR_LIFT) / (1 + draws.within(f"{self.tag}.gain", self.of_reading))

    def by_eye(self, true: float, *, draws: Draws, run: str, moment: str) -> float:
        """One reading of a dial: its class, and the eye's quarter of a division."""
        division = self.division or 0.0
        off = draws.within(f"{self.tag}.class", self.limits * self.span)
        return true - off - draws.within(f"{run}.{self.tag}.{moment}.reading", division / 4)


def _lagged(value: Array, step: float, tau: float) -> Array:
    keep = float(np.exp(-step / tau))
    out, last = [], float(value[0])
    for v in value.tolist():
        last = keep * last + (1 - keep) * v
        out.append(last)
    return np.array(out)


def _memory_noise(dice: np.random.Generator, n: int, memory: float) -> Array:
    """Noise of unit standard deviation whose neighbours are correlated by `memory`."""
    fresh = dice.normal(0.0, sqrt(1 - memory**2), n)
    if memory == 0:
        return fresh
    out, last = [], float(dice.normal())
    for v in fresh.tolist():
        last = memory * last + v
        out.append(last)
    return np.array(out)


def ripple(draws: Draws, run: str, n: int, size: float, memory: float = 0.6) -> Array:
    """Relative ripple of a supply, felt by everything on it alike."""
    return size * draws.factor(f"{run}.ripple") * _memory_noise(draws.dice(f"{run}.ripple"), n, memory)
