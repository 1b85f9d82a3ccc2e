"""One run's water stream, frozen: ln of the effective area for each of its slices, under errors.

Each class is one way of running: metered and logged, weighed against a trace, by hand, long minus short. All answer
`ln_area(errors)` with shape (slices, draws). What a run shares over its slices (set-up, day, window) is added here, by
`Shared`, so that slices of one run never count as separate runs.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters.base import FlowLaw
from headrace.physics.gas.manual_run import area_eff_two_point
from headrace.physics.hydraulics.hydrostatics import head_dp
from headrace.physics.hydraulics.injector import area_eff, injector_dp, total_from_static, velocity_head
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.errors_map import Errors

Array = NDArray[np.float64]


class Stream(Protocol):
    """A frozen stream of one run."""

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all sources it asks for."""
        ...

    def ln_area(self, errors: Errors) -> Array:
        """ln of the effective area [m2], shape (slices, draws)."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Shared:
    """Sources that shift ln E of a whole run: its set-up, its day, the place of its window."""

    names: tuple[str, ...]

    def at(self, errors: Errors) -> Array:
        """Their sum, shape (draws,) or (1,)."""
        out: Array = np.zeros(1)
        for name in self.names:
            out = out + np.atleast_1d(np.asarray(errors[name], dtype=float))
        return out


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterAtWork:
    """One line's meter in one run: its law, its signal slice by slice, and the water's density there."""

    law: FlowLaw
    signal: Doubted
    rho: Doubted
    mu: float
    names: tuple[str, ...]  # sources of the law itself

    def m_dot(self, errors: Errors) -> Array:
        """Mass flow [kg/s], shape (slices, draws)."""
        return self.law.m_dot(errors, signal=self.signal.at(errors), rho=self.rho.at(errors), mu=self.mu)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """The drop that an effective area belongs to: from the tap's pressure to the outlet.

    p_tap: tap minus outlet pressure [Pa], slice by slice. rho: water at the tap. height: of the tap above the outlet
    [m]. area_tap: bore area at the tap [m2] when the basis is total (velocity head counts), None when static.
    inertia: (L/A) dm/dt at nominal [Pa], slice by slice; frozen. g [m/s2].
    """

    p_tap: Doubted
    rho: Doubted
    height: Doubted
    area_tap: float | None
    inertia: Array
    g: float

    def dp(self, errors: Errors, m_dot: Array) -> Array:
        """Drop [Pa], shape (slices, draws); m_dot is the flow through the tap's bore [kg/s]."""
        rho = self.rho.at(errors)
        head = 0.0 if self.area_tap is None else velocity_head(m_dot=m_dot, area=self.area_tap, rho=rho)
        return np.asarray(
            injector_dp(
                p_abs_tap=self.p_tap.at(errors),
                p_abs_out=0.0,
                rho=rho,
                height=self.height.at(errors),
                dp_velocity=head,
                inertance=1.0,
                m_dot_rate=self.inertia[:, None],
                g=self.g,
            )
        )

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the sources that act on it."""
        return (*self.p_tap.names, *self.rho.names, *self.height.names)


def on_basis(area: Array, area_tap: float | None) -> Array:
    """An area found from static pressure, on the basis of its tap: total when a bore is given, else as it is."""
    if area_tap is None:
        return area
    return np.asarray(total_from_static(area_eff_static=area, area_tap=area_tap))


@dataclass(frozen=True, slots=True, kw_only=True)
class MeteredStream:
    """Metered and logged. correction: ln of (mean of E over the samples / E of the slice's means), frozen.

    unseen: what passes the article and not the meter, in ln E: zero at nominal (that is in the correction).
    """

    meters: tuple[MeterAtWork, ...]
    drop: Drop
    shared: Shared
    correction: Array
    unseen: Doubted | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all sources it asks for."""
        own = (
            name for meter in self.meters for name in (*meter.names, *meter.signal.names, *meter.rho.names)
        )
        unseen = () if self.unseen is None else self.unseen.names
        return tuple(dict.fromkeys((*own, *self.drop.names, *unseen, *self.shared.names)))

    def ln_area(self, errors: Errors) -> Array:
        """ln of the effective area [m2], shape (slices, draws). More than one line: the sum of their flows."""
        m_dot = self.meters[0].m_dot(errors)
        for meter in self.meters[1:]:
            m_dot = m_dot + meter.m_dot(errors)
        dp = self.drop.dp(errors, m_dot)
        area = area_eff(m_dot=m_dot, dp=dp, rho=self.drop.rho.at(errors))
        out: Array = np.log(area) + self.correction[:, None] + self.shared.at(errors)[None, :]
        return out if self.unseen is None else out + self.unseen.at(errors)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighedStream:
    """One mass against a trace of the drop: E = m / integral sqrt(2 rho dp) dt, as one slice.

    The trace is frozen into pieces of duration dt [s] with their mean drops. correction: ln of (sample-wise integral /
    that of the pieces), with its sign such that the nominal area is the sample-wise one. area_tap: as in `on_basis`.
    """

    mass: Doubted  # (1,) kg
    drop: Drop  # (pieces,)
    dt: Array
    shared: Shared
    correction: float
    area_tap: float | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all sources it asks for."""
        return tuple(dict.fromkeys((*self.mass.names, *self.drop.names, *self.shared.names)))

    def ln_area(self, errors: Errors) -> Array:
        """ln of the effective area [m2], shape (1, draws)."""
        rho = self.drop.rho.at(errors)
        dp = self.drop.dp(errors, np.zeros((1, 1)))
        integral = np.sum(self.dt[:, None] * np.sqrt(2 * rho * dp), axis=0)
        area = self.mass.at(errors) / integral * np.exp(self.correction)
        out: Array = np.log(on_basis(area, self.area_tap)) + self.shared.at(errors)[None, :]
        return out


@dataclass(frozen=True, slots=True, kw_only=True)
class CaughtStream:
    """Catch-and-weigh points of one set-up, a slice each: E = m / (t sqrt(2 rho dp)). area_tap: as in `on_basis`."""

    mass: Doubted  # kg
    time: Doubted  # s
    rho: Doubted
    drop: Drop
    shared: Shared
    area_tap: float | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all sources it asks for."""
        parts = (self.mass, self.time, self.rho, self.drop, self.shared)
        return tuple(dict.fromkeys(name for part in parts for name in part.names))

    def ln_area(self, errors: Errors) -> Array:
        """ln of the effective area [m2], shape (slices, draws)."""
        m_dot = self.mass.at(errors) / self.time.at(errors)
        dp = self.drop.dp(errors, np.zeros((1, 1)))
        area = np.asarray(area_eff(m_dot=m_dot, dp=dp, rho=self.rho.at(errors)))
        out: Array = np.log(on_basis(area, self.area_tap)) + self.shared.at(errors)[None, :]
        return out


@dataclass(frozen=True, slots=True, kw_only=True)
class ByHand:
    """Pressure at start and end, water displaced, stopwatch: the estimator of `physics.gas.manual_run`.

    p_start, p_end: tap minus outlet pressure [Pa]; p_out: absolute outlet pressure [Pa], frozen; volume [m3]; time [s];
    exponent: nominal value with the name of its source.
    """

    p_start: Doubted
    p_end: Doubted
    p_out: float
    height: Doubted
    volume: Doubted
    time: Doubted
    exponent: Doubted
    rho: Doubted
    g: float

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all sources it asks for."""
        parts = (self.p_start, self.p_end, self.height, self.volume, self.time, self.exponent, self.rho)
        return tuple(name for part in parts for name in part.names)

    def mass(self, errors: Errors) -> Array:
        """Water that went through [kg], shape (1, draws)."""
        return self.volume.at(errors) * self.rho.at(errors)

    def mean_root(self, errors: Errors) -> Array:
        """Mass over effective area [kg/m2]: the integral of sqrt(2 rho dp) dt, shape (1, draws)."""
        rho = self.rho.at(errors)
        head = head_dp(rho=rho, height=self.height.at(errors), g=self.g)
        area = area_eff_two_point(
            p_abs_start=self.p_start.at(errors) + self.p_out + head,
            p_abs_end=self.p_end.at(errors) + self.p_out + head,
            p_abs_out=self.p_out,
            volume_out=self.volume.at(errors),
            time=self.time.at(errors),
            n=self.exponent.at(errors),
            rho=rho,
        )
        return np.asarray(self.mass(errors) / area)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandStream:
    """A run with no logger at all, as one slice."""

    hand: ByHand
    shared: Shared
    area_tap: float | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all sources it asks for."""
        return tuple(dict.fromkeys((*self.hand.names, *self.shared.names)))

    def ln_area(self, errors: Errors) -> Array:
        """ln of the effective area [m2], shape (1, draws)."""
        area = self.hand.mass(errors) / self.hand.mean_root(errors)
        out: Array = np.log(on_basis(area, self.area_tap)) + self.shared.at(errors)[None, :]
        return out


@dataclass(frozen=True, slots=True, kw_only=True)
class PairStream:
    """A long run minus a short one: what starting and stopping by hand adds to both is taken out, as one slice."""

    long: ByHand
    short: ByHand
    shared: Shared
    area_tap: float | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all sources it asks for."""
        return tuple(dict.fromkeys((*self.long.names, *self.short.names, *self.shared.names)))

    def ln_area(self, errors: Errors) -> Array:
        """ln of the effective area [m2], shape (1, draws)."""
        mass = self.long.mass(errors) - self.short.mass(errors)
        root = self.long.mean_root(errors) - self.short.mean_root(errors)
        out: Array = np.log(on_basis(mass / root, self.area_tap)) + self.shared.at(errors)[None, :]
        return out
