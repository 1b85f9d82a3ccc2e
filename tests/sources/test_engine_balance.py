"""The engine balance with constant characteristic velocity, whose answers are closed forms or plain root-finds.

Two sides, each tank, line, injector, chamber: m_dot = sqrt((p_tank - p_chamber)/R), R = sum of 1/(2 rho E^2), and
p_chamber A_t = c* m_dot. The values were worked out apart from this code (kinds: identity; E-18 and E-24 computed by a
root-find). All pressures absolute.
"""

from dataclasses import dataclass, replace
from math import log, pi, sqrt

import numpy as np
import pytest

from headrace.chain.density import FixedDensity
from headrace.chain.engine import Balance, Chamber, HotCircuit, HotFeed, HotSide, State
from headrace.physics.combustion.table import CStarTable
from headrace.uncertainty.errors_map import Errors

RHO = {"ox": 1141.0, "fuel": 855.6}
LINE = {"ox": 6.0e-5, "fuel": 5.0e-5}
INJECTOR = {"ox": 2.0e-5, "fuel": 1.8e-5}
C_STAR, AREA_THROAT = 1600.0, 1.0e-3
EXACT = Errors(dict.fromkeys(
    ("throat.diameter", "throat.discharge", "c_star.table", "c_star.efficiency", "ox.step", "fuel.step"), 0.0
))  # fmt: skip


def side(name: str) -> HotSide:
    circuit = HotCircuit(id=name, key=name, ln_re=11.0, ln_factor=0.0, sources=(f"{name}.step",), film=False)
    feed = HotFeed(
        area=LINE[name], source=None, friction=0.0, re_per=1.0, re_stated=1.0, head=0.0, head_source=None
    )
    return HotSide(
        id=name, density=FixedDensity(rho=RHO[name]), temp=290.0, temp_source=None, rho_source=None, mu=1e-3,
        circuits=(circuit,), feed=feed, p_guess=3e6,
    )  # fmt: skip


BALANCE = Balance(
    sides=(side("ox"), side("fuel")),
    chamber=Chamber(
        d_throat=sqrt(4 * AREA_THROAT / pi), c_throat=1.0, efficiency=1.0, film_counts=True,
        table=CStarTable(of_ratio=(1.3,), p_chamber=(2e6,), c_star=((C_STAR,),)),
    ),
    iterations=12, p_start=2e6, m_start=(1.0, 0.7),
)  # fmt: skip


def state(injector: dict[str, float] | None = None, balance: Balance = BALANCE) -> State:
    areas = injector or INJECTOR
    return balance.state(EXACT, {name: np.atleast_1d(log(area)) for name, area in areas.items()})


@dataclass(frozen=True)
class Point:
    """One answer of the balance forwards: p_chamber [Pa], both flows [kg/s]."""

    p: float
    ox: float
    fuel: float

    @property
    def of_ratio(self) -> float:
        return self.ox / self.fuel


def forward(ox: float, fuel: float, **other: object) -> Point:
    """Tank pressures [Pa] to chamber pressure and flows."""
    at = state(**other)  # type: ignore[arg-type]  # the two arguments of `state`
    tanks = (np.atleast_1d(ox), np.atleast_1d(fuel))
    rho = at.rho(tanks)
    p, flows = at.forward(at.push(tanks, rho), rho)
    return Point(float(p[0]), float(flows[0][0]), float(flows[1][0]))


@pytest.mark.check("E-16")
def test_equal_tanks() -> None:
    point = forward(4e6, 4e6)
    assert point.p == pytest.approx(2.80760393e6, rel=1e-8)
    assert point.of_ratio == pytest.approx(1.29374451, rel=1e-8)
    assert (point.ox, point.fuel) == pytest.approx((0.989735933, 0.765016525), rel=1e-8)


@pytest.mark.check("E-17")
def test_where_the_pressure_goes() -> None:
    point, at = forward(4e6, 4e6), state()
    drops = [
        float(one.drop(np.atleast_1d(m), np.atleast_1d(RHO[name]))[0])
        for one, name, m in zip(at.sides, RHO, (point.ox, point.fuel), strict=True)
    ]
    assert drops == pytest.approx([1.07315646e6, 1.05559142e6], rel=1e-8)
    assert [4e6 - point.p - drop for drop in drops] == pytest.approx([0.11923961e6, 0.13680465e6], rel=1e-7)
    assert [drop / point.p for drop in drops] == pytest.approx([0.382232, 0.375976], abs=5e-7)


@pytest.mark.check("E-18")
def test_unequal_tanks() -> None:
    point = forward(4.2e6, 3.8e6)
    assert point.p == pytest.approx(2.81691796e6, rel=1e-7)
    assert (point.ox, point.fuel) == pytest.approx((1.06594069, 0.694633031), rel=1e-7)
    assert point.of_ratio == pytest.approx(1.53453787, rel=1e-7)


@pytest.mark.check("E-19")
def test_set_points() -> None:
    p, flows, tanks = state().backward(p_chamber=2.5e6, m_dot=None, ratio=1.3)
    assert float(p[0]) == 2.5e6
    assert [float(m[0]) for m in flows] == pytest.approx([0.883152174, 0.679347826], rel=1e-8)
    assert [float(tank[0]) for tank in tanks] == pytest.approx([3.449408124e6, 3.440293171e6], rel=1e-8)


@pytest.mark.check("E-19")
def test_set_points_by_total_flow() -> None:
    p, _, tanks = state().backward(p_chamber=None, m_dot=1.5625, ratio=1.3)
    assert float(p[0]) == pytest.approx(2.5e6, rel=1e-12)
    assert [float(tank[0]) for tank in tanks] == pytest.approx([3.449408124e6, 3.440293171e6], rel=1e-8)


@pytest.mark.check("E-20")
def test_trim_orifice_in_the_fuel_line() -> None:
    trim = 4.09547994e-5
    trimmed = side("fuel")
    line = (LINE["fuel"] ** -2 + trim**-2) ** -0.5
    trimmed = replace(trimmed, feed=replace(trimmed.feed, area=line))
    point = forward(4e6, 4e6, balance=replace(BALANCE, sides=(BALANCE.sides[0], trimmed)))
    assert point.of_ratio == pytest.approx(1.40, rel=1e-7)
    assert point.p == pytest.approx(2.76395029e6, rel=1e-7)


@pytest.mark.check("E-22")
def test_gain_of_the_mixture_ratio() -> None:
    by = 1e-5
    low, high = (forward(4e6 * (1 + one), 4e6) for one in (-by, by))
    gained = log(high.of_ratio / low.of_ratio)
    drops = {"ox": (4e6 * (1 - by) - low.p, 4e6 * (1 + by) - high.p), "fuel": (4e6 - low.p, 4e6 - high.p)}
    assert gained == pytest.approx(
        0.5 * (log(drops["ox"][1] / drops["ox"][0]) - log(drops["fuel"][1] / drops["fuel"][0])), rel=1e-8
    )
    # at equal tanks the move of the chamber cancels
    assert gained / log((1 + by) / (1 - by)) == pytest.approx(1.6772950, rel=1e-6)


@pytest.mark.check("E-23")
@pytest.mark.parametrize(("which", "gain"), [((1, 0), 0.4345059), ((0, 1), 0.3358514)])
def test_gain_of_chamber_pressure(which: tuple[int, int], gain: float) -> None:
    points = [forward(*(4e6 * (1 + by * one) for one in which)) for by in (-1e-4, 1e-4)]
    assert log(points[1].p / points[0].p) / (log(1 + 1e-4) - log(1 - 1e-4)) == pytest.approx(gain, rel=1e-6)


@pytest.mark.check("E-24")
def test_one_per_cent_on_the_oxidiser_injector() -> None:
    point = forward(4e6, 4e6, injector={**INJECTOR, "ox": 1.01 * INJECTOR["ox"]})
    assert point.p == pytest.approx(2.81411723e6, rel=1e-7)
    assert point.of_ratio == pytest.approx(1.30537072, rel=1e-7)
