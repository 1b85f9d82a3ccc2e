"""An engine of plain numbers: two incompressible propellants, an orifice for each line and injector, constant c*."""

from dataclasses import dataclass, replace
from functools import partial
from math import log, pi, sqrt

import numpy as np

from headrace.chain.density import FixedDensity
from headrace.chain.engine import Balance, Chamber, HotCircuit, HotFeed, HotSide, Pair, State
from headrace.physics.combustion.table import CStarTable
from headrace.uncertainty.errors_map import Errors

SOURCES = ("throat.diameter", "throat.discharge", "c_star.table", "c_star.efficiency")


@dataclass(frozen=True, kw_only=True)
class PlainSide:
    """rho [kg/m3]; injector and line: effective areas [m2], no line when None."""

    rho: float
    injector: float
    line: float | None


@dataclass(frozen=True, kw_only=True)
class Solved:
    """Chamber pressure [Pa abs], flows [kg/s] and injector drops [Pa] of ox and fuel."""

    p_chamber: float
    m_dot: tuple[float, float]
    drop: tuple[float, float]

    @property
    def of_ratio(self) -> float:
        return self.m_dot[0] / self.m_dot[1]


@dataclass(frozen=True, kw_only=True)
class PlainEngine:
    """c_star [m/s], area_throat [m2]; tank pressures absolute [Pa]."""

    ox: PlainSide
    fuel: PlainSide
    c_star: float
    area_throat: float
    iterations: int = 40

    def but(self, **changes: object) -> "PlainEngine":
        """The same with something changed: but(c_star=1500.0), but(ox={"rho": 1100.0})."""
        nested = {
            key: replace(getattr(self, key), **value) if isinstance(value, dict) else value
            for key, value in changes.items()
        }
        return replace(self, **nested)  # type: ignore[arg-type]  # the fields' own types

    def state(self) -> State:
        """The chain's balance of this engine, at nominal."""
        sides = [_side(name, getattr(self, name)) for name in ("ox", "fuel")]
        balance = Balance(
            sides=(sides[0], sides[1]),
            chamber=Chamber(
                d_throat=sqrt(4 * self.area_throat / pi),
                c_throat=1.0,
                table=CStarTable.constant(self.c_star),
                efficiency=1.0,
                film_counts=True,
            ),
            iterations=self.iterations,
            p_start=2e6,
            m_start=(1.0, 1.0),
        )
        water = {name: np.array([log(getattr(self, name).injector)]) for name in ("ox", "fuel")}
        return balance.state(Errors(dict.fromkeys(SOURCES, 0.0)), water)

    def forward(self, ox: float, fuel: float) -> Solved:
        """What these tank pressures give."""
        state = self.state()
        tanks = np.array([ox]), np.array([fuel])
        rho = state.rho(tanks)
        p, flows = state.forward(state.push(tanks, rho), rho)
        drops = [float(side.drop(m, r)[0]) for side, m, r in zip(state.sides, flows, rho, strict=True)]
        return Solved(p_chamber=float(p[0]), m_dot=_floats(flows), drop=(drops[0], drops[1]))

    def tanks_for(self, *, p_chamber: float, of_ratio: float) -> tuple[Solved, tuple[float, float]]:
        """Flows and tank pressures for a wanted point."""
        state = self.state()
        p, flows, tanks = state.backward(p_chamber=p_chamber, m_dot=None, ratio=of_ratio)
        rho = state.rho(tanks)
        drops = [float(side.drop(m, r)[0]) for side, m, r in zip(state.sides, flows, rho, strict=True)]
        return Solved(p_chamber=float(p[0]), m_dot=_floats(flows), drop=(drops[0], drops[1])), _floats(tanks)

    def resistance(self, side: int) -> float:
        """dp / m_dot**2 of line and injector [1/(kg m)]."""
        state = self.state()
        one = state.sides[side]
        return float(one.loss(np.ones(1))[0] / (2 * one.rho(1e6)[0]))


def _floats(pair: Pair) -> tuple[float, float]:
    return float(pair[0][0]), float(pair[1][0])


def _side(name: str, plain: PlainSide) -> HotSide:
    exact = partial(HotCircuit, ln_re=0.0, ln_factor=0.0, sources=(), film=False)
    return HotSide(
        id=name,
        density=FixedDensity(rho=plain.rho),
        temp=300.0,
        temp_source=None,
        rho_source=None,
        mu=1e-3,
        circuits=(exact(id=name, key=name),),
        feed=HotFeed(
            area=plain.line, source=None, friction=0.0, re_per=0.0, re_stated=1.0, head=0.0, head_source=None
        ),
        p_guess=3e6,
    )
