"""The frozen chain written a second time, one number at a time, for any library that carries uncertainty.

Reads the nominal numbers of the frozen records and nothing else of the chain: no function of it is called, but for the
property tables, which enter by value and slope. What is solved for (chamber pressure, flows, tank pressures) enters by
the implicit derivative: x = x0 - J**-1 * residual(x0), so that no library follows an iteration.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from headrace.bench.meters.venturi import VenturiLaw
from headrace.chain.engine import Backward, HotSide
from headrace.chain.streams import ByHand, Drop, HandStream, MeteredStream, WeighedStream
from headrace.chain.water import WaterChain
from headrace.uncertainty.doubted import Doubted

Number = Any
"""A float, or the uncertain number of a library."""

G = 9.80665


@dataclass(frozen=True, kw_only=True)
class Library:
    """Functions of one library, and the errors of all sources as its numbers."""

    exp: Callable[[Number], Number]
    log: Callable[[Number], Number]
    sqrt: Callable[[Number], Number]
    errors: Mapping[str, Number]

    def __getitem__(self, name: str | None) -> Number:
        return 0.0 if name is None else self.errors[name]


def values(doubted: Doubted, lib: Library) -> list[Number]:
    """Nominal values with their errors."""
    return [
        float(base) + sum(float(shape[k]) * lib[name] for name, shape in doubted.terms)
        for k, base in enumerate(doubted.base)
    ]


def _at(one: list[Number], k: int) -> Number:
    return one[k] if len(one) > 1 else one[0]


def venturi(law: VenturiLaw, dp: Number, rho: Number, lib: Library) -> Number:
    """ISO 5167-1, equation (1), for a liquid [kg/s]."""
    assert not law.c.at
    d = law.bores.d_throat + lib[f"{law.bores.meter}.d_throat"]
    beta = d / (law.bores.d_pipe + lib[f"{law.bores.meter}.d_pipe"])
    c = law.c.values[0] * (1 + sum(weight * lib[name] for name, weight in law.c.pairs))
    return c * math.pi / 4 * d**2 * lib.sqrt(2 * rho * dp) / lib.sqrt(1 - beta**4)


def drops(drop: Drop, lib: Library, m_dot: Sequence[Number]) -> list[Number]:
    """Tap to outlet, slice by slice [Pa]."""
    rho, height, taps = values(drop.rho, lib), values(drop.height, lib), values(drop.p_tap, lib)
    out = []
    for k, tap in enumerate(taps):
        dp = tap + drop.g * _at(rho, k) * _at(height, k) - float(drop.inertia[k])
        if drop.area_tap is not None:
            dp = dp + m_dot[k] ** 2 / (2 * _at(rho, k) * drop.area_tap**2)
        out.append(dp)
    return out


def _metered(stream: MeteredStream, lib: Library) -> list[Number]:
    m_dot: list[Number] = [0.0] * len(stream.correction)
    for meter in stream.meters:
        signal, rho = values(meter.signal, lib), values(meter.rho, lib)
        assert isinstance(meter.law, VenturiLaw)
        m_dot = [
            m + venturi(meter.law, dp, _at(rho, k), lib)
            for k, (m, dp) in enumerate(zip(m_dot, signal, strict=True))
        ]
    rho = values(stream.drop.rho, lib)
    unseen = [0.0] * len(m_dot) if stream.unseen is None else values(stream.unseen, lib)
    return [
        lib.log(m / lib.sqrt(2 * _at(rho, k) * dp)) + float(stream.correction[k]) + unseen[k]
        for k, (m, dp) in enumerate(zip(m_dot, drops(stream.drop, lib, m_dot), strict=True))
    ]


def _weighed(stream: WeighedStream, lib: Library) -> list[Number]:
    assert stream.area_tap is None
    rho = values(stream.drop.rho, lib)
    dp = drops(stream.drop, lib, [0.0] * len(stream.dt))
    integral = sum(
        float(dt) * lib.sqrt(2 * _at(rho, k) * p) for k, (dt, p) in enumerate(zip(stream.dt, dp, strict=True))
    )
    return [lib.log(values(stream.mass, lib)[0] / integral) + stream.correction]


def _by_hand(hand: ByHand, lib: Library) -> Number:
    """ln of volume / time * mean over the displaced volume of sqrt(rho / 2 (p - p_out)), p V**n constant."""
    names = ("p_start", "p_end", "height", "volume", "time", "exponent", "rho")
    start, end, height, volume, time, n, rho = (values(getattr(hand, name), lib)[0] for name in names)
    head = hand.g * rho * height + hand.p_out
    first, last = start + head, end + head
    growth = lib.exp(lib.log(first / last) / n) - 1
    nodes, weights = np.polynomial.legendre.leggauss(12)
    mean = sum(
        0.5
        * float(w)
        / lib.sqrt(first * lib.exp(-n * lib.log(1 + 0.5 * (float(x) + 1) * growth)) - hand.p_out)
        for x, w in zip(nodes, weights, strict=True)
    )
    return lib.log(lib.sqrt(rho / 2) * mean * volume / time)


def _hand(stream: HandStream, lib: Library) -> list[Number]:
    assert stream.area_tap is None
    return [_by_hand(stream.hand, lib)]


STREAMS: Mapping[type, Callable[[Any, Library], list[Number]]] = {
    MeteredStream: _metered,
    WeighedStream: _weighed,
    HandStream: _hand,
}


def ln_areas(water: WaterChain, lib: Library) -> dict[str, Number]:
    """ln E of every characteristic."""
    out = {}
    for key, fit in water.fits.items():
        assert fit.slope is None
        total = sum(lib[name] for name in (fit.noise[0], *fit.extra))
        for member, weights in zip(fit.members, fit.level, strict=True):
            stream = water.streams[member]
            shift = sum(lib[name] for name in stream.shared.names)  # type: ignore[attr-defined]  # all kinds have it
            slices = STREAMS[type(stream)](stream, lib)
            total = total + sum(float(w) * (one + shift) for w, one in zip(weights, slices, strict=True))
        out[key] = total
    return out


def slope(of: Callable[[float], float], at: float) -> float:
    """Derivative by a central difference in four points."""
    h = 1e-3 * at
    return (8 * (of(at + h) - of(at - h)) - (of(at + 2 * h) - of(at - 2 * h))) / (12 * h)


def table(of: Callable[[float], float], at: float, x: Number) -> Number:
    """A tabled quantity at a number that is `at` but for its error."""
    return of(at) + slope(of, at) * (x - at)


@dataclass(frozen=True, kw_only=True)
class Side:
    """One side of the engine with its errors; pressures in Pa, flows in kg/s."""

    frozen: HotSide
    lib: Library
    area: Number

    def rho(self, p: Number, p_0: float) -> Number:
        """Density, tabled by value and slopes at p_0."""
        side = self.frozen

        def by_p(p_abs: float) -> float:
            return float(side.density(side.temp, p_abs))

        def by_temp(temp: float) -> float:
            return float(side.density(temp, p_0))

        warmer = slope(by_temp, side.temp) * self.lib[side.temp_source]
        return (table(by_p, p_0, p) + warmer) * (1 + self.lib[side.rho_source])

    def rise(self, m: Number, p_tank: Number, p_0: float) -> Number:
        """Tank minus chamber pressure that a flow needs."""
        feed, lib = self.frozen.feed, self.lib
        rho = self.rho(p_tank, p_0)
        loss = 1 / self.area**2
        if feed.area is not None:
            falls = lib.exp(-0.25 * lib.log(feed.re_per * m / (self.frozen.mu * feed.re_stated)))
            area = feed.area * lib.exp(lib[feed.source])
            loss = loss + (1 - feed.friction + feed.friction * falls) / area**2
        return m**2 * loss / (2 * rho) - rho * G * (feed.head + lib[feed.head_source])


def solved(
    residual: Callable[[Sequence[Number], Library, Sequence[float]], list[Number]],
    start: Sequence[float],
    exact: Library,
    lib: Library,
) -> list[Number]:
    """Root by Newton's rule in plain numbers, then its errors by the implicit derivative.

    residual(x, lib, x_0): x_0 is where tables are taken; each about 1 in size.
    """
    x = np.array(start, dtype=float)

    def jacobian() -> np.ndarray:
        columns = []
        for k in range(len(x)):
            step = np.zeros(len(x))
            step[k] = 1e-4 * x[k]
            ahead, behind = (np.array(residual(x + sign * step, exact, x)) for sign in (1, -1))
            columns.append((ahead - behind) / (2 * step[k]))
        return np.stack(columns, axis=1)

    for _ in range(30):
        x = x - np.linalg.solve(jacobian(), np.array(residual(x, exact, x)))
    inverse = np.linalg.inv(jacobian())
    off = residual(x.tolist(), lib, x.tolist())
    return [float(x[i]) - sum(float(inverse[i, k]) * off[k] for k in range(len(off))) for i in range(len(x))]


def engine(
    model: Backward, ln_water: Mapping[str, Number], exact: Library, lib: Library
) -> dict[str, Number]:
    """Required tank pressures [Pa gauge]; chamber pressure [Pa abs] and O/F when set on the stand's gauges."""
    chamber = model.balance.chamber
    assert model.p_chamber is not None
    p_wanted, ratio = model.p_chamber, model.of_ratio

    def sides(lib: Library) -> tuple[Side, Side]:
        ln_area = ln_water if lib is not exact else {key: float(exact_areas[key]) for key in ln_water}
        out = []
        for side in model.balance.sides:
            (circuit,) = side.circuits
            total = ln_area[circuit.key] + circuit.ln_factor + sum(lib[name] for name in circuit.sources)
            out.append(Side(frozen=side, lib=lib, area=lib.exp(total)))
        return out[0], out[1]

    exact_areas = ln_areas(model.water, exact)

    def throat(lib: Library) -> Number:
        d = chamber.d_throat + lib["throat.diameter"]
        return math.pi / 4 * d**2 * (chamber.c_throat + lib["throat.discharge"])

    def c_star(r: Number, r_0: float, p_0: float, lib: Library) -> Number:
        ideal = table(lambda of: float(chamber.table.at(of_ratio=of, p_chamber=p_0)), r_0, r)
        return ideal * (1 + lib["c_star.table"]) * (chamber.efficiency + lib["c_star.efficiency"])

    def barometer(lib: Library) -> Number:
        return model.ambient + lib["stand.barometer"]

    def backward(x: Sequence[Number], lib: Library, x_0: Sequence[float]) -> list[Number]:
        total = p_wanted * throat(lib) / c_star(ratio, ratio, p_wanted, lib)
        flows = (total * ratio / (1 + ratio), total / (1 + ratio))
        return [
            (p_wanted + side.rise(m, p, p_0) - p) / p_wanted
            for side, m, p, p_0 in zip(sides(lib), flows, x, x_0, strict=True)
        ]

    def forward(x: Sequence[Number], lib: Library, x_0: Sequence[float]) -> list[Number]:
        p, *flows = x
        out = [(p * throat(lib) - c_star(flows[0] / flows[1], x_0[1] / x_0[2], x_0[0], lib) * sum(flows))
               / (p_wanted * throat(exact))]  # fmt: skip
        for k, side in enumerate(sides(lib)):
            dial = model.as_set.gauges[k]
            p_tank = (
                model.as_set.tanks[k] + barometer(lib) + sum(shape * lib[name] for name, shape in dial.terms)
            )
            p_0 = model.as_set.tanks[k] + model.ambient
            out.append((p + side.rise(flows[k], p_tank, p_0) - p_tank) / p_wanted)
        return out

    tanks = solved(backward, [1.3 * p_wanted, 1.3 * p_wanted], exact, lib)
    p, m_ox, m_fuel = solved(forward, [0.9 * p_wanted, 7.0, 3.0], exact, lib)
    return {
        "tanks.ox": tanks[0] - barometer(lib),
        "tanks.fuel": tanks[1] - barometer(lib),
        "as_set.p_chamber": p,
        "as_set.of_ratio": m_ox / m_fuel,
    }


def outputs(model: Backward, water: WaterChain, lib: Library) -> dict[str, Number]:
    """All characteristics [m2] and the engine, as numbers of the library."""
    exact = Library(exp=math.exp, log=math.log, sqrt=math.sqrt, errors=dict.fromkeys(lib.errors, 0.0))
    areas = {f"area_eff.{key}": lib.exp(value) for key, value in ln_areas(water, lib).items()}
    return areas | engine(model, ln_areas(model.water, lib), exact, lib)
