"""The engine balance, frozen: tanks, feeds, circuits and chamber under errors, forwards and backwards.

Both directions end on the same equations: for each side
    p_tank + rho g h - p_chamber = m_dot**2 / (2 rho) * (1/E**2 + loss/E_feed**2)
with E the sum of its circuits' effective areas when hot, and  p_chamber A_t C_t = eta c* (O/F, p) m_dot.
Iteration counts are fixed, the same for every draw; a draw that has not closed is NaN. Start at `Forward`, `Backward`.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.chain.density import DensityLaw
from headrace.chain.water import WaterChain
from headrace.physics.combustion.chamber import area_throat_from_diameter
from headrace.physics.combustion.table import CStarTable
from headrace.physics.hydraulics.hydrostatics import head_dp
from headrace.physics.pressure import absolute, gauge
from headrace.uncertainty.errors_map import Errors, Values

Array = NDArray[np.float64]
Pair = tuple[Array, Array]
"""Oxidiser, fuel."""

CLOSED = 1e-9
"""Greatest relative imbalance of a draw that counts as solved."""

DENSITY_PASSES = 4
"""A tank pressure and the density at it are found in turn; each pass gains about a factor of a thousand."""

SIDES = ("ox", "fuel")


@dataclass(frozen=True, slots=True, kw_only=True)
class HotCircuit:
    """One circuit on its way from water to propellant.

    key: its characteristic. ln_re: ln of its Reynolds number in the engine, frozen. ln_factor: ln of contraction times
    the owner's E_hot/E_water, at nominal. sources: what shifts ln E between water and propellant. film: film cooling.
    """

    id: str
    key: str
    ln_re: float
    ln_factor: float
    sources: tuple[str, ...]
    film: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class HotFeed:
    """Loss between tank and tap. area [m2] at nominal with its (relative) source, None without loss or by parts.

    friction: share of the loss that falls with Re**-0.25; per_m_dot: pipe Re over (m_dot / mu) [1/m]; re_stated.
    """

    area: float | None
    source: str | None
    friction: float
    re_per: float  # 4/(pi D): Re = re_per * m_dot / mu
    re_stated: float
    head: float
    head_source: str | None
    parts: tuple[tuple[str, ...], ...] = ()  # keys of characteristics: in series, and side by side


@dataclass(frozen=True, slots=True, kw_only=True)
class HotSide:
    """One propellant side. Sources by name, None when exact; that of the density is relative."""

    id: str
    density: DensityLaw
    temp: float
    temp_source: str | None
    rho_source: str | None
    mu: float
    circuits: tuple[HotCircuit, ...]
    feed: HotFeed
    p_guess: float  # nominal absolute tank pressure, where the density is first taken [Pa]
    tap_height: float = 0.0  # of the tap above the outlet [m]; `feed.head` counts from the outlet


@dataclass(frozen=True, slots=True, kw_only=True)
class Chamber:
    """Throat and combustion. Sources: throat.diameter [m], throat.discharge, c_star.table, c_star.efficiency."""

    d_throat: float
    c_throat: float
    table: CStarTable
    efficiency: float
    film_counts: bool

    def state(self, errors: Errors) -> "ChamberState":
        """Throat and combustion under errors."""
        area = area_throat_from_diameter(d_throat=self.d_throat + np.atleast_1d(errors["throat.diameter"]))
        stretch = (1 + np.atleast_1d(errors["c_star.table"])) * (
            self.efficiency + np.atleast_1d(errors["c_star.efficiency"])
        )
        throat = area * (self.c_throat + np.atleast_1d(errors["throat.discharge"]))
        return ChamberState(table=self.table, throat=np.asarray(throat), stretch=stretch)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChamberState:
    """A chamber under errors, evaluated once per call. throat: A_t * C_t [m2]; stretch: delivered over tabled c*."""

    table: CStarTable
    throat: Array
    stretch: Array

    def c_star(self, *, of_ratio: Array, p_chamber: Array) -> Array:
        """Delivered characteristic velocity [m/s]."""
        return self.table.at(of_ratio=of_ratio, p_chamber=p_chamber) * self.stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class SideState:
    """A side under errors, evaluated once per call.

    area: hot, circuits together [m2]. film_share of it. feed_area [m2]. head: of the liquid above the outlet [m].
    temp [K]. rho_stretch: true over tabled density.
    """

    side: HotSide
    area: Array
    film_share: Array
    feed_area: Array | None
    head: Array
    temp: Array
    rho_stretch: Array

    def rho(self, p_abs: Values) -> Array:
        """Density [kg/m3] at a pressure."""
        return self.side.density(self.temp, p_abs) * self.rho_stretch

    def loss(self, m_dot: Array) -> Array:
        """1/E**2 of circuits and feed together [1/m4], feed friction at this flow's Reynolds number.

        Pipe friction falls as Re**-0.25 (Blasius, smooth pipes; 0.2 to 0.25 is common practice).
        """
        total: Array = 1 / self.area**2
        if self.feed_area is None:
            return total
        feed = self.side.feed
        if feed.friction == 0:
            return total + 1 / self.feed_area**2
        re = feed.re_per / self.side.mu * m_dot
        falls = 1 / np.sqrt(np.sqrt(re / feed.re_stated))  # far faster than a power
        return total + ((1 - feed.friction) + feed.friction * falls) / self.feed_area**2

    def drop(self, m_dot: Array, rho: Array) -> Array:
        """Injector drop [Pa] at a flow, on the basis of its tap."""
        return m_dot**2 / (2 * rho * self.area**2)


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
    if side.feed.parts:
        feed_area = _in_series(side.feed.parts, ln_water)
    head = side.feed.head + _of(errors, side.feed.head_source)
    return SideState(
        side=side,
        area=total,
        film_share=film / total,
        feed_area=feed_area,
        head=head,
        temp=side.temp + _of(errors, side.temp_source),
        rho_stretch=1 + _of(errors, side.rho_source),
    )


def _in_series(parts: tuple[tuple[str, ...], ...], ln_water: Mapping[str, Array]) -> Array:
    """Effective area [m2] of parts: side by side areas add, in series 1/E**2 adds."""
    loss: Array = np.zeros(1)
    for group in parts:
        beside: Array = np.zeros(1)
        for key in group:
            beside = beside + np.exp(ln_water[key])
        loss = loss + 1 / beside**2
    return 1 / np.sqrt(loss)


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """Both sides and the chamber, with the fixed iteration count and nominal start values. Start at `state`."""

    sides: tuple[HotSide, HotSide]
    chamber: Chamber
    iterations: int
    p_start: float
    m_start: tuple[float, float]

    def state(self, errors: Errors, ln_water: Mapping[str, Array]) -> "State":
        """Both sides and the chamber under errors; ln_water: ln of the water areas by key."""
        ox, fuel = (side_state(side, errors, ln_water) for side in self.sides)
        return State(balance=self, sides=(ox, fuel), chamber=self.chamber.state(errors))


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """The balance under errors: solved forwards or backwards."""

    balance: Balance
    sides: tuple[SideState, SideState]
    chamber: ChamberState

    def ratio(self, flows: Pair) -> Array:
        """O/F of all that flows, or of the core without film, as the owner says."""
        if self.balance.chamber.film_counts:
            return flows[0] / flows[1]
        core = [m * (1 - side.film_share) for m, side in zip(flows, self.sides, strict=True)]
        return core[0] / core[1]

    def rho(self, p_tank: Pair) -> Pair:
        """Density in each tank and feed [kg/m3]."""
        return self.sides[0].rho(p_tank[0]), self.sides[1].rho(p_tank[1])

    def push(self, p_tank: Pair, rho: Pair) -> Pair:
        """Tank pressure and head of each side [Pa abs]."""
        ox, fuel = (
            np.asarray(p + head_dp(rho=r, height=side.head))
            for p, r, side in zip(p_tank, rho, self.sides, strict=True)
        )
        return ox, fuel

    def flows(self, p: Array, push: Pair, rho: Pair, before: Pair) -> Pair:
        """Flows [kg/s] into the pressure p, with the feed friction of the flows before."""
        ox, fuel = (
            np.sqrt((high - p) * (2 * r) / side.loss(m))
            for high, r, side, m in zip(push, rho, self.sides, before, strict=True)
        )
        return ox, fuel

    def unlit(self, p_back: Array, push: Pair, rho: Pair) -> Pair:
        """Flows [kg/s] into a chamber that stays at p_back: primed, not lit."""
        flows = self._start()
        for _ in range(self.balance.iterations):
            flows = self.flows(p_back, push, rho, flows)
        return flows

    def forward(self, push: Pair, rho: Pair) -> tuple[Array, Pair]:
        """Chamber pressure [Pa abs] and both flows [kg/s]."""
        throat = self.chamber.throat
        p = np.zeros(1) + self.balance.p_start
        flows = self._start()
        residual: Array = np.zeros(1)
        for _ in range(self.balance.iterations):
            flows = self.flows(p, push, rho, flows)
            c_star = self.chamber.c_star(of_ratio=self.ratio(flows), p_chamber=p)
            residual = p * throat - c_star * (flows[0] + flows[1])
            slope = throat + c_star * sum(m / (2 * (high - p)) for m, high in zip(flows, push, strict=True))
            p = p - residual / slope
        closed = np.abs(residual) < CLOSED * p * throat
        return np.where(closed, p, np.nan), flows

    def _start(self) -> Pair:
        ox, fuel = self.balance.m_start
        return np.zeros(1) + ox, np.zeros(1) + fuel

    def backward(
        self, *, p_chamber: float | None, m_dot: float | None, ratio: float
    ) -> tuple[Array, Pair, Pair]:
        """Chamber pressure, both flows and both absolute tank pressures for a wanted point (p_chamber or m_dot)."""
        throat = self.chamber.throat
        wanted = np.zeros(1) + ratio
        p = np.zeros(1) + (self.balance.p_start if p_chamber is None else p_chamber)
        c_star = self.chamber.c_star(of_ratio=wanted, p_chamber=p)
        total = p * throat / c_star
        if m_dot is not None and p_chamber is None:
            total = np.zeros(1) + m_dot
            for _ in range(self.balance.iterations):
                p = m_dot * c_star / throat
                c_star = self.chamber.c_star(of_ratio=wanted, p_chamber=p)
        core: Array = wanted
        if not self.balance.chamber.film_counts:
            core = wanted * (1 - self.sides[1].film_share) / (1 - self.sides[0].film_share)
        m_fuel = total / (1 + core)
        flows = (total - m_fuel, m_fuel)
        ox, fuel = (self._tank(side, p, m) for side, m in zip(self.sides, flows, strict=True))
        return p, flows, (ox, fuel)

    def _tank(self, side: SideState, p: Array, m_dot: Array) -> Array:
        """Absolute tank pressure [Pa] that sends this flow into the chamber."""
        loss = m_dot**2 * side.loss(m_dot) / 2
        p_tank: Array = np.zeros(1) + side.side.p_guess
        for _ in range(DENSITY_PASSES):
            rho = side.rho(p_tank)
            p_tank = p + loss / rho - head_dp(rho=rho, height=side.head)
        return p_tank


@dataclass(frozen=True, slots=True, kw_only=True)
class StandGauge:
    """How a tank's indicated pressure becomes absolute: indicated + correction + its errors + the barometer.

    off: true minus indicated by its certificate, at the frozen setting [Pa].
    """

    terms: tuple[tuple[str, float], ...]
    off: float = 0.0

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
        state = _state(self.water, self.balance, errors)
        p_ambient = self.ambient + np.atleast_1d(errors["stand.barometer"])
        return _as_seen(state, self.true_tanks(errors, p_ambient), p_ambient)

    def true_tanks(self, errors: Errors, p_ambient: Array) -> Pair:
        """Absolute tank pressures behind what the stand's gauges show [Pa]."""
        ox, fuel = (
            np.asarray(absolute(p_gauge=shown + dial.off + dial.error(errors), p_ambient=p_ambient))
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
    off_static: tuple[float, float] = (0.0, 0.0)  # as `StandGauge.off`, where the gauges stand without flow

    def __call__(self, errors: Errors) -> dict[str, Values]:
        """Tank pressures to be set, as the gauges show them [Pa gauge], and all of `Forward` under "as_set."."""
        state = _state(self.water, self.balance, errors)
        p_ambient = self.ambient + np.atleast_1d(errors["stand.barometer"])
        p, flows, tanks = state.backward(p_chamber=self.p_chamber, m_dot=self.m_dot, ratio=self.of_ratio)
        out: dict[str, Values] = {"required.p_chamber": p}
        for place, (name, tank, flow, (rise, sources)) in enumerate(
            zip(SIDES, tanks, flows, self.rises, strict=True)
        ):
            wanted = gauge(p_abs=tank, p_ambient=p_ambient)
            out[f"tanks.{name}"] = wanted - self.as_set.gauges[place].off
            total = wanted + rise - self.off_static[place]
            for source in sources:
                total = total + np.atleast_1d(errors[source])
            out[f"static.{name}"] = total
            out[f"required.m_dot.{name}"] = flow
        for name, side, flow, rho in zip(SIDES, state.sides, flows, state.rho(tanks), strict=True):
            out[f"required.drop.{name}"] = side.drop(flow, rho)
        p_tank = self.as_set.true_tanks(errors, p_ambient)
        seen = _as_seen(state, p_tank, p_ambient)
        out.update({f"as_set.{name}": value for name, value in seen.items()})
        return out


def _state(water: WaterChain, balance: Balance, errors: Errors) -> State:
    ln_re = {circuit.key: circuit.ln_re for side in balance.sides for circuit in side.circuits}
    return balance.state(errors, water.ln_areas(errors, ln_re))


def _as_seen(state: State, tanks: Pair, p_ambient: Array) -> dict[str, Values]:
    rho = state.rho(tanks)
    push = state.push(tanks, rho)
    p, flows = state.forward(push, rho)
    out: dict[str, Values] = {
        "p_chamber": p,
        "of_ratio": np.where(np.isfinite(p), state.ratio(flows), np.nan),
        "m_dot.ox": flows[0],
        "m_dot.fuel": flows[1],
        "m_dot.total": flows[0] + flows[1],
    }
    cold = state.unlit(p_ambient, push, rho)
    for name, side, r, lit, unlit in zip(SIDES, state.sides, rho, flows, cold, strict=True):
        drop = side.drop(lit, r)
        column = head_dp(rho=r, height=side.side.tap_height)
        out[f"drop.{name}"] = drop
        out[f"area_hot.{name}"] = side.area
        out[f"manifold_lit.{name}"] = gauge(p_abs=p + drop - column, p_ambient=p_ambient)
        out[f"manifold_unlit.{name}"] = side.drop(unlit, r) - column
    return out


def _of(errors: Errors, name: str | None) -> Array:
    """The error of a source, nothing for a quantity stated as exact."""
    return np.zeros(1) if name is None else np.atleast_1d(np.asarray(errors[name], dtype=float))
