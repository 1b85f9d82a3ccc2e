"""What to say of a point that the tanks do not hold: the limits that are passed, and the highest point that is not.

Works on the nominal answer only, so "about". Start at `out_of_reach`.
"""

from collections.abc import Callable, Mapping, Sequence
from math import floor, isfinite

from headrace.chain.engine import SIDES
from headrace.errors import Infeasible
from headrace.jobs.balance.margins import BAR, tank_limits
from headrace.notices import Notice, Severity
from headrace.records.given import Engine

Needs = Callable[[float], Mapping[str, float]]
"""The nominal answer ("tanks.<side>", "static.<side>" [Pa gauge], "required.m_dot.<side>") at a p_chamber [Pa abs]."""

STEPS = 20  # of a bisection; a millionth of the first bracket is far below what is printed
ROUND = 0.1 * BAR  # downwards, so that what is named is inside


def passed(engine: Engine, nominal: Mapping[str, float]) -> list[Notice]:
    """The *stops* of both tanks at a nominal answer; none for one that is not a number."""
    out: list[Notice] = []
    for name in SIDES:
        flowing, static = nominal[f"tanks.{name}"], nominal[f"static.{name}"]
        found = tank_limits(engine.sides[name], flowing=flowing, static=static, high=max(flowing, static))
        out.extend(notice for notice in found if notice.severity is Severity.STOP)
    return out


def highest(engine: Engine, needs: Needs, *, p_chamber: float) -> float | None:
    """The highest chamber pressure below p_chamber whose tanks stay within relief and rating, rounded down [Pa abs].

    None when even a chamber that barely fires passes a limit.
    """

    def holds(p: float) -> bool:
        nominal = needs(p)
        return all(isfinite(nominal[f"static.{name}"]) for name in SIDES) and not passed(engine, nominal)

    low, high = 2 * engine.ambient.value, p_chamber
    if low >= high or not holds(low):
        return None
    for _ in range(STEPS):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return floor(low / ROUND) * ROUND


def out_of_reach(
    engine: Engine, stops: Sequence[Notice], needs: Needs, *, p_chamber: float, of_ratio: float
) -> Infeasible:
    """Why a point is out of reach of its tanks, by which limit, and what is not.

    Args:
        stops: at least one, of `tank_limits`. p_chamber: wanted. [Pa abs] of_ratio: wanted. [-]
    """
    allowed = highest(engine, needs, p_chamber=p_chamber)
    if allowed is None:
        try_ = "larger elements or less feed loss on this side, or a tank for more pressure"
    else:
        m_dot = sum(needs(allowed)[f"required.m_dot.{name}"] for name in SIDES)
        try_ = (
            f"a lower chamber pressure: at O/F {of_ratio:g} these tanks allow up to about {allowed / BAR:.1f} bar(a), "
            f"a total flow of {m_dot:.3g} kg/s"
        )
    return Infeasible(
        stops[0].about,
        " ".join(dict.fromkeys(notice.text for notice in stops)),
        limit="; ".join(dict.fromkeys(notice.limit for notice in stops)),
        try_=try_,
    )
