"""What the owner's limits say of an answer: floors, margins, ratings; both sides of each limit."""

import re
from dataclasses import replace
from typing import Any

import pytest

from headrace.errors import Infeasible
from headrace.jobs.balance import predict, setpoints
from headrace.jobs.balance.margins import judge, off_gauge, tank_limits
from headrace.notices import Notice, Severity
from headrace.physics.fluids import fluid
from headrace.records.given import Tank
from support import hand_engine as hot
from support import hand_made as made

BAR = made.BAR
AMBIENT = 1.013e5
P_CHAMBER = 20 * BAR


def judged(
    drop: float, *, manifold: float | None = None, element: str = "plain-sharp", side: str = "ox", **more: Any
) -> dict[str, Notice]:
    """Notices by code; manifold: absolute."""
    given = hot.campaign(ox=made.circuit("ox", "T-OX", element=element))
    given = replace(given, limits=replace(given.limits, **more))
    lit = (P_CHAMBER + drop if manifold is None else manifold) - AMBIENT
    nominal = {"p_chamber": P_CHAMBER, f"drop.{side}": drop, f"manifold_lit.{side}": lit}
    found = judge(given, made.engine().sides[side], nominal, p_ambient=AMBIENT)
    return {one.code: one for one in found}


@pytest.mark.parametrize(("drop", "low"), [(2.98 * BAR, True), (3.02 * BAR, False)])
def test_the_floor_of_the_injector_drop_is_a_share_of_chamber_pressure(drop: float, low: bool) -> None:
    found = judged(drop)
    assert ("injector-drop-low" in found) is low
    if low:
        assert found["injector-drop-low"].severity is Severity.STOP
        assert dict(found["injector-drop-low"].facts) == {"drop": drop, "p_chamber": P_CHAMBER}
    assert ("injector-drop-low" in judged(drop, injector_drop=0.14)) is False
    assert ("injector-drop-low" in judged(drop, injector_drop=0.16)) is True


def test_the_manifold_keeps_its_distance_from_boiling() -> None:
    p_vap = float(fluid("lox").p_vap(90.5))
    near, clear = (judged(4 * BAR, manifold=p_vap + margin * BAR) for margin in (1.98, 2.02))
    assert near["manifold-near-boiling"].severity is Severity.STOP
    assert dict(near["manifold-near-boiling"].facts)["margin"] == pytest.approx(1.98 * BAR)
    assert "manifold-near-boiling" not in clear
    assert "manifold-near-boiling" in judged(4 * BAR, manifold=p_vap + 2.02 * BAR, vapour_margin=2.1e5)


@pytest.mark.parametrize(
    ("cav", "severity"), [(2.02, None), (1.98, Severity.DOUBT), (1.52, Severity.DOUBT), (1.48, Severity.STOP)]
)
def test_holes_that_cavitate_hot(cav: float, severity: Severity | None) -> None:
    drop = 4 * BAR
    manifold = float(fluid("lox").p_vap(90.5)) + cav * drop
    found = judged(drop, manifold=manifold)
    assert (found["cavitates-hot"].severity if "cavitates-hot" in found else None) is severity
    if severity:
        assert dict(found["cavitates-hot"].facts)["cav"] == pytest.approx(cav)
    assert "cavitates-hot" not in judged(drop, manifold=manifold, element="pressure-swirl")
    assert (
        judged(drop, manifold=manifold, cavitation_doubt=3.0, cavitation_stop=2.5)["cavitates-hot"].severity
        is Severity.STOP
    )


def limits(flowing: float, static: float, high: float, **tank: Any) -> dict[str, Notice]:
    given = Tank(
        rating=50 * BAR,
        relief=45 * BAR,
        gauge=None,
        droop=made.Stated(value=0),
        lockup=made.Stated(value=0),
        setting=0.5 * BAR,
    )
    side = replace(made.engine().sides["ox"], tank=replace(given, **tank))
    found = tank_limits(side, flowing=flowing * BAR, static=static * BAR, high=high * BAR)
    return {one.code: one for one in found}


def test_relief_and_rating_are_held_with_the_setting_tolerance() -> None:
    assert not limits(40.0, 44.4, 44.45)
    assert limits(40.0, 44.6, 44.6)["tank-relief-passed"].severity is Severity.STOP
    assert limits(44.6, 44.0, 44.6)["tank-relief-passed"].severity is Severity.STOP
    assert set(limits(40.0, 49.6, 49.6)) == {"tank-relief-passed", "tank-rating-passed"}
    over = limits(40.0, 46.5, 46.5)["tank-relief-passed"]
    assert dict(over.facts) == {"needed": 47 * BAR, "limit": 45 * BAR}
    assert "2.00 bar too much" in over.text


def test_an_interval_that_reaches_a_limit_is_a_doubt() -> None:
    assert limits(40.0, 41.0, 44.6)["tank-relief-near"].severity is Severity.DOUBT
    assert set(limits(40.0, 41.0, 49.6)) == {"tank-relief-near", "tank-rating-near"}
    assert not limits(40.0, 41.0, 44.4)


def test_a_limit_that_is_not_given_is_told() -> None:
    found = limits(40.0, 41.0, 42.0, rating=None)
    assert set(found) == {"tank-rating-not-given"}
    assert found["tank-rating-not-given"].severity is Severity.DOUBT
    assert set(limits(40.0, 41.0, 42.0, rating=None, relief=None)) == {
        "tank-rating-not-given",
        "tank-relief-not-given",
    }


def with_tank(side: str = "ox", **tank: Any) -> Any:
    engine = made.engine()
    return made.with_side(engine, side, tank=replace(engine.sides[side].tank, **tank))


def solved(engine: Any) -> Any:
    return setpoints(hot.campaign(engine), hot.reduced(), p_chamber=P_CHAMBER, m_dot=None, of_ratio=2.2)


def test_a_set_point_beyond_its_tank_is_no_answer_and_says_by_how_much() -> None:
    static = solved(made.engine()).values["static.ox"].value
    limit = static + 0.2 * BAR - 0.3 * BAR  # the crew's 0.2 bar on top of it
    with pytest.raises(Infeasible, match="ox tank") as caught:
        solved(with_tank(relief=limit))
    assert "0.30 bar too much" in str(caught.value)
    assert solved(with_tank(relief=static + 3 * BAR)).values["static.ox"].value == pytest.approx(static)


def test_both_tanks_beyond_their_limits_are_both_told() -> None:
    engine = made.with_side(
        with_tank(relief=20 * BAR), "fuel", tank=replace(made.engine().sides["fuel"].tank, rating=20 * BAR)
    )
    with pytest.raises(Infeasible, match="relief is 20") as caught:
        solved(engine)
    assert "The fuel tank" in str(caught.value)


def test_the_interval_of_the_static_set_point_counts_too() -> None:
    plain = solved(made.engine()).values
    static, high = plain["static.ox"], plain["tanks.ox"].high
    between = (max(static.value, high) + static.high) / 2 + 0.2 * BAR
    codes = {one.code for one in solved(with_tank(relief=between)).notices}
    assert high + 0.2 * BAR < between < static.high + 0.2 * BAR
    assert "tank-relief-near" in codes


def test_tanks_asked_to_stand_above_their_rating_are_a_stop_forwards_too() -> None:
    values = solved(made.engine()).values
    tanks = {name: values[f"tanks.{name}"].value for name in ("ox", "fuel")}
    rating = tanks["ox"] + 0.9 * BAR  # droop and lock-up 0.8 bar, setting 0.2 bar
    answer = predict(hot.campaign(with_tank(rating=rating)), hot.reduced(), tanks=tanks)
    assert [one.severity for one in answer.notices if one.code == "tank-rating-passed"] == [Severity.STOP]
    free = predict(hot.campaign(with_tank(rating=rating + 0.2 * BAR)), hot.reduced(), tanks=tanks)
    assert "tank-rating-passed" not in {one.code for one in free.notices}


def test_margins_of_an_answer_are_in_its_notices() -> None:
    given = hot.campaign()
    strict = replace(given, limits=replace(given.limits, injector_drop=0.6))
    answer = setpoints(strict, hot.reduced(), p_chamber=P_CHAMBER, m_dot=None, of_ratio=2.2)
    assert {one.about for one in answer.notices if one.code == "injector-drop-low"} == {"ox", "fuel"}


DIAL = made.instrument("PG-OX", "gauge", 40 * BAR)


@pytest.mark.parametrize(
    ("flowing", "static", "high", "severity"),
    [
        (39.0, 39.7, 39.9, None),
        (39.0, 39.9, 39.95, Severity.DOUBT),  # 0.2 bar of setting on top
        (39.0, 39.7, 40.1, Severity.DOUBT),
        (39.0, 40.1, 40.2, Severity.STOP),
        (40.1, 39.0, 40.2, Severity.STOP),
        (-0.1, 1.0, 1.1, Severity.STOP),
    ],
)
def test_a_set_point_stands_on_its_gauge(
    flowing: float, static: float, high: float, severity: Severity | None
) -> None:
    side = made.engine().sides["ox"]
    given = {"flowing": flowing * BAR, "static": static * BAR, "high": high * BAR, "p_ambient": AMBIENT}
    found = off_gauge(side, DIAL, **given)
    assert [one.severity for one in found] == ([] if severity is None else [severity])
    assert all("off the gauge: PG-OX shows 0 to 40 bar(g)" in one.text for one in found)
    assert off_gauge(side, None, **given) == ()
    absolute = replace(DIAL, measures="abs", low=AMBIENT, high=40 * BAR + AMBIENT)
    assert off_gauge(side, absolute, **given) == found


@pytest.mark.parametrize("way", ["forwards", "backwards"])
def test_a_gauge_too_small_for_its_tank_is_a_stop_both_ways(way: str) -> None:
    values = solved(made.engine()).values
    tanks = {name: values[f"tanks.{name}"].value for name in ("ox", "fuel")}
    seen = []
    for top in (values["static.ox"].value - 0.05 * BAR, values["static.ox"].high + 1 * BAR):
        engine = with_tank(gauge="PG-OX", rating=None, relief=None)
        engine = replace(engine, instruments={**engine.instruments, "PG-OX": replace(DIAL, high=top)})
        given = hot.campaign(engine)
        answer = predict(given, hot.reduced(), tanks=tanks) if way == "forwards" else solved(engine)
        assert "p_chamber" in answer.values
        seen.append([one.severity for one in answer.notices if one.code.startswith("tank-off-gauge")])
    assert seen == [[Severity.STOP], []]


def refused(engine: Any, **wanted: float | None) -> Infeasible:
    point = {"p_chamber": None, "m_dot": None, "of_ratio": 2.2} | wanted
    with pytest.raises(Infeasible) as caught:
        setpoints(hot.campaign(engine), hot.reduced(), **point)
    return caught.value


def test_a_point_out_of_reach_names_the_limit_and_the_highest_point_within_it() -> None:
    engine = with_tank(relief=28 * BAR)
    told = refused(engine, p_chamber=24 * BAR)
    assert told.limit == "relief of the ox tank, 28 bar(g), engine.toml"
    assert "with its doubt" in told.why
    found = re.search(r"up to about ([\d.]+) bar\(a\), a total flow of ([\d.]+) kg/s", told.try_)
    assert found is not None
    most, flow = float(found[1]) * BAR, float(found[2])
    answer = setpoints(hot.campaign(engine), hot.reduced(), p_chamber=most, m_dot=None, of_ratio=2.2)
    assert answer.values["m_dot.total"].value == pytest.approx(flow, rel=5e-3)
    assert 27.5 * BAR < answer.values["static.ox"].value + 0.2 * BAR <= 28 * BAR
    assert refused(engine, p_chamber=most + 0.3 * BAR).side == "ox tank"
    tight = refused(with_tank(relief=1 * BAR), p_chamber=20 * BAR)
    assert "larger elements" in tight.try_


@pytest.mark.parametrize("wanted", [{"m_dot": 500.0}, {"p_chamber": 1000 * BAR}])
def test_a_wish_far_beyond_every_table_is_held_against_the_tank(wanted: dict[str, float]) -> None:
    told = refused(with_tank(relief=36 * BAR), **wanted)
    assert re.search(
        r"ox tank would have to stand at \d{4,}\.\d\d bar\(g\).* its relief is 36\.00 bar\(g\)", told.why
    )
    assert "up to about" in told.try_


def test_without_any_limit_a_far_wish_is_still_told_in_words() -> None:
    engine = with_tank(relief=None, rating=None)
    fuel = replace(engine.sides["fuel"].tank, relief=None, rating=None)
    told = refused(made.with_side(engine, "fuel", tank=fuel), m_dot=5e4)
    assert re.search(r"\d bar\(a\)", told.why)
