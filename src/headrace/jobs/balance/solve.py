"""The engine forwards and backwards: frozen near its nominal point, then answered. Start at `predict`, `setpoints`."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import product
from math import exp, isfinite

import numpy as np

from headrace.chain.density import FixedDensity
from headrace.chain.engine import SIDES, Backward, Balance, Chamber, Forward, HotSide, StandGauge
from headrace.chain.water import Reduced, WaterChain
from headrace.errors import Infeasible, OutOfDomain
from headrace.jobs.balance.answer import FAR_OFF, answer_of, parts_of
from headrace.jobs.balance.build import Builder, balance_of
from headrace.jobs.balance.exact import stated_exact
from headrace.jobs.balance.margins import choked, judge, off_gauge, one_c_star, tank_limits
from headrace.jobs.balance.reach import Needs, out_of_reach, passed
from headrace.notices import Notice, Severity, merged
from headrace.physics.combustion.table import OutsideTable
from headrace.physics.pressure import absolute
from headrace.records.answers import Answer
from headrace.records.given import Campaign, Engine
from headrace.uncertainty.errors_map import Errors, Model, evaluate

REFINE = 3
"""Passes in which density, Reynolds number and start values are brought to the nominal answer."""

WORDS = {"ox": "oxidiser", "fuel": "fuel"}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Point:
    """A nominal point to freeze the sides at."""

    p_tank: tuple[float, float]  # absolute
    p_chamber: float
    drop: tuple[float, float]
    m_dot: tuple[float, float]


def predict(campaign: Campaign, reduced: Reduced, *, tanks: Mapping[str, float]) -> Answer:
    """Chamber pressure, O/F and flows for indicated flowing tank pressures.

    Args:
        tanks: "ox" and "fuel", as the stand's gauges show them. [Pa gauge]
    Returns:
        The answer, stand gauges and barometer included in its doubt.
    Raises:
        Infeasible: no flow towards the chamber on a side, a liquid that boils, a circuit without an area.
        InputError: feed and injector do not meet at one tap on one basis, or there is no engine.
    """
    builder = Builder(campaign=campaign, reduced=reduced)
    engine = builder.engine
    pair = (tanks["ox"], tanks["fuel"])
    for name, p_gauge in zip(SIDES, pair, strict=True):
        if not p_gauge > 0:
            raise Infeasible(
                name, f"tank pressure {p_gauge / 1e5:.2f} bar(g) pushes nothing into the chamber"
            )
    ambient = engine.ambient.value
    p_tanks = _absolute(pair, ambient)
    point = _first_guess(engine, p_tanks)
    model, builder = _forward(campaign, reduced, pair, point)
    for _ in range(REFINE):
        nominal = _nominal(model, builder, model.water)
        if not all(isfinite(nominal[name]) for name in ("p_chamber", "m_dot.ox", "m_dot.fuel")):
            raise _unbalanced(model, builder)
        point = _point_of(nominal, _absolute(_behind(pair, model.gauges), ambient))
        model, builder = _forward(campaign, reduced, pair, point)
    nominal = _nominal(model, builder, model.water)
    if not all(isfinite(nominal[f"m_dot.{name}"]) and nominal[f"drop.{name}"] > 0 for name in SIDES):
        raise _unbalanced(model, builder)
    notices = merged(_judged(campaign, builder, nominal), _tanks_passed(builder, pair))
    return answer_of(campaign, builder, model, model.water, tuple(KINDS_FORWARD), nominal, notices)


def _unbalanced(model: Forward, builder: Builder) -> Infeasible:
    """Why a pair of tanks closes no balance: the lower one against what the other side alone would hold."""
    ox, fuel = model.tanks
    low, high = (0, 1) if ox < fuel else (1, 0)
    words = tuple(WORDS[name] for name in SIDES)
    shown = f"{model.tanks[low] / 1e5:.2f} bar(g)"
    if abs(ox - fuel) < 0.1 * max(ox, fuel):
        why = f"the tanks at {ox / 1e5:.2f} and {fuel / 1e5:.2f} bar(g) are both too low to hold a chamber pressure"
        return Infeasible("both sides", why, try_="higher pressures in both tanks")
    alone = _alone(model, builder, high)
    other = f"the {words[high]} tank at {model.tanks[high] / 1e5:.2f} bar(g)"
    if alone > _absolute(model.tanks, model.ambient)[low]:
        why = (
            f"the {words[low]} tank at {shown} cannot flow against about {alone / 1e5:.1f} bar(a) in the chamber, "
            f"which {other} holds by its own flow"
        )
    else:
        why = (
            f"the {words[low]} tank at {shown} is too low beside {other}: no mixture ratio closes the balance"
        )
    return Infeasible(SIDES[low], why, try_=f"a higher {words[low]} tank, or a lower {words[high]} tank")


def _alone(model: Forward, builder: Builder, side: int) -> float:
    """Chamber pressure that one side would hold by itself at the c* of the design O/F [Pa abs]; about."""
    zero = Errors(dict.fromkeys((one.name for one in builder.all_sources(model.water)), 0.0))
    ln_re = {circuit.key: circuit.ln_re for one in model.balance.sides for circuit in one.circuits}
    state = model.balance.state(zero, model.water.ln_areas(zero, ln_re))
    p_tank = tuple(np.array([p]) for p in _absolute(model.tanks, model.ambient))
    rho = state.rho((p_tank[0], p_tank[1]))
    push = state.push((p_tank[0], p_tank[1]), rho)
    of_ratio = np.array([builder.engine.design.of_ratio])
    flows = tuple(np.array([m]) for m in model.balance.m_start)
    low, high = 0.0, float(push[side][0])
    for _ in range(40):
        p = np.array([(low + high) / 2])
        flow = state.flows(p, (push[side], push[side]), rho, (flows[0], flows[1]))[side]
        holds = state.chamber.c_star(of_ratio=of_ratio, p_chamber=p) * flow / state.chamber.throat
        low, high = (float(p[0]), high) if holds[0] > p[0] else (low, float(p[0]))
    return low


def _tanks_passed(builder: Builder, tanks: tuple[float, float]) -> tuple[Notice, ...]:
    """What is said of tanks asked to stand above their relief or rating (*stop*), or off their gauge."""
    out: list[Notice] = []
    ambient = builder.engine.ambient.value
    for name, flowing in zip(SIDES, tanks, strict=True):
        side = builder.engine.sides[name]
        static = flowing + builder.rise(side)[0]
        off = builder.correction(side, flowing)  # a relief feels what is, not what is shown
        passed = tank_limits(side, flowing=flowing + off, static=static + off, high=flowing + off)
        out.extend(notice for notice in passed if notice.severity is Severity.STOP)
        out.extend(
            off_gauge(
                side, builder.dial(side), flowing=flowing, static=static, high=flowing, p_ambient=ambient
            )
        )
    return tuple(out)


def freeze_setpoints(
    campaign: Campaign, reduced: Reduced, *, p_chamber: float | None, m_dot: float | None, of_ratio: float
) -> tuple[Backward, Builder]:
    """The frozen chain behind `setpoints`, every decision of it taken at its own nominal answer.

    Its sources are `builder.all_sources(model.water)`. Arguments and what is raised: as `setpoints`.
    """
    builder = Builder(campaign=campaign, reduced=reduced)
    engine = builder.engine
    chamber = builder.chamber()
    if not of_ratio > 0:
        raise Infeasible("chamber", f"O/F {of_ratio:g} is not above 0")
    guess = p_chamber if p_chamber is not None else _p_of_flow(chamber, float(m_dot or 0.0), of_ratio)
    _inside_table(chamber, of_ratio, guess)
    if not guess > engine.ambient.value:
        raise Infeasible("chamber", f"{guess / 1e5:.2f} bar(a) is not above the ambient pressure")
    known = [
        limit for side in engine.sides.values() for limit in (side.tank.relief, side.tank.rating) if limit
    ]
    start = min(guess, engine.ambient.value + min(known, default=guess))
    point = _guess(start)
    model, builder = _backward(campaign, reduced, p_chamber, m_dot, of_ratio, (0.0, 0.0), point)
    if start < guess:  # above a tank's limit in the chamber itself: told before any property table ends
        needs = _needs(model, builder)
        if stops := passed(engine, needs(guess)):
            raise out_of_reach(engine, stops, needs, p_chamber=guess, of_ratio=of_ratio)
    for _ in range(REFINE):
        nominal = _nominal(model, builder, model.water)
        tanks = _behind((nominal["tanks.ox"], nominal["tanks.fuel"]), model.as_set.gauges)
        ambient = engine.ambient.value
        point = _Point(
            p_tank=_absolute(tanks, ambient),
            p_chamber=nominal["required.p_chamber"],
            drop=(nominal["required.drop.ox"], nominal["required.drop.fuel"]),
            m_dot=(nominal["required.m_dot.ox"], nominal["required.m_dot.fuel"]),
        )
        model, builder = _backward(campaign, reduced, p_chamber, m_dot, of_ratio, tanks, point)
    return model, builder


def setpoints(
    campaign: Campaign, reduced: Reduced, *, p_chamber: float | None, m_dot: float | None, of_ratio: float
) -> Answer:
    """Tank pressures for a wanted point, and what to expect when they are set on the stand's gauges.

    Args:
        p_chamber: wanted [Pa abs], or None with m_dot. m_dot: wanted total flow [kg/s], or None. of_ratio: wanted.
    Raises:
        Infeasible: a tank would pass its rating or relief, O/F lies outside the c* table, a liquid boils.
        InputError: as `predict`.
    """
    try:
        model, builder = freeze_setpoints(
            campaign, reduced, p_chamber=p_chamber, m_dot=m_dot, of_ratio=of_ratio
        )
    except OutOfDomain as fault:  # a wish so far off that a formula ends on the way
        wish = f"{m_dot:g} kg/s" if p_chamber is None else f"{p_chamber / 1e5:.4g} bar(a) in the chamber"
        why = f"no tank pressures close the balance for {wish} at O/F {of_ratio:g}"
        raise Infeasible("both sides", why) from fault
    engine = builder.engine
    nominal = _nominal(model, builder, model.water)
    if not all(isfinite(nominal[name]) for name in KINDS_BACKWARD):
        why = "no tank pressures close the balance for this point and bring it back when they are set"
        raise Infeasible("both sides", why, try_=FAR_OFF)
    seen = {
        name.removeprefix("as_set."): value for name, value in nominal.items() if name.startswith("as_set.")
    }
    notices = list(_judged(campaign, builder, seen))
    answer = answer_of(campaign, builder, model, model.water, tuple(KINDS_BACKWARD), nominal, tuple(notices))
    limits: list[Notice] = []
    ambient = engine.ambient.value
    gauges: list[Notice] = []
    for place, name in enumerate(SIDES):
        side, flowing, static = engine.sides[name], nominal[f"tanks.{name}"], nominal[f"static.{name}"]
        high = max(answer.values[f"{what}.{name}"].high for what in ("tanks", "static"))
        offs = (
            model.as_set.gauges[place].off,
            model.off_static[place],
        )  # a relief feels what is, not what is shown
        limits.extend(
            tank_limits(side, flowing=flowing + offs[0], static=static + offs[1], high=high + max(offs))
        )
        gauges.extend(
            off_gauge(side, builder.dial(side), flowing=flowing, static=static, high=high, p_ambient=ambient)
        )
    stops = [notice for notice in limits if notice.severity is Severity.STOP]
    if stops:
        p_wanted = nominal["required.p_chamber"]
        raise out_of_reach(engine, stops, _needs(model, builder), p_chamber=p_wanted, of_ratio=of_ratio)
    return _with_facts(builder, model, answer, merged(answer.notices, limits, gauges))


KINDS_FORWARD = (
    "p_chamber",
    "of_ratio",
    "m_dot.ox",
    "m_dot.fuel",
    "m_dot.total",
    "drop.ox",
    "drop.fuel",
    "manifold_lit.ox",
    "manifold_lit.fuel",
    "manifold_unlit.ox",
    "manifold_unlit.fuel",
)
KINDS_BACKWARD = (
    "tanks.ox",
    "tanks.fuel",
    "static.ox",
    "static.fuel",
    *(f"as_set.{name}" for name in KINDS_FORWARD),
)


def _absolute(tanks: tuple[float, float], ambient: float) -> tuple[float, float]:
    ox, fuel = (float(absolute(p_gauge=p, p_ambient=ambient)) for p in tanks)
    return ox, fuel


def _behind(shown: tuple[float, float], gauges: tuple[StandGauge, StandGauge]) -> tuple[float, float]:
    """What is behind the gauges, by their certificates [Pa gauge]."""
    return shown[0] + gauges[0].off, shown[1] + gauges[1].off


def _first_guess(engine: Engine, p_tank: tuple[float, float]) -> _Point:
    p = 0.65 * min(p_tank)
    if engine.design.p_chamber is not None:
        p = min(engine.design.p_chamber, 0.9 * min(p_tank))
    return _Point(
        p_tank=p_tank, p_chamber=p, drop=(0.6 * (p_tank[0] - p), 0.6 * (p_tank[1] - p)), m_dot=(1.0, 1.0)
    )


def _guess(p_chamber: float) -> _Point:
    """Somewhere near, for a first freezing at a chamber pressure."""
    return _Point(
        p_tank=(1.6 * p_chamber, 1.6 * p_chamber),
        p_chamber=p_chamber,
        drop=(0.25 * p_chamber, 0.25 * p_chamber),
        m_dot=(1.0, 1.0),
    )


def _needs(model: Backward, builder: Builder) -> Needs:
    """The nominal answer by chamber pressure, densities and every decision as frozen in a model."""
    ox, fuel = (
        replace(side, density=FixedDensity(rho=float(side.density(side.temp, side.p_guess))))
        for side in model.balance.sides
    )
    frozen = replace(model, balance=replace(model.balance, sides=(ox, fuel)), m_dot=None)
    return lambda p_chamber: _nominal(replace(frozen, p_chamber=p_chamber), builder, model.water)


def _point_of(nominal: Mapping[str, float], p_tank: tuple[float, float]) -> _Point:
    return _Point(
        p_tank=p_tank,
        p_chamber=nominal["p_chamber"],
        drop=(nominal["drop.ox"], nominal["drop.fuel"]),
        m_dot=(nominal["m_dot.ox"], nominal["m_dot.fuel"]),
    )


def _balance(builder: Builder, point: _Point) -> Balance:
    engine = builder.engine
    sides: list[HotSide] = [
        builder.side(engine.sides[name], p_tank=p_tank, dp=dp)
        for name, p_tank, dp in zip(SIDES, point.p_tank, point.drop, strict=True)
    ]
    return balance_of((sides[0], sides[1]), builder.chamber(), p_start=point.p_chamber, m_start=point.m_dot)


def _forward(
    campaign: Campaign, reduced: Reduced, tanks: tuple[float, float], point: _Point
) -> tuple[Forward, Builder]:
    builder = Builder(campaign=campaign, reduced=reduced)
    balance = _balance(builder, point)
    return _forward_of(builder, balance, tanks), builder


def _forward_of(builder: Builder, balance: Balance, tanks: tuple[float, float]) -> Forward:
    engine = builder.engine
    gauges: list[StandGauge] = [
        builder.gauge(engine.sides[name], p) for name, p in zip(SIDES, tanks, strict=True)
    ]
    return Forward(
        water=builder.reduced.water.only(builder.wanted_characteristics()),
        balance=balance,
        tanks=tanks,
        gauges=(gauges[0], gauges[1]),
        ambient=engine.ambient.value,
    )


def _backward(
    campaign: Campaign,
    reduced: Reduced,
    p_chamber: float | None,
    m_dot: float | None,
    of_ratio: float,
    tanks: tuple[float, float],
    point: _Point,
) -> tuple[Backward, Builder]:
    builder = Builder(campaign=campaign, reduced=reduced)
    balance = _balance(builder, point)
    engine = builder.engine
    shown = [builder.shown(engine.sides[name], p) for name, p in zip(SIDES, tanks, strict=True)]
    as_set = _forward_of(builder, balance, (shown[0], shown[1]))
    rises = [builder.rise(engine.sides[name]) for name in SIDES]
    still = [
        builder.correction(engine.sides[name], builder.shown(engine.sides[name], p + rise))
        for name, p, (rise, _) in zip(SIDES, tanks, rises, strict=True)
    ]
    model = Backward(
        water=as_set.water,
        balance=balance,
        p_chamber=p_chamber,
        m_dot=m_dot,
        of_ratio=of_ratio,
        as_set=as_set,
        rises=(rises[0], rises[1]),
        ambient=engine.ambient.value,
        off_static=(still[0], still[1]),
    )
    return model, builder


def _nominal(model: Model, builder: Builder, water: WaterChain) -> dict[str, float]:
    zero = dict.fromkeys((source.name for source in builder.all_sources(water)), 0.0)
    return {name: float(value[0]) for name, value in evaluate(model, Errors(zero), 1).items()}


def _p_of_flow(chamber: Chamber, m_dot: float, of_ratio: float) -> float:
    """Chamber pressure of a total flow, at nominal [Pa]."""
    names = ("throat.diameter", "throat.discharge", "c_star.table", "c_star.efficiency")
    state = chamber.state(Errors(dict.fromkeys(names, 0.0)))
    p = np.array([2e6])
    for _ in range(30):
        p = m_dot * state.c_star(of_ratio=np.array([of_ratio]), p_chamber=p) / state.throat
    return float(p[0])


def _inside_table(chamber: Chamber, of_ratio: float, p_chamber: float) -> None:
    for fact in chamber.table.outside(of_ratio=of_ratio, p_chamber=p_chamber):
        if fact.quantity == "of_ratio":
            raise Infeasible(
                "chamber",
                f"O/F {of_ratio:g} lies outside the c* table, {fact.low:g} to {fact.high:g}, in engine.toml",
            )


def _judged(campaign: Campaign, builder: Builder, nominal: Mapping[str, float]) -> tuple[Notice, ...]:
    engine = builder.engine
    table = builder.chamber().table
    out: list[Notice] = [
        Notice(
            code="c-star-outside",
            severity=Severity.DOUBT,
            text=_outside(fact),
            facts=(("value", fact.value), ("low", fact.low), ("high", fact.high)),
            limit="engine.toml, c_star",
            try_="extend the table",
            about="c*",
        )
        for fact in table.outside(of_ratio=nominal["of_ratio"], p_chamber=nominal["p_chamber"])
    ]
    if len(table.of_ratio) == 1:
        out.extend(one_c_star(of_ratio=nominal["of_ratio"], design=engine.design.of_ratio))
    out.extend(choked(p_chamber=nominal["p_chamber"], p_ambient=engine.ambient.value))
    for name in SIDES:
        out.extend(judge(campaign, engine.sides[name], nominal, p_ambient=engine.ambient.value))
    out.extend(stated_exact(engine))
    return tuple(out)


def _outside(fact: OutsideTable) -> str:
    if fact.quantity == "of_ratio":
        return f"O/F {fact.value:.4g} lies outside the c* table, {fact.low:.4g} to {fact.high:.4g}."
    value, low, high = fact.value / 1e5, fact.low / 1e5, fact.high / 1e5
    return f"Chamber pressure {value:.4g} bar(a) lies outside the c* table, {low:.4g} to {high:.4g} bar(a)."


def _with_facts(builder: Builder, model: Backward, answer: Answer, notices: tuple[Notice, ...]) -> Answer:
    """The answer with what the sheet prints beside it; expectations as set also under their plain names."""
    engine = builder.engine
    values = dict(answer.values)
    budgets = dict(answer.budgets)
    for name in KINDS_FORWARD:
        values[name], budgets[name] = values[f"as_set.{name}"], budgets[f"as_set.{name}"]
    facts = {"ambient": engine.ambient.value}
    corners = {signs: _corner(builder, model, signs) for signs in product((-1.0, 0.0, 1.0), repeat=2)}
    for what in ("p_chamber", "of_ratio"):
        facts[f"setting.{what}"] = _half_span(corner[what] for corner in corners.values())
        for place, name in enumerate(SIDES):
            alone = (corner[what] for signs, corner in corners.items() if signs[1 - place] == 0)
            facts[f"setting.{name}.{what}"] = _half_span(alone)
        facts[f"gauge.{what}"] = answer.parts[f"as_set.{what}"].get("stand", 0.0)
    for side in model.balance.sides:
        for circuit in side.circuits:
            facts[f"re_hot.{circuit.id}"] = exp(circuit.ln_re)
    for name in SIDES:
        facts[f"setting.{name}"] = engine.sides[name].tank.setting
        facts[f"injector_drop_ratio.{name}"] = values[f"drop.{name}"].value / values["p_chamber"].value
    return Answer(
        values=values,
        budgets=budgets,
        correlation=answer.correlation,
        parts={name: parts_of(lines) for name, lines in budgets.items()},
        facts=facts,
        notices=notices,
        draws=answer.draws,
        lost=answer.lost,
        assumptions=answer.assumptions,
    )


def _half_span(values: Iterable[float]) -> float:
    found = tuple(values)
    return (max(found) - min(found)) / 2


def _corner(builder: Builder, model: Backward, signs: tuple[float, ...]) -> dict[str, float]:
    """Chamber pressure and O/F with the tanks set to one corner of their setting tolerance."""
    engine = builder.engine
    tanks = tuple(
        p + sign * engine.sides[name].tank.setting
        for p, sign, name in zip(model.as_set.tanks, signs, SIDES, strict=True)
    )
    moved = Forward(
        water=model.water,
        balance=model.balance,
        tanks=(tanks[0], tanks[1]),
        gauges=model.as_set.gauges,
        ambient=model.ambient,
    )
    return _nominal(moved, builder, model.water)
