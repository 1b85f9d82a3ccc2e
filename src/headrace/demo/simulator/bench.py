"""The invented bench: air pushes water out of a vessel through valve, line, venturi and injector into open air.

Unknowns along time are the water gone from each vessel and the temperature of the air; the flow follows at once
from the pressure (the line answers in milliseconds, the valve moves in tenths of a second), so the equations are
not stiff and a midpoint step per sample is ample. Inertia then adds to the tap's reading what the change of flow
needs.
Start at `run`. All pressures absolute unless named gauge; heights above the bench's datum.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import log, pi, sqrt

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

GRAVITY = 9.81
AIR_HEAT_RATIO = 1.4
AIR_GAS_CONSTANT = 287.05
AIR_CV = AIR_GAS_CONSTANT / (AIR_HEAT_RATIO - 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """The driving air at opening: volume [m3], pressure [Pa abs], temperature [K].

    exponent: 1.4 for the energy balance of air, 1 for a bath that never cools. conductance: heat from the wall [W/K].
    """

    volume: float
    p_abs: float
    temp: float = 293.15
    exponent: float = AIR_HEAT_RATIO
    conductance: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Venturi:
    """A venturi as it truly is: bores [m], discharge coefficient, share of its drop that is lost for good."""

    d_pipe: float
    d_throat: float
    c: float
    lost: float = 0.12

    def area_eff(self) -> float:
        """m_dot = area_eff * sqrt(2 rho dp), [m2]."""
        return self.c * pi / 4 * self.d_throat**2 / sqrt(1 - (self.d_throat / self.d_pipe) ** 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """One water vessel and its line. level: water surface at opening [m]; section [m2]; areas are effective [m2]."""

    id: str
    level: float
    section: float
    area_valve: float
    area_line: float
    venturi: Venturi | None = None
    delay: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlet:
    """One injector circuit, fed by one or two supplies (their indices).

    area: effective area on total pressure at the tap [m2], at Reynolds number re_mid; slope: d ln E / d ln Re.
    choke: contraction coefficient times area [m2] for a hole that cavitates (E = choke sqrt(K) at most), None for
    one that does not. leak: effective area of a leak into the neighbour [m2], whose own outlet has `area_neighbour`.
    inertance: sum of L/A between tap and face [1/m].
    """

    id: str
    supplies: tuple[int, ...]
    area: float
    tap_area: float
    tap_height: float
    outlet_height: float
    re_mid: float = 1e5
    slope: float = 0.0
    bores: float = 0.072  # count times bore [m]
    choke: float | None = None
    leak: float = 0.0
    area_neighbour: float = 1.0
    inertance: float = 900.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """The water of the day: density [kg/m3], viscosity [Pa s], vapour pressure [Pa]."""

    rho: float
    mu: float
    p_vap: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Valve:
    """When the main valve starts to open and to close [s], and how long it travels [s]."""

    opens: float
    closes: float
    travel: float = 0.4

    def opening(self, t: float) -> float:
        """Share of its full effective area, 0 to 1."""
        share = min((t - self.opens) / self.travel, 1.0 - (t - self.closes) / self.travel, 1.0)
        return float(max(share, 0.0) ** 1.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Signals:
    """What is true at every sample. Per supply: m_dot [kg/s], dp_meter, p_up (gauge) [Pa], spent [kg].

    Per outlet: flow [kg/s], p_tap (gauge, static) [Pa], drop (total, tap to open air) [Pa], area [m2], p_neighbour:
    what the leak makes in the neighbour (gauge) [Pa].
    """

    time: Array
    m_dot: Array
    dp_meter: Array
    p_up: Array
    spent: Array
    flow: Array
    p_tap: Array
    drop: Array
    area: Array
    p_neighbour: Array
    p_air: Array
    temp_air: Array
    opening: Array = field(repr=False)


def run(
    *,
    time: Array,
    air: Air,
    supplies: Sequence[Supply],
    outlets: Sequence[Outlet],
    valve: Valve,
    water: Water,
    p_ambient: float,
    ripple: Array | None = None,
) -> Signals:
    """Open the valve, let it run, close it.

    Args:
        time: evenly spaced samples [s].
        ripple: relative ripple of the supply, one per sample: drop and meter feel the same.
    Returns:
        The true signals at those samples.
    """
    step = float(time[1] - time[0])
    n, ns, no = time.size, len(supplies), len(outlets)
    m_dot, spent = np.zeros((ns, n)), np.zeros((ns, n))
    area = np.array([[outlet.area] * n for outlet in outlets])
    p_air, temp_air = np.full(n, air.p_abs), np.full(n, air.temp)
    mass = air.p_abs * air.volume / (AIR_GAS_CONSTANT * air.temp)
    gone, temp = [0.0] * ns, air.temp
    flow_at = _Flow(supplies, outlets, valve, water, p_ambient)

    for i, t in enumerate(time.tolist()):
        volume = air.volume + sum(gone)
        pressure = mass * AIR_GAS_CONSTANT * temp / volume
        p_air[i], temp_air[i] = pressure, temp
        now = flow_at(t, pressure, gone)
        for j in range(ns):
            m_dot[j, i], spent[j, i] = now[j], gone[j] * water.rho
        for k in range(no):
            area[k, i] = flow_at.areas[k]
        # midpoint step
        rate = [m / water.rho for m in now]
        half = [g + 0.5 * step * r for g, r in zip(gone, rate, strict=True)]
        half_temp = temp + 0.5 * step * _warming(air, mass, temp, volume, sum(rate))
        half_volume = air.volume + sum(half)
        there = flow_at(t + 0.5 * step, mass * AIR_GAS_CONSTANT * half_temp / half_volume, half)
        rate = [m / water.rho for m in there]
        gone = [g + step * r for g, r in zip(gone, rate, strict=True)]
        temp += step * _warming(air, mass, half_temp, half_volume, sum(rate))

    opening = np.array([valve.opening(t) for t in time.tolist()])
    return _signals(time, m_dot, spent, area, p_air, temp_air, opening, supplies, outlets, water, ripple)


def _warming(air: Air, mass: float, temp: float, volume: float, swept: float) -> float:
    """dT/dt of the air: work done on the water, heat from the wall."""
    heat = air.conductance * (air.temp - temp) / (mass * AIR_CV) if air.conductance else 0.0
    return heat - (air.exponent - 1) * temp / volume * swept


class _Flow:
    """The flow of every supply for a pressure, levels and a valve position; remembers the areas it used."""

    def __init__(
        self,
        supplies: Sequence[Supply],
        outlets: Sequence[Outlet],
        valve: Valve,
        water: Water,
        p_ambient: float,
    ) -> None:
        self.supplies, self.outlets, self.valve, self.water, self.p_ambient = (
            supplies,
            outlets,
            valve,
            water,
            p_ambient,
        )
        self.areas = [outlet.area for outlet in outlets]
        self.fixed = [
            1 / s.area_line**2 + (s.venturi.lost / s.venturi.area_eff() ** 2 if s.venturi else 0.0)
            for s in supplies
        ]
        self.last = [outlet.area * 1e3 for outlet in outlets]

    def __call__(self, t: float, p_air: float, gone: Sequence[float]) -> list[float]:
        rho = self.water.rho
        flows = [0.0] * len(self.supplies)
        for k, outlet in enumerate(self.outlets):
            pushes, resistances, live = [], [], []
            for j in outlet.supplies:
                supply = self.supplies[j]
                opening = self.valve.opening(t - supply.delay)
                if opening < 1e-4:
                    continue
                level = supply.level - gone[j] / supply.section
                push = p_air - self.p_ambient + rho * GRAVITY * (level - outlet.outlet_height)
                live.append(j)
                pushes.append(max(push, 0.0))
                resistances.append(1 / (supply.area_valve * opening) ** 2 + self.fixed[j])
            if not live:
                continue
            own = self._area(k, outlet)
            open_area = own + _leak_area(outlet)
            if len(live) == 1:
                found = [sqrt(2 * rho * pushes[0] / (resistances[0] + 1 / open_area**2))]
            else:
                found = _joined(pushes, resistances, open_area, rho)
            for j, m in zip(live, found, strict=True):
                flows[j] = m
            self.last[k] = sum(found) * own / open_area
            self.areas[k] = own
        return flows

    def _area(self, k: int, outlet: Outlet) -> float:
        flow = self.last[k]
        own = outlet.area
        if outlet.slope and flow > 0:
            re = 4 * flow / (pi * self.water.mu * outlet.bores)
            own *= 1 + outlet.slope * log(max(re, 1.0) / outlet.re_mid)
        if outlet.choke is not None and flow > 0:
            drop = max((flow / self.areas[k]) ** 2 / (2 * self.water.rho), 1.0)
            cav = (self.p_ambient + drop - self.water.p_vap) / drop
            own = min(own, outlet.choke * sqrt(cav))
        return own


def _leak_area(outlet: Outlet) -> float:
    if outlet.leak == 0:
        return 0.0
    return 1 / sqrt(1 / outlet.leak**2 + 1 / outlet.area_neighbour**2)


def _joined(pushes: Sequence[float], resistances: Sequence[float], area: float, rho: float) -> list[float]:
    """Two supplies into one circuit: the drop there at which what comes in goes out (bisection, then done)."""
    low, high = 0.0, max(pushes)
    for _ in range(50):
        drop = 0.5 * (low + high)
        flows = [sqrt(2 * rho * max(p - drop, 0.0) / r) for p, r in zip(pushes, resistances, strict=True)]
        if sum(flows) > area * sqrt(2 * rho * drop):
            low = drop
        else:
            high = drop
    return flows


def _signals(
    time: Array,
    m_dot: Array,
    spent: Array,
    area: Array,
    p_air: Array,
    temp_air: Array,
    opening: Array,
    supplies: Sequence[Supply],
    outlets: Sequence[Outlet],
    water: Water,
    ripple: Array | None,
) -> Signals:
    two_rho = 2 * water.rho
    shake = 1.0 if ripple is None else 1.0 + ripple
    flow = np.zeros((len(outlets), time.size))
    drop, p_tap, p_neighbour = np.zeros_like(flow), np.zeros_like(flow), np.zeros_like(flow)
    dp_meter, p_up = np.zeros_like(m_dot), np.zeros_like(m_dot)
    for k, outlet in enumerate(outlets):
        total = m_dot[list(outlet.supplies)].sum(axis=0)
        aside = _leak_area(outlet)
        flow[k] = total * area[k] / (area[k] + aside)
        running = total > 0
        drop[k] = flow[k] ** 2 / (two_rho * area[k] ** 2) * shake
        lift = water.rho * GRAVITY * (outlet.tap_height - outlet.outlet_height)
        inertia = outlet.inertance * np.gradient(flow[k], time)
        velocity_head = total**2 / (two_rho * outlet.tap_area**2) * shake
        # no flow: the tap stands open to the air through the empty outlet
        p_tap[k] = np.where(running, drop[k] - velocity_head - lift + inertia, 0.0)
        if aside:
            p_neighbour[k] = (total - flow[k]) ** 2 / (two_rho * outlet.area_neighbour**2) * shake
        for j in outlet.supplies:
            supply = supplies[j]
            head = m_dot[j] ** 2 / two_rho * shake
            after = head / supply.area_line**2
            if supply.venturi is None:
                p_up[j] = np.where(running, p_tap[k] + velocity_head + after, 0.0)
                continue
            dp_meter[j] = head / supply.venturi.area_eff() ** 2
            pipe = head / (pi / 4 * supply.venturi.d_pipe**2) ** 2
            lost = supply.venturi.lost * dp_meter[j]
            p_up[j] = np.where(running, p_tap[k] + velocity_head + after + lost - pipe, 0.0)
    return Signals(
        time=time,
        m_dot=m_dot,
        dp_meter=dp_meter,
        p_up=p_up,
        spent=spent,
        flow=flow,
        p_tap=p_tap,
        drop=drop,
        area=area,
        p_neighbour=p_neighbour,
        p_air=p_air,
        temp_air=temp_air,
        opening=opening,
    )
