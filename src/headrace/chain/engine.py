"""The engine balance, frozen: tanks, feeds, circuits and chamber under errors, forwards and backwards.

Both directions end on the same equations: for each side  p_tank + rho g h - p_chamber = m_dot**2 / 2 rho * (1/E**2 +
loss/E_feed**2), with E the sum of its circuits' effective areas when hot, and  p_chamber A_t C_t = eta c* (O/F, p) m_dot.
Iteration counts are fixed, the same for every draw; a draw that has not closed is NaN. Start at `EngineChain`.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.chain.water import WaterChain
from headrace.physics.combustion.chamber import area_throat_from_diameter
from headrace.physics.combustion.table import CStarTable
from headrace.physics.fluids import fluid
from headrace.physics.hydraulics.hydrostatics import head_dp
from headrace.physics.pressure import absolute, gauge
from headrace.uncertainty.errors_map import Errors, Values

Array = NDArray[np.float64]

CLOSED = 1e-9
"""Greatest relative imbalance of a draw that counts as solved."""

FRICTION_EXPONENT = 0.25
"""Pipe friction falls as Re**-0.25 (Blasius, smooth pipes; 0.2 to 0.25 is common practice)."""

SIDES = ("ox", "fuel")


@dataclass(frozen=True, slots=True, kw_only=True)
class HotCircuit:
    """One circuit on its way from water to propellant.

    key: its characteristic. ln_re: ln of its Reynolds number in the engine, frozen. ln_factor: ln of contraction times the
    owner's E_hot/E_water, at nominal. sources: what shifts ln E between water and propellant. film: film cooling.
    """

    id: str
    key: str
    ln_re: float
    ln_factor: float
    sources: tuple[str, ...]
    film: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class HotFeed:
    """Loss between tank and tap. area [m2] at nominal with its (relative) source, None without loss.

    friction: share of the loss that falls with Re**-0.25; per_m_dot: pipe Re over (m_dot / mu) [1/m]; re_stated.
    """

    area: float | None
    source: str | None
    friction: float
    re_per: float  # 4/(pi D): Re = re_per * m_dot / mu
    re_stated: float
    head: float
    head_source: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HotSide:
    """One propellant side. rho_factor: measured batch over table, 1 without; sources by name, None when exact."""

    id: str
    propellant: str
    temp: float
    temp_source: str | None
    rho_factor: float
    rho_source: str | None
    mu: float
    circuits: tuple[HotCircuit, ...]
    feed: HotFeed
    p_guess: float  # nominal absolute tank pressure, where the density is first taken [Pa]
    tap_height: float = 0.0  # of the tap above the outlet [m]; `feed.head` counts from the outlet

    def rho(self, errors: Errors, p_abs: Values) -> Array:
        """Density [kg/m3] at the propellant's temperature and a pressure."""
        temp = self.temp + _of(errors, self.temp_source)
        rho = np.asarray(fluid(self.propellant).rho(temp, p_abs)) * self.rho_factor
        return np.asarray(rho * (1 + _of(errors, self.rho_source)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Chamber:
    """Throat and combustion. Sources: throat.diameter [m], throat.discharge, c_star.table, c_star.efficiency."""

    d_throat: float
    c_throat: float
    table: CStarTable
    efficiency: float
    film_counts: bool

    def throat(self, errors: Errors) -> Array:
        """A_t * C_t [m2]."""
        area = area_throat_from_diameter(d_throat=self.d_throat + np.atleast_1d(errors["throat.diameter"]))
        return np.asarray(area * (self.c_throat + np.atleast_1d(errors["throat.discharge"])))

    def c_star(self, errors: Errors, *, of_ratio: Array, p_chamber: Array) -> Array:
        """Delivered characteristic velocity [m/s]."""
        ideal = self.table.at(of_ratio=of_ratio, p_chamber=p_chamber) * (
            1 + np.atleast_1d(errors["c_star.table"])
        )
        return np.asarray(ideal * (self.efficiency + np.atleast_1d(errors["c_star.efficiency"])))


@dataclass(frozen=True, slots=True, kw_only=True)
class SideState:
    """A side's inputs under errors, evaluated once per call: hot areas [m2], head [Pa per rho g], feed area."""

    side: HotSide
    area: Array
    film_share: Array
    feed_area: Array | None
    head: Array

    def loss(self, m_dot: Array) -> Array:
        """1/E**2 of circuits and feed together [1/m4], feed friction at this flow's Reynolds number."""
        total: Array = 1 / self.area**2
        if self.feed_area is not None:
            feed = self.side.feed
            re = feed.re_per * m_dot / self.side.mu
            falls = (re / feed.re_stated) ** -FRICTION_EXPONENT if feed.friction > 0 else 1.0
            total = total + ((1 - feed.friction) + feed.friction * falls) / self.feed_area**2
        return total


def side_state(side: HotSide, errors: Errors, ln_water: Mapping[str, Array]) -> SideState:
    """Hot areas of a side's circuits from their water areas, the step between, and the feed."""
    areas: list[Array] = []
    film: Array = np.zeros(1)
    for circuit in side.circuits:
        value = ln_water[circuit.key] + circuit.ln_factor
        for name in circuit.sources:
            value = value + np.atleast_1d(errors[name])
        area = np.exp(value)
        areas.append(area)
        if circuit.film:
            film = film + area
    total: Array = areas[0]
    for area in areas[1:]:
        total = total + area
    feed_area = None
    if side.feed.area is not None:
        feed_area = side.feed.area * np.exp(_of(errors, side.feed.source))
    head = side.feed.head + _of(errors, side.feed.head_source)
    return SideState(side=side, area=total, film_share=film / total, feed_area=feed_area, head=head)


def of_ratio(m_ox: Array, m_fuel: Array, film_ox: Array, film_fuel: Array, *, film_counts: bool) -> Array:
    """O/F of all that flows, or of the core without film, as the owner says."""
    if film_counts:
        return m_ox / m_fuel
    return m_ox * (1 - film_ox) / (m_fuel * (1 - film_fuel))


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """Both sides and the chamber, with the fixed iteration count and nominal start values."""

    sides: tuple[HotSide, HotSide]
    chamber: Chamber
    iterations: int
    p_start: float
    m_start: tuple[float, float]

    def forward(
        self,
        errors: Errors,
        states: tuple[SideState, SideState],
        p_tank: tuple[Array, Array],
        p_back: Array | None = None,
    ) -> tuple[Array, tuple[Array, Array]]:
        """Chamber pressure [Pa abs] and both flows [kg/s] for absolute tank pressures.

        With `p_back` given the chamber stays at that pressure: primed, not lit.
        """
        rho = tuple(state.side.rho(errors, p) for state, p in zip(states, p_tank, strict=True))
        push = tuple(
            p + head_dp(rho=r, height=state.head) for p, r, state in zip(p_tank, rho, states, strict=True)
        )
        throat = self.chamber.throat(errors)
        p = np.zeros(1) + (self.p_start if p_back is None else p_back)
        flows = (np.zeros(1) + self.m_start[0], np.zeros(1) + self.m_start[1])
        residual: Array = np.zeros(1)
        for _ in range(self.iterations):
            flows = tuple(
                np.sqrt((high - p) * 2 * r / state.loss(m))
                for high, r, state, m in zip(push, rho, states, flows, strict=True)
            )  # type: ignore[assignment]  # two in, two out
            if p_back is not None:
                continue
            ratio = of_ratio(
                *flows, states[0].film_share, states[1].film_share, film_counts=self.chamber.film_counts
            )
            c_star = self.chamber.c_star(errors, of_ratio=ratio, p_chamber=p)
            total = flows[0] + flows[1]
            slope = throat + c_star * sum(m / (2 * (high - p)) for m, high in zip(flows, push, strict=True))
            residual = p * throat - c_star * total
            p = p - residual / slope
        if p_back is not None:
            return p, flows
        closed = np.abs(residual) < CLOSED * p * throat
        return np.where(closed, p, np.nan), flows

    def backward(
        self,
        errors: Errors,
        states: tuple[SideState, SideState],
        *,
        p_chamber: float | None,
        m_dot: float | None,
        ratio: float,
    ) -> tuple[Array, tuple[Array, Array], tuple[Array, Array]]:
        """Chamber pressure, both flows and both absolute tank pressures for a wanted point (p_chamber or m_dot)."""
        throat = self.chamber.throat(errors)
        wanted = np.zeros(1) + ratio
        p = np.zeros(1) + (self.p_start if p_chamber is None else p_chamber)
        for _ in range(self.iterations if p_chamber is None else 1):
            c_star = self.chamber.c_star(errors, of_ratio=wanted, p_chamber=p)
            total = p * throat / c_star
            if m_dot is not None and p_chamber is None:
                p = m_dot * c_star / throat
                total = np.zeros(1) + m_dot
        core = ratio * (
            (1 - states[1].film_share) / (1 - states[0].film_share) if not self.chamber.film_counts else 1.0
        )
        m_fuel = total / (1 + core)
        flows = (total - m_fuel, m_fuel)
        tanks = []
        for state, m in zip(states, flows, strict=True):
            p_tank: Array = np.zeros(1) + state.side.p_guess
            for _ in range(self.iterations):
                rho = state.side.rho(errors, p_tank)
                p_tank = p + m**2 * state.loss(m) / (2 * rho) - head_dp(rho=rho, height=state.head)
            tanks.append(p_tank)
        return p, flows, (tanks[0], tanks[1])

    def drop(self, errors: Errors, state: SideState, m_dot: Array, p_tank: Array) -> Array:
        """Injector drop [Pa] of a side at its flow, on the basis of its tap."""
        return m_dot**2 / (2 * state.side.rho(errors, p_tank) * state.area**2)


@dataclass(frozen=True, slots=True, kw_only=True)
class StandGauge:
    """How a tank's indicated pressure becomes absolute: indicated + its errors + the barometer."""

    terms: tuple[tuple[str, float], ...]

    def error(self, errors: Errors) -> Array:
        """True minus indicated, or indicated minus true: the sign does not matter [Pa]."""
        total: Array = np.zeros(1)
        for name, shape in self.terms:
            total = total + shape * np.atleast_1d(errors[name])
        return total


@dataclass(frozen=True, slots=True, kw_only=True)
class Forward:
    """What a pair of indicated flowing tank pressures gives: the model behind `predict`."""

    water: WaterChain
    balance: Balance
    tanks: tuple[float, float]  # gauge, indicated [Pa]
    gauges: tuple[StandGauge, StandGauge]
    ambient: float

    def __call__(self, errors: Errors) -> dict[str, Values]:
        """Chamber pressure, O/F, flows, drops, manifold pressures lit and unlit."""
        states = _states(self.water, self.balance, errors)
        p_ambient = self.ambient + np.atleast_1d(errors["stand.barometer"])
        return _as_seen(self.balance, errors, states, self.true_tanks(errors, p_ambient), p_ambient)

    def true_tanks(self, errors: Errors, p_ambient: Array) -> tuple[Array, Array]:
        """Absolute tank pressures behind what the stand's gauges show [Pa]."""
        ox, fuel = (
            np.asarray(absolute(p_gauge=shown + dial.error(errors), p_ambient=p_ambient))
            for shown, dial in zip(self.tanks, self.gauges, strict=True)
        )
        return ox, fuel


@dataclass(frozen=True, slots=True, kw_only=True)
class Backward:
    """What tank pressures a wanted point needs, and what happens when they are set: the model behind `setpoints`."""

    water: WaterChain
    balance: Balance
    p_chamber: float | None
    m_dot: float | None
    of_ratio: float
    as_set: Forward
    rises: tuple[
        tuple[float, tuple[str, ...]], tuple[float, tuple[str, ...]]
    ]  # static minus flowing [Pa], sources
    ambient: float

    def __call__(self, errors: Errors) -> dict[str, Values]:
        """Required flowing and static tank pressures [Pa gauge], and all of `Forward` under "as_set."."""
        states = _states(self.water, self.balance, errors)
        p_ambient = self.ambient + np.atleast_1d(errors["stand.barometer"])
        p, flows, tanks = self.balance.backward(
            errors, states, p_chamber=self.p_chamber, m_dot=self.m_dot, ratio=self.of_ratio
        )
        out: dict[str, Values] = {"required.p_chamber": p}
        for name, tank, flow, (rise, sources) in zip(SIDES, tanks, flows, self.rises, strict=True):
            shown = gauge(p_abs=tank, p_ambient=p_ambient)
            out[f"tanks.{name}"] = shown
            total = shown + rise
            for source in sources:
                total = total + np.atleast_1d(errors[source])
            out[f"static.{name}"] = total
            out[f"required.m_dot.{name}"] = flow
        for name, state, tank, flow in zip(SIDES, states, tanks, flows, strict=True):
            out[f"required.drop.{name}"] = self.balance.drop(errors, state, flow, tank)
        p_tank = self.as_set.true_tanks(errors, p_ambient)
        seen = _as_seen(self.balance, errors, states, p_tank, p_ambient)
        out.update({f"as_set.{name}": value for name, value in seen.items()})
        return out


def _states(water: WaterChain, balance: Balance, errors: Errors) -> tuple[SideState, SideState]:
    ln_re = {circuit.key: circuit.ln_re for side in balance.sides for circuit in side.circuits}
    ln_water = water.ln_areas(errors, ln_re)
    first, second = balance.sides
    return side_state(first, errors, ln_water), side_state(second, errors, ln_water)


def _as_seen(
    balance: Balance,
    errors: Errors,
    states: tuple[SideState, SideState],
    tanks: tuple[Array, Array],
    p_ambient: Array,
) -> dict[str, Values]:
    p, flows = balance.forward(errors, states, tanks)
    ratio = of_ratio(
        *flows, states[0].film_share, states[1].film_share, film_counts=balance.chamber.film_counts
    )
    out: dict[str, Values] = {
        "p_chamber": p,
        "of_ratio": np.where(np.isfinite(p), ratio, np.nan),
        "m_dot.ox": flows[0],
        "m_dot.fuel": flows[1],
        "m_dot.total": flows[0] + flows[1],
    }
    _, cold = balance.forward(errors, states, tanks, p_back=p_ambient)
    for name, state, tank, lit, unlit in zip(SIDES, states, tanks, flows, cold, strict=True):
        out[f"drop.{name}"] = balance.drop(errors, state, lit, tank)
        out[f"area_hot.{name}"] = state.area
        column = head_dp(rho=state.side.rho(errors, tank), height=state.side.tap_height)
        manifold = p + balance.drop(errors, state, lit, tank) - column
        out[f"manifold_lit.{name}"] = gauge(p_abs=manifold, p_ambient=p_ambient)
        out[f"manifold_unlit.{name}"] = balance.drop(errors, state, unlit, tank) - column
    return out


def _of(errors: Errors, name: str | None) -> Array:
    """The error of a source, nothing for a quantity stated as exact."""
    return np.zeros(1) if name is None else np.atleast_1d(np.asarray(errors[name], dtype=float))
