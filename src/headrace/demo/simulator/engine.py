"""The invented engine as it truly is: tanks, feed lines, injector, chamber. Forwards by bracketing, backwards by hand.

p_chamber * area_throat * c_throat = efficiency * c_star * (m_ox + m_fuel), both flows from their tank through feed
line and injector. Start at `TrueEngine.tanks_for` and `TrueEngine.chamber_from`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from scipy.optimize import brentq

from headrace.demo.simulator.bench import GRAVITY


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueSide:
    """One side of the engine.

    area: injector, on total pressure at the tap [m2]. feed_area [m2] ends at the tap's static pressure, or at its total
    one (feed_to_total). head: liquid surface above the tap [m]; lift: tap above the outlet [m]. density: of pressure
    [Pa abs] in kg/m3. friction: share of the feed loss that falls with Reynolds number as Re**-0.25; feed_re: where the
    area holds. gauge_error: true minus indicated tank pressure [Pa].
    """

    area: float
    tap_area: float
    feed_area: float | None
    head: float
    lift: float
    density: Callable[[float], float]
    mu: float
    gauge_error: float = 0.0
    friction: float = 0.0
    feed_re: float = 1.0
    feed_bore: float = 0.04
    feed_to_total: bool = False

    def feed_resistance(self, m_dot: float) -> float:
        """1/E**2 of the feed line at this flow [1/m4]."""
        if self.feed_area is None:
            return 0.0
        full = 1 / self.feed_area**2
        if self.friction == 0:
            return full
        re = 4 * m_dot / (pi * self.mu * self.feed_bore)
        return float(full * (1 - self.friction + self.friction * (self.feed_re / re) ** 0.25))

    def manifold_static(self, m_dot: float, p_chamber: float) -> float:
        """Static pressure at the tap [Pa abs]."""
        static = p_chamber
        for _ in range(3):  # the density is that of the manifold
            rho = self.density(static)
            loss = m_dot**2 / (2 * rho) * (1 / self.area**2 - 1 / self.tap_area**2)
            static = p_chamber + loss - rho * GRAVITY * self.lift
        return static

    def tank(self, m_dot: float, p_chamber: float) -> float:
        """Tank pressure [Pa abs] that sends this flow into that chamber."""
        static = self.manifold_static(m_dot, p_chamber)
        rho = self.density(static)
        loss = self.feed_resistance(m_dot) + (self.tap_area**-2 if self.feed_to_total else 0.0)
        return static + m_dot**2 / (2 * rho) * loss - rho * GRAVITY * self.head

    def flow(self, p_tank: float, p_chamber: float) -> float:
        """Flow [kg/s] from this tank pressure [Pa abs] into that chamber; 0 when it does not reach."""
        if self.tank(1e-9, p_chamber) >= p_tank:
            return 0.0
        high = 2.0 * self.area * sqrt(2 * self.density(p_tank) * p_tank)
        return float(brentq(lambda m: self.tank(m, p_chamber) - p_tank, 1e-9, high, xtol=1e-12, rtol=1e-14))


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueEngine:
    """The whole engine. c_star: of O/F [m/s], efficiency included; area_throat: discharge included [m2]."""

    sides: Mapping[str, TrueSide]
    c_star: Callable[[float], float]
    area_throat: float
    p_ambient: float

    def tanks_for(self, *, p_chamber: float, of_ratio: float) -> dict[str, float]:
        """True flowing tank pressures [Pa gauge] that this chamber pressure [Pa abs] and O/F need."""
        total = p_chamber * self.area_throat / self.c_star(of_ratio)
        flows = {"ox": total * of_ratio / (1 + of_ratio), "fuel": total / (1 + of_ratio)}
        return {name: side.tank(flows[name], p_chamber) - self.p_ambient for name, side in self.sides.items()}

    def chamber_from(self, tanks: Mapping[str, float]) -> dict[str, float]:
        """What comes when the stand's gauges show these tank pressures [Pa gauge]: p_chamber, of_ratio, flows."""
        true = {name: tanks[name] + self.p_ambient + side.gauge_error for name, side in self.sides.items()}

        def excess(p_chamber: float) -> float:
            ox, fuel = (self.sides[name].flow(true[name], p_chamber) for name in ("ox", "fuel"))
            if fuel == 0 or ox == 0:
                return p_chamber * self.area_throat
            return p_chamber * self.area_throat - self.c_star(ox / fuel) * (ox + fuel)

        p_chamber = float(brentq(excess, self.p_ambient, min(true.values()), xtol=1e-4, rtol=1e-13))
        ox, fuel = (self.sides[name].flow(true[name], p_chamber) for name in ("ox", "fuel"))
        return {"p_chamber": p_chamber, "of_ratio": ox / fuel, "m_dot.ox": ox, "m_dot.fuel": fuel}


def c_star_between(of_ratio: tuple[float, ...], c_star: tuple[float, ...]) -> Callable[[float], float]:
    """c* [m/s] on straight lines between the stated O/F."""
    if len(of_ratio) <= 1:
        return lambda _: c_star[0]
    return lambda ratio: float(np.interp(ratio, of_ratio, c_star))
