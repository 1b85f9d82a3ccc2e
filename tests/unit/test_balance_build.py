"""The hot side frozen: steps, distances, taps, contraction, density, film, friction; and the solution."""

import re
from dataclasses import replace
from math import exp, log, pi, sqrt
from typing import Any

import numpy as np
import pytest

from headrace.chain.engine import HotSide
from headrace.chain.water import Reduced
from headrace.errors import Infeasible, InputError
from headrace.jobs.balance import predict, setpoints
from headrace.jobs.balance.build import Builder
from headrace.notices import Severity
from headrace.physics.contraction import ALLOYS, area_factor, u_area_factor
from headrace.physics.fluids import fluid
from headrace.records.answers import Answer
from headrace.records.given import CStarGiven, Engine, Feed, SideCircuit, Stated
from headrace.records.readings import ModelSeen
from support import hand_engine as hot
from support import hand_made as made

BAR, G = made.BAR, made.G
P_CHAMBER, OF = 20 * BAR, 2.2


def frozen(engine: Engine, name: str = "ox", *, dp: float = 5 * BAR, **more: Any) -> tuple[HotSide, Builder]:
    builder = hot.builder(hot.campaign(engine, **more))
    return builder.side(engine.sides[name], p_tank=35 * BAR, dp=dp), builder


def with_carried(**changes: Any) -> Reduced:
    """The water's result with what the ox characteristic says changed."""
    given = hot.reduced()
    changed = replace(given.characteristics["ox"], **changes)
    return replace(given, characteristics={**given.characteristics, "ox": changed})


def solved(engine: Engine | None = None, *, water: Reduced | None = None, **wanted: float | None) -> Answer:
    point = {"p_chamber": P_CHAMBER, "m_dot": None, "of_ratio": OF} | wanted
    return setpoints(hot.campaign(engine), water or hot.reduced(), **point)  # type: ignore[arg-type]  # by name


def ideal(engine: Engine | None = None, **areas: float) -> dict[str, float]:
    """Tank pressures and flows in closed form, one circuit a side, no friction; density by passes."""
    engine = engine or made.engine()
    area = {name: hot.reduced().characteristics[name].area_eff.value for name in ("ox", "fuel")} | areas
    throat = pi / 4 * engine.d_throat.value**2 * engine.c_throat.value
    total = P_CHAMBER * throat / (engine.c_star.c_star[0][0] * engine.c_star.efficiency.value)
    flows = {"ox": total * OF / (1 + OF), "fuel": total / (1 + OF)}
    out = {f"m_dot.{name}": flow for name, flow in flows.items()}
    for name, flow in flows.items():
        side = engine.sides[name]
        head = side.feed.head.value + made.RISE
        p = 30 * BAR
        for _ in range(9):
            rho = float(fluid(side.propellant).rho(side.temperature.value, p))
            feed = 0.0 if side.feed.area_eff is None else 1 / side.feed.area_eff.value**2
            p = P_CHAMBER + flow**2 / (2 * rho) * (1 / area[name] ** 2 + feed) - rho * G * head
        out[f"tanks.{name}"] = p - engine.ambient.value
        out[f"drop.{name}"] = flow**2 / (2 * rho * area[name] ** 2)
    return out


# --- the step from water to propellant

STEPS = {  # k = 1, by cavitation in water: clear, doubtful, cavitating; common practice
    "plain-rounded": (0.015, 0.03, 0.08),
    "plain-sharp": (0.02, 0.05, 0.15),
    "coaxial-recessed": (0.05, 0.08, 0.08),
    "pressure-swirl": (0.03, 0.03, 0.03),
    "jacket-and-holes": (0.10, 0.10, 0.10),
}
KS = (2.02, 1.98, 1.48)  # clear above 2, cavitating below 1.5


@pytest.mark.parametrize("element", STEPS)
def test_the_usual_step_goes_by_element_and_cavitation_in_water(element: str) -> None:
    for cav, u in zip(KS, STEPS[element], strict=True):
        engine = hot.with_circuit("ox")
        given = hot.campaign(engine, ox=made.circuit("ox", "T-OX", element=element))
        builder = hot.builder(given, with_carried(cav_least=cav))
        side = builder.side(engine.sides["ox"], p_tank=35 * BAR, dp=5 * BAR)
        assert builder.sources["ox.step"].u == u
        assert "ox.step" in side.circuits[0].sources
        told = [one.severity for one in builder.notices if one.code == "step-from-doubtful-water"]
        clear = cav > 2 or element == "pressure-swirl"
        stop = cav < 1.5 and element in ("plain-sharp", "coaxial-recessed")
        assert told == ([] if clear else [Severity.STOP if stop else Severity.DOUBT])
        assert any("step from water" in row[0] and "default" in row[2] for row in builder.assumptions)


def test_the_owner_s_limits_move_the_regimes() -> None:
    engine = hot.with_circuit("ox")
    given = hot.campaign(engine, ox=made.circuit("ox", "T-OX", element="plain-rounded"))
    given = replace(given, limits=replace(given.limits, cavitation_doubt=2.5, cavitation_stop=2.1))
    builder = hot.builder(given, with_carried(cav_least=2.02))
    builder.side(engine.sides["ox"], p_tank=35 * BAR, dp=5 * BAR)
    assert builder.sources["ox.step"].u == 0.08


def test_a_step_of_the_owner_s_own_takes_the_place_of_the_usual_one() -> None:
    _, builder = frozen(hot.with_circuit("ox", step=0.012))
    assert builder.sources["ox.step"].u == 0.012
    assert not [one for one in builder.notices if "step" in one.code]


def test_a_step_of_exactly_nought_is_told() -> None:
    side, builder = frozen(hot.with_circuit("ox", step=0.0))
    assert "ox.step" not in builder.sources
    assert not any("step" in name for name in side.circuits[0].sources)
    (notice,) = [one for one in builder.notices if one.code == "step-set-to-zero"]
    assert notice.severity is Severity.DOUBT
    answer = solved(hot.with_circuit("ox", step=0.0))
    assert "step-set-to-zero" in {one.code for one in answer.notices}
    assert not [line for line in answer.budgets["tanks.ox"] if line.source == "ox.step"]


def test_the_ratio_of_own_firings_moves_the_area_and_brings_its_own_doubt() -> None:
    ratio = Stated(value=1.04, u=0.0104, dist="normal", text="1.04 ± 1 % (k=1)")
    side, builder = frozen(hot.with_circuit("ox", step_ratio=ratio))
    assert side.circuits[0].ln_factor == pytest.approx(log(1.04), rel=1e-12)
    assert builder.sources["ox.step"].u == pytest.approx(0.01)
    answer = solved(hot.with_circuit("ox", step_ratio=ratio))
    water_area = hot.reduced().characteristics["ox"].area_eff.value
    want = ideal(ox=1.04 * water_area)
    assert answer.values["tanks.ox"].value == pytest.approx(want["tanks.ox"], rel=1e-9)


def shared(ox: float, fuel: float, name: str | None) -> Engine:
    one = made.with_side(made.engine(), "ox", circuits=(SideCircuit(id="ox", step=ox, shared_step=name),))
    return made.with_side(one, "fuel", circuits=(SideCircuit(id="fuel", step=fuel, shared_step=name),))


def test_a_shared_step_cancels_in_the_mixture_ratio_and_not_in_the_pressure() -> None:
    together, apart = solved(shared(0.03, 0.03, "same drill")), solved(shared(0.03, 0.03, None))
    assert together.parts["as_set.of_ratio"]["step"] < 0.2 * apart.parts["as_set.of_ratio"]["step"]
    assert together.parts["as_set.p_chamber"]["step"] > 1.2 * apart.parts["as_set.p_chamber"]["step"]
    steps = [line.source for line in together.budgets["tanks.ox"] if "step" in line.source]
    assert steps == ["step: same drill"]


@pytest.mark.parametrize(("ox", "fuel"), [(0.05, 0.01), (0.01, 0.05)])
def test_of_two_doubts_of_one_shared_step_the_larger_holds(ox: float, fuel: float) -> None:
    engine = shared(ox, fuel, "same drill")
    builder = hot.builder(hot.campaign(engine))
    for name in ("ox", "fuel"):
        builder.side(engine.sides[name], p_tank=35 * BAR, dp=5 * BAR)
    assert builder.sources["step: same drill"].u == 0.05


# --- Reynolds number


def re_hot(dp: float = 5 * BAR) -> float:
    lox = fluid("lox")
    rho, mu = float(lox.rho(90.5, 35 * BAR)), float(lox.mu(90.5, 35 * BAR))
    return 2e-3 * sqrt(2 * rho * dp) / mu


def test_distance_beyond_the_tested_reynolds_numbers_is_a_source_and_is_told() -> None:
    side, builder = frozen(made.engine())
    high = hot.reduced().characteristics["ox"].re_span[1]
    assert exp(side.circuits[0].ln_re) == pytest.approx(re_hot(), rel=1e-6)
    assert builder.sources["ox.re_distance"].u == pytest.approx(0.005 * log(re_hot() / high), rel=1e-6)
    (notice,) = [one for one in builder.notices if one.code == "re-outside"]
    assert notice.severity is Severity.INFO


@pytest.mark.parametrize(("span", "u"), [((1e4, 1e9), None), ((1e4, 1e5), "high"), ((4e6, 1e9), "low")])
def test_the_distance_counts_from_the_near_end_of_the_span(span: tuple[float, float], u: str | None) -> None:
    builder = hot.builder(water_of=with_carried(re_span=span))
    builder.side(made.engine().sides["ox"], p_tank=35 * BAR, dp=5 * BAR)
    expected = {None: None, "high": log(re_hot() / span[1]), "low": log(span[0] / re_hot())}[u]
    if expected is None:
        assert "ox.re_distance" not in builder.sources
        return
    assert builder.sources["ox.re_distance"].u == pytest.approx(0.005 * expected, rel=1e-6)


def test_a_distance_beyond_tenfold_is_a_doubt() -> None:
    for factor, severity in ((10.05, Severity.DOUBT), (9.95, Severity.INFO)):
        builder = hot.builder(water_of=with_carried(re_span=(1e3, re_hot() / factor)))
        builder.side(made.engine().sides["ox"], p_tank=35 * BAR, dp=5 * BAR)
        assert next(one for one in builder.notices if one.code == "re-outside").severity is severity


def seen(name: str, slope: float, *, re_ref: float = 1e5, rival: bool = False) -> ModelSeen:
    return ModelSeen(name=name, coefficient=slope, u=0.004, re_ref=re_ref, score=0.0, rival=rival)


def by_root(slope: float, re: float, re_ref: float = 1e5) -> float:
    """ln E over its value at re_ref: linear in Re^-1/2, of that slope in ln Re at re_ref."""
    return slope * 2 * (1 - sqrt(re_ref / re))


@pytest.mark.parametrize("slope", [0.02, -0.02])
def test_models_that_may_hold_as_well_are_a_gap_at_the_engine(slope: float) -> None:
    models = (
        seen("constant", 0.0),
        seen("slope", slope, rival=True),
        seen("inverse-root", slope, rival=True),
    )
    known = with_carried(models=models, choice="not separated", slope_seen=slope, re_ref=1e5)
    builder = hot.builder(water_of=known)
    side = builder.side(made.engine().sides["ox"], p_tank=35 * BAR, dp=5 * BAR)
    gap = 0.02 * log(re_hot() / 1e5)  # the wider of the two
    assert gap > 1.2 * abs(by_root(slope, re_hot()))
    assert builder.sources["ox.model"].u == pytest.approx(gap / sqrt(3), rel=1e-6)
    assert builder.sources["ox.model"].dist == "rectangular"
    assert "ox.model" in side.circuits[0].sources
    assert [one.code for one in builder.notices if "separated" in one.code or "model" in one.code] == [
        "slope-not-separated"
    ]


def test_models_that_are_told_apart_leave_no_gap() -> None:
    for model in ("constant", "slope"):
        models = (seen("constant", 0.0), seen("slope", 0.02), seen("inverse-root", 0.02))
        builder = hot.builder(water_of=with_carried(models=models, model=model))
        builder.side(made.engine().sides["ox"], p_tank=35 * BAR, dp=5 * BAR)
        assert "ox.model" not in builder.sources
        assert not {"slope-not-separated", "model-undecided"} & {one.code for one in builder.notices}


def test_a_slope_carried_beside_another_that_fits_as_well_counts_only_their_distance() -> None:
    models = (seen("constant", 0.0), seen("slope", 0.03), seen("inverse-root", 0.028, re_ref=9e4, rival=True))
    known = with_carried(models=models, model="slope", choice="undecided", re_ref=1e5)
    builder = hot.builder(water_of=known)
    builder.side(made.engine().sides["ox"], p_tank=35 * BAR, dp=5 * BAR)
    apart = by_root(0.028, re_hot(), 9e4) - 0.03 * log(re_hot() / 1e5)
    assert builder.sources["ox.model"].u == pytest.approx(abs(apart) / sqrt(3), rel=1e-6)
    (notice,) = [one for one in builder.notices if one.code == "model-undecided"]
    assert notice.severity is Severity.DOUBT
    assert "log slope is carried, inverse root fits about as well" in notice.text
    assert f"{100 * (exp(apart) - 1):+.1f} %" in notice.text


# --- which characteristic


def both_states() -> Reduced:
    given = hot.reduced()
    fits = {**given.water.fits, "ox (together)": given.water.fits["ox"]}
    kinds = {**given.characteristics, "ox (together)": replace(given.characteristics["ox"], state="together")}
    return replace(given, characteristics=kinds, water=replace(given.water, fits=fits))


@pytest.mark.parametrize(("asked", "key"), [(None, "ox"), ("alone", "ox"), ("together", "ox (together)")])
def test_the_characteristic_is_the_owner_s_choice_else_alone(asked: str | None, key: str) -> None:
    engine = hot.with_circuit("ox", step=0.02, characteristic=asked)
    builder = hot.builder(hot.campaign(engine), both_states())
    assert builder.side(engine.sides["ox"], p_tank=35 * BAR, dp=5 * BAR).circuits[0].key == key
    assert builder.wanted_characteristics() == (key,)


def test_together_serves_where_nothing_flowed_alone() -> None:
    given = both_states()
    only = {key: one for key, one in given.characteristics.items() if key != "ox"}
    builder = hot.builder(water_of=replace(given, characteristics=only))
    assert (
        builder.side(made.engine().sides["ox"], p_tank=35 * BAR, dp=5 * BAR).circuits[0].key
        == "ox (together)"
    )


def test_a_circuit_without_an_area_is_named() -> None:
    with pytest.raises(
        Infeasible, match="circuit ox has no effective area for together; characteristics found: ox"
    ):
        solved(hot.with_circuit("ox", step=0.02, characteristic="together"))
    with pytest.raises(Infeasible, match="found: none"):
        setpoints(replace(made.campaign(), engine=made.engine()), Reduced(
            runs={}, characteristics={}, water=replace(hot.reduced().water, fits={}), sources=(), notices=()
        ), p_chamber=P_CHAMBER, m_dot=None, of_ratio=OF)  # fmt: skip


def test_without_an_engine_there_is_no_balance() -> None:
    with pytest.raises(InputError, match=r"engine\.toml"):
        setpoints(hot.water(), hot.reduced(), p_chamber=P_CHAMBER, m_dot=None, of_ratio=OF)


# --- where feed and injector meet


@pytest.mark.parametrize(
    ("change", "key"), [({"tap": "T-FUEL"}, "ox.feed.to_tap"), ({"basis": "total"}, "ox.feed.basis")]
)
def test_feed_and_injector_that_do_not_meet_are_refused(change: dict[str, str], key: str) -> None:
    engine = made.engine()
    engine = made.with_side(engine, "ox", feed=replace(engine.sides["ox"].feed, **change))
    with pytest.raises(InputError) as caught:
        solved(engine)
    assert [problem.key for problem in caught.value.problems] == [key]


def test_a_total_basis_meets_a_total_basis() -> None:
    feed = replace(made.engine().sides["ox"].feed, tap="T-TOTAL", basis="total")
    engine = made.with_side(made.engine(), "ox", circuits=(SideCircuit(id="tot", step=0.02),), feed=feed)
    answer = solved(engine)
    area = hot.reduced().characteristics["tot"].area_eff.value
    assert answer.values["tanks.ox"].value == pytest.approx(ideal(engine, ox=area)["tanks.ox"], rel=1e-9)


# --- propellant and metal


def test_an_orifice_shrinks_in_the_cold() -> None:
    engine = hot.with_circuit("ox", step=0.02)
    steel = made.circuit("ox", "T-OX", alloy="austenitic-steel")
    side, builder = frozen(engine, ox=steel)
    factor = float(area_factor(alloy=ALLOYS["austenitic-steel"], temp=90.5, temp_ref=293.15))
    assert factor == pytest.approx(
        1 - 2 * 0.0027, abs=2e-4
    )  # a length: 0.28 % to 77 K, a little less to 90 K
    assert side.circuits[0].ln_factor == pytest.approx(log(factor), rel=1e-12)
    u = float(u_area_factor(alloy=ALLOYS["austenitic-steel"], temp=90.5, temp_ref=293.15))
    assert builder.sources["ox.contraction"].u == pytest.approx(u / factor, rel=1e-12)
    answer = setpoints(
        hot.campaign(engine, ox=steel), hot.reduced(), p_chamber=P_CHAMBER, m_dot=None, of_ratio=OF
    )
    water_area = hot.reduced().characteristics["ox"].area_eff.value
    assert answer.values["tanks.ox"].value == pytest.approx(
        ideal(ox=factor * water_area)["tanks.ox"], rel=1e-9
    )


def test_circuits_of_one_face_shrink_together() -> None:
    circuits = (SideCircuit(id="fuel", step=0.02), SideCircuit(id="film", step=0.02, film=True))
    engine = made.with_side(made.engine(), "fuel", circuits=circuits, temperature=Stated(value=260.0, u=1.0))
    steel = {name: made.circuit(name, "T-FUEL", alloy="austenitic-steel") for name in ("fuel", "film")}
    side, _ = frozen(engine, "fuel", **steel)
    assert [[name for name in one.sources if "contraction" in name] for one in side.circuits] == [
        ["fuel.contraction"]
    ] * 2


def test_a_measured_batch_scales_the_table() -> None:
    batch = Stated(value=1150.0, u=2.3, dist="normal")
    side, builder = frozen(made.with_side(made.engine(), "ox", density=batch))
    lox = fluid("lox")
    table = float(lox.rho(90.5, 35 * BAR)) * 1150.0 / float(lox.rho(90.5, 1.013e5))
    assert float(side.density(90.5, 35 * BAR)) == pytest.approx(table, rel=1e-12)
    assert builder.sources["ox.density"].u == pytest.approx(0.002)
    plain, without = frozen(made.engine())
    assert float(plain.density(90.5, 35 * BAR)) == pytest.approx(float(lox.rho(90.5, 35 * BAR)), rel=1e-12)
    assert without.sources["ox.density"].u == lox.u_rel("rho")


@pytest.mark.parametrize("temp", [92.0, 95.0])
def test_a_batch_measured_cold_serves_a_tank_that_would_boil_in_the_open(temp: float) -> None:
    """At 92 K liquid oxygen boils below 1.2 bar(a): its table is asked at the tank's pressure, not at ambient."""
    batch = Stated(value=1125.0, u=2.0)
    engine = made.with_side(made.engine(), "ox", temperature=Stated(value=temp, u=0.3), density=batch)
    assert np.isfinite(solved(engine).values["tanks.ox"].value)


def test_a_boiling_liquid_is_refused() -> None:
    """Liquid oxygen boils at 90.19 K under 1.013 bar(a) (NIST)."""
    side = replace(made.engine().sides["ox"], temperature=Stated(value=90.19, u=0.1))
    builder = hot.builder()
    for p_tank, boils in ((1.0132e5 * 0.99, True), (1.0132e5 * 1.01, False)):
        if boils:
            with pytest.raises(Infeasible, match="boils"):
                builder.side(side, p_tank=p_tank, dp=BAR)
        else:
            assert builder.side(side, p_tank=p_tank, dp=BAR).temp == 90.19


def test_a_temperature_outside_the_table_is_refused() -> None:
    engine = made.with_side(made.engine(), "fuel", temperature=Stated(value=450.0, u=1.0))
    with pytest.raises(Infeasible, match="450"):
        solved(engine)


# --- film


def with_film(counts: bool) -> Engine:
    circuits = (SideCircuit(id="fuel", step=0.02), SideCircuit(id="film", step=0.02, film=True))
    return replace(made.with_side(made.engine(), "fuel", circuits=circuits), film_counts=counts)


@pytest.mark.parametrize("counts", [True, False])
def test_film_counts_in_the_mixture_ratio_or_not_as_said(counts: bool) -> None:
    answer = solved(with_film(counts))
    areas = {name: hot.reduced().characteristics[name].area_eff.value for name in ("fuel", "film")}
    share = areas["film"] / (areas["fuel"] + areas["film"])
    flows = answer.values["m_dot.ox"].value, answer.values["m_dot.fuel"].value
    overall = OF if counts else OF * (1 - share)
    assert flows[0] / flows[1] == pytest.approx(overall, rel=1e-9)
    assert answer.values["of_ratio"].value == pytest.approx(OF, rel=1e-9)


def test_parallel_circuits_add_their_areas() -> None:
    answer = solved(with_film(True))
    both = sum(hot.reduced().characteristics[name].area_eff.value for name in ("fuel", "film"))
    assert answer.values[
        "area_hot.fuel" if "area_hot.fuel" in answer.values else "tanks.fuel"
    ].value == pytest.approx(ideal(fuel=both)["tanks.fuel"], rel=1e-9)


# --- feed


def test_pipe_friction_falls_with_the_quarter_power_of_reynolds_number() -> None:
    engine = made.engine()
    bore, stated, share = 0.03, 5e4, 0.4
    feed = replace(engine.sides["ox"].feed, friction=share, bore=bore, re_stated=stated)
    engine = made.with_side(engine, "ox", feed=feed)
    answer = solved(engine)
    mu = float(fluid("lox").mu(90.5, answer.values["tanks.ox"].value + 1.013e5))
    re = 4 * answer.values["m_dot.ox"].value / (pi * bore * mu)
    assert re > 5 * stated
    wider = 4e-4 / sqrt(1 - share + share * (re / stated) ** -0.25)
    plain = made.with_side(engine, "ox", feed=replace(feed, area_eff=Stated(value=wider)))
    assert answer.values["tanks.ox"].value == pytest.approx(ideal(plain)["tanks.ox"], rel=1e-7)
    # friction needs the bore and the Reynolds number at which the area was stated
    bare = made.with_side(engine, "ox", feed=replace(feed, bore=None))
    assert solved(bare).values["tanks.ox"].value == pytest.approx(ideal()["tanks.ox"], rel=1e-9)


def test_no_feed_loss_is_told() -> None:
    engine = made.with_side(made.engine(), "ox", feed=replace(made.engine().sides["ox"].feed, area_eff=None))
    answer = solved(engine)
    assert "no-feed-loss" in {one.code for one in answer.notices}
    assert answer.values["tanks.ox"].value == pytest.approx(ideal(engine)["tanks.ox"], rel=1e-9)


def test_the_doubt_of_the_feed_is_relative_to_its_area() -> None:
    _, builder = frozen(made.engine())
    assert builder.sources["ox.feed"].u == pytest.approx(4e-6 / 4e-4)
    assert builder.sources["ox.head"].u == 0.1


@pytest.mark.parametrize(("times", "known"), [(2.98, True), (3.02, False)])
def test_a_property_table_is_not_stretched_without_end(times: float, known: bool) -> None:
    side, high = made.engine().sides["ox"], fluid("lox").properties["rho"].p_max
    builder = hot.builder()
    if known:
        builder.side(side, p_tank=times * high, dp=5 * BAR)
        assert "property-outside" in {one.code for one in builder.notices}
        return
    with pytest.raises(Infeasible, match="are known"):
        builder.side(side, p_tank=times * high, dp=5 * BAR)


def test_heads_push() -> None:
    feed: Feed = replace(made.engine().sides["ox"].feed, head=Stated(value=2.5, u=0.1))
    engine = made.with_side(made.engine(), "ox", feed=feed)
    lifted, plain = solved(engine), solved()
    assert lifted.values["tanks.ox"].value == pytest.approx(ideal(engine)["tanks.ox"], rel=1e-9)
    lower = plain.values["tanks.ox"].value - lifted.values["tanks.ox"].value
    assert lower == pytest.approx(float(fluid("lox").rho(90.5, 30 * BAR)) * G, rel=4e-3)


# --- the solution


def test_set_points_are_the_closed_form() -> None:
    answer, want = solved(), ideal()
    for name in ("ox", "fuel"):
        assert answer.values[f"tanks.{name}"].value == pytest.approx(want[f"tanks.{name}"], rel=1e-9)
        assert answer.values[f"m_dot.{name}"].value == pytest.approx(want[f"m_dot.{name}"], rel=1e-9)
        assert answer.values[f"drop.{name}"].value == pytest.approx(want[f"drop.{name}"], rel=1e-6)
        lit = answer.values[f"manifold_lit.{name}"].value
        side = made.engine().sides[name]
        rho = float(fluid(side.propellant).rho(side.temperature.value, 30 * BAR))
        assert lit == pytest.approx(
            P_CHAMBER + want[f"drop.{name}"] - rho * G * made.RISE - 1.013e5, rel=2e-4
        )
        rise = answer.values[f"static.{name}"].value - answer.values[f"tanks.{name}"].value
        assert rise == pytest.approx(0.8 * BAR, rel=1e-9)
        assert answer.values[f"tanks.{name}"].kind == "gauge"


def test_what_is_set_comes_back() -> None:
    answer = solved()
    tanks = {name: answer.values[f"tanks.{name}"].value for name in ("ox", "fuel")}
    back = predict(hot.campaign(), hot.reduced(), tanks=tanks)
    assert back.values["p_chamber"].value == pytest.approx(P_CHAMBER, rel=1e-9)
    assert back.values["of_ratio"].value == pytest.approx(OF, rel=1e-9)
    assert back.values["p_chamber"].u == pytest.approx(answer.values["p_chamber"].u, rel=1e-6)
    assert back.correlation == pytest.approx(answer.correlation, abs=1e-6)


def test_by_total_flow_is_by_pressure() -> None:
    by_pressure = solved()
    by_flow = solved(p_chamber=None, m_dot=by_pressure.values["m_dot.total"].value)
    for name in ("tanks.ox", "tanks.fuel", "p_chamber", "of_ratio"):
        assert by_flow.values[name].value == pytest.approx(by_pressure.values[name].value, rel=1e-9)
    # a wanted pressure needs more flow where c* is low; a wanted flow does not
    c_star = {line.source: line for line in by_flow.budgets["tanks.ox"]}["c_star.efficiency"]
    assert c_star.contribution > 0
    pressed = {line.source: line for line in by_pressure.budgets["tanks.ox"]}["c_star.efficiency"]
    assert pressed.contribution < 0


def test_a_budget_adds_up_and_its_parts_are_its_groups() -> None:
    answer = solved()
    for path in ("tanks.ox", "as_set.p_chamber", "as_set.of_ratio", "static.fuel"):
        lines = answer.budgets[path]
        u = answer.values[path].u
        assert sum(line.contribution**2 for line in lines) == pytest.approx(u**2, rel=1e-9)
        assert sum(line.share for line in lines) == pytest.approx(1.0)
        assert sum(part**2 for part in answer.parts[path].values()) == pytest.approx(u**2, rel=1e-9)
    assert "stand" not in answer.parts["tanks.ox"]
    assert answer.parts["as_set.p_chamber"]["stand"] > 0


def test_the_stand_s_gauge_moves_what_comes_and_not_what_is_needed() -> None:
    answer = solved()
    u_gauge = 1e-3 / sqrt(3) * 60 * BAR
    (line,) = [one for one in answer.budgets["as_set.p_chamber"] if one.source == "SG-ox.class"]
    step = 0.01 * BAR
    tanks = {name: answer.values[f"tanks.{name}"].value for name in ("ox", "fuel")}
    up = (
        predict(hot.campaign(), hot.reduced(), tanks=tanks | {"ox": tanks["ox"] + step})
        .values["p_chamber"]
        .value
    )
    down = (
        predict(hot.campaign(), hot.reduced(), tanks=tanks | {"ox": tanks["ox"] - step})
        .values["p_chamber"]
        .value
    )
    assert abs(line.contribution) == pytest.approx(u_gauge * (up - down) / (2 * step), rel=1e-3)
    assert not [one for one in answer.budgets["tanks.ox"] if one.source.startswith("SG-")]
    assert answer.facts["gauge.p_chamber"] == pytest.approx(answer.parts["as_set.p_chamber"]["stand"])


def test_a_tank_may_be_set_by_a_gauge_of_the_bench() -> None:
    tank = replace(made.engine().sides["fuel"].tank, gauge="PG")
    bench = replace(made.instruments()["PG"], high=60 * BAR)
    given = hot.campaign(made.with_side(made.engine(), "fuel", tank=tank))
    given = replace(given, bench=made.bench(instruments={**made.instruments(), "PG": bench}))
    answer = setpoints(given, hot.reduced(), p_chamber=P_CHAMBER, m_dot=None, of_ratio=OF)
    names = {line.source for line in answer.budgets["as_set.p_chamber"]}
    assert {"PG.class", "fuel.PG.reading"} <= names
    builder = hot.builder(given)
    dial = builder.gauge(given.engine.sides["fuel"], 25 * BAR)  # type: ignore[union-attr]  # it has an engine
    assert dict(dial.terms) == {"PG.class": 1.0, "fuel.PG.reading": 1.0}
    assert builder.sources["fuel.PG.reading"].u == pytest.approx(0.2 * BAR / 4 / sqrt(3))
    assert builder.sources["PG.class"].u == pytest.approx(1e-2 / sqrt(3) * 60 * BAR)


def test_droop_and_lockup_are_the_static_set_point_s_own() -> None:
    answer = solved()
    lines = {line.source: line for line in answer.budgets["static.ox"]}
    assert lines["ox.droop"].contribution == pytest.approx(0.1 * BAR)
    assert lines["ox.lockup"].contribution == pytest.approx(0.05 * BAR)
    assert not {line.source for line in answer.budgets["tanks.ox"]} & {"ox.droop", "ox.lockup"}


def test_setting_tolerance_is_half_of_what_the_corners_span() -> None:
    answer = solved()
    tanks = {name: answer.values[f"tanks.{name}"].value for name in ("ox", "fuel")}

    def at(ox: float, fuel: float) -> Answer:
        moved = {"ox": tanks["ox"] + ox * BAR, "fuel": tanks["fuel"] + fuel * BAR}
        return predict(hot.campaign(), hot.reduced(), tanks=moved)

    high, low = at(0.2, 0.2).values["p_chamber"].value, at(-0.2, -0.2).values["p_chamber"].value
    assert answer.facts["setting.p_chamber"] == pytest.approx((high - low) / 2, rel=1e-4)
    rich, lean = at(0.2, -0.2).values["of_ratio"].value, at(-0.2, 0.2).values["of_ratio"].value
    assert answer.facts["setting.of_ratio"] == pytest.approx((rich - lean) / 2, rel=1e-3)


# --- what has no answer


def test_tanks_too_low_have_no_answer() -> None:
    for tanks in (
        {"ox": 0.0, "fuel": 20 * BAR},
        {"ox": -1 * BAR, "fuel": 20 * BAR},
        {"ox": 30 * BAR, "fuel": 4 * BAR},
    ):
        with pytest.raises(Infeasible):
            predict(hot.campaign(), hot.reduced(), tanks=tanks)


@pytest.mark.parametrize(
    ("of_ratio", "doubted"),
    [(2.2 * 0.79, True), (2.2 * 0.81, False), (2.2 * 1.19, False), (2.2 * 1.21, True)],
)
def test_one_value_of_c_star_serves_near_the_design_o_f_only(of_ratio: float, doubted: bool) -> None:
    told = {one.code: one for one in solved(of_ratio=of_ratio).notices}
    assert ("c-star-one-value" in told) is doubted
    if doubted:
        assert told["c-star-one-value"].severity is Severity.DOUBT
    given = CStarGiven(
        of_ratio=(1.5, 3.0), p_chamber=(20 * BAR,), c_star=((1785.0,), (1785.0,)), u_rel=0.005,
        efficiency=Stated(value=0.93), origin="invented",
    )  # fmt: skip
    table = solved(replace(made.engine(), c_star=given), of_ratio=of_ratio)
    assert "c-star-one-value" not in {one.code for one in table.notices}


@pytest.mark.parametrize(
    ("ox", "fuel", "told"),
    [
        (5.0, 24.0, r"the oxidiser tank at 5\.00 bar\(g\) cannot flow against about ([\d.]+) bar\(a\)"),
        (24.0, 5.0, r"the fuel tank at 5\.00 bar\(g\) cannot flow against about ([\d.]+) bar\(a\)"),
        (0.2, 0.2, r"both too low"),
    ],
)
def test_the_tank_that_is_too_low_is_named(ox: float, fuel: float, told: str) -> None:
    with pytest.raises(Infeasible) as caught:
        predict(hot.campaign(), hot.reduced(), tanks={"ox": ox * BAR, "fuel": fuel * BAR})
    found = re.search(told, caught.value.why)
    assert found is not None
    if not found.groups():
        return
    engine, name = made.engine(), "fuel" if ox < fuel else "ox"
    side, c_star = engine.sides[name], engine.c_star.c_star[0][0] * engine.c_star.efficiency.value
    area, throat = hot.reduced().characteristics[name].area_eff.value, pi / 4 * engine.d_throat.value**2
    assert side.feed.area_eff is not None
    loss = 1 / area**2 + 1 / side.feed.area_eff.value**2
    p_tank = 24 * BAR + engine.ambient.value
    rho = float(fluid(side.propellant).rho(side.temperature.value, p_tank))
    push = p_tank + rho * G * (side.feed.head.value + made.RISE)
    share = 2 * rho / loss * (c_star / (throat * engine.c_throat.value)) ** 2  # p**2 = share (push - p)
    assert float(found[1]) == pytest.approx((sqrt(share**2 + 4 * share * push) - share) / 2 / BAR, abs=0.06)


def test_a_chamber_that_stays_at_ambient_has_no_answer() -> None:
    with pytest.raises(Infeasible, match="ambient"):
        solved(p_chamber=1.0e5)


@pytest.mark.parametrize(("p_chamber", "chokes"), [(1.89 * 1.013e5, False), (1.91 * 1.013e5, True)])
def test_a_throat_that_may_not_choke_is_a_stop(p_chamber: float, chokes: bool) -> None:
    told = {one.code: one.severity for one in solved(p_chamber=p_chamber).notices}
    assert ("throat-not-choked" in told) is not chokes
    assert chokes or told["throat-not-choked"] is Severity.STOP


@pytest.mark.parametrize("of_ratio", [0.0, -1.0, float("nan")])
def test_a_mixture_ratio_that_is_none_is_refused(of_ratio: float) -> None:
    with pytest.raises(Infeasible, match="O/F"):
        solved(of_ratio=of_ratio)


def test_a_mixture_ratio_outside_the_table_is_refused_and_a_pressure_outside_is_told() -> None:
    table = CStarGiven(
        of_ratio=(2.0, 2.4), p_chamber=(15 * BAR, 19 * BAR), c_star=((1780.0, 1782.0), (1790.0, 1792.0)), u_rel=0.005,
        efficiency=Stated(value=0.93, u=0.02), origin="invented",
    )  # fmt: skip
    engine = replace(made.engine(), c_star=table)
    with pytest.raises(Infeasible, match=r"O/F 2\.5 lies outside the c\* table, 2 to 2\.4"):
        solved(engine, of_ratio=2.5)
    (told,) = [one for one in solved(engine).notices if one.code == "c-star-outside"]
    assert told.text == "Chamber pressure 20 bar(a) lies outside the c* table, 15 to 19 bar(a)."
    inside = replace(engine, c_star=replace(table, p_chamber=(15 * BAR, 25 * BAR)))
    assert "c-star-outside" not in {one.code for one in solved(inside).notices}


def test_what_the_engine_states_as_exact_is_told() -> None:
    engine = made.engine()
    assert "stated-as-exact" not in {one.code for one in solved(engine).notices}
    bare = replace(
        engine,
        d_throat=replace(engine.d_throat, u=0.0),
        c_star=replace(engine.c_star, u_rel=0.0, efficiency=replace(engine.c_star.efficiency, u=0.0)),
    )
    (told,) = [one for one in solved(bare).notices if one.code == "stated-as-exact"]
    assert told.severity is Severity.DOUBT
    assert re.findall(r"chamber\.\w+|c_star\.\w+", told.text) == [
        "chamber.d_throat",
        "c_star.doubt",
        "c_star.efficiency",
    ]


@pytest.mark.parametrize(
    ("d_throat", "told"),
    [
        (1.0e-3, "bring it back when they are set"),
        (3.0e-3, "no doubt can be told here: [0-9]+ of [0-9]+ draws"),
    ],
)
def test_a_point_of_which_no_doubt_can_be_told_is_no_answer(d_throat: float, told: str) -> None:
    """Drops of a few millipascals: at nominal they close, and no draw does."""
    engine = made.engine()
    tiny = replace(engine, d_throat=replace(engine.d_throat, value=d_throat))
    with pytest.raises(Infeasible, match=told):
        solved(tiny)
