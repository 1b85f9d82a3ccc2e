"""Runs joined into one characteristic: weights, scatter, what may be carried, what stays visible and unused."""

from collections.abc import Callable
from dataclasses import replace
from math import exp, inf, log, sqrt
from types import SimpleNamespace

import numpy as np
import pytest

from headrace.chain.water import Reduced, SliceModel
from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.characteristic import _separated, fit
from headrace.jobs.reduce.context import Context, Prepared, SliceNominal
from headrace.jobs.reduce.methods import METHODS
from headrace.jobs.reduce.samples import at_zero
from headrace.jobs.reduce.weights import FLOOR, PRIOR_DOF, Weighed, run_weights, scatter, told_apart, weigh
from headrace.notices import Severity
from headrace.physics.fluids import fluid
from headrace.records.given import RunGiven, Stated, WindowGiven
from headrace.records.readings import Characteristic
from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.gum import gum
from support import hand_made as made

E = 2.31e-4
BAR = made.BAR
WARM = 325.0


def ox(reduced: Reduced) -> Characteristic:
    return reduced.characteristics["ox"]


def share_of(one: Characteristic, source: str) -> float:
    """What a source adds to the area at k = 1, relative."""
    (row,) = [line for line in one.budget if line.source == source]
    return abs(row.contribution) / one.area_eff.value


def stream(run: RunGiven) -> tuple[Prepared, Context]:
    context = Context(campaign=made.campaign(run), run=run)
    return METHODS[run.method](context, run.flows[0]), context


def weighed(
    name: str, value: float, variance: float, *, noise: float = 0.0, day: int = 12, line: str = "A"
) -> Weighed:
    run = made.metered(name, E, line=line, date=made.DAY.replace(day=day))
    one, _ = stream(run)
    return Weighed(prepared=one, within=np.ones(1), value=value, variance=variance, noise=noise)


def zeroed(run: RunGiven, shift: float) -> RunGiven:
    """The run with a tap whose zero creeps by `shift` while water flows."""
    assert run.trace is not None
    course = np.interp(made.TIME, made.ON, (0.0, shift))
    channels = run.trace.channels | {"PM-OX": run.trace.channels["PM-OX"] + course}
    return replace(run, trace=made.trace(channels))


# --- weights


def test_slices_weigh_by_what_is_their_own() -> None:
    shift = 3000.0
    one, context = stream(zeroed(made.metered("W01", E), shift))
    slices = gum(SliceModel(streams={one.name: one.frozen}), tuple(context.sources.values()))
    used = np.arange(len(one.slices)) > 0
    got = weigh(one, used, slices, context.sources)
    noise = np.array([s.noise for s in one.slices])
    tare = 0.5 * shift / sqrt(12) / np.array([s.dp for s in one.slices])
    weight = np.where(used, 1 / (tare**2 + noise**2 + FLOOR**2), 0.0)
    np.testing.assert_allclose(got.within, weight / weight.sum(), rtol=2e-3)
    assert got.within.sum() == pytest.approx(1.0)
    assert got.within[0] == 0.0
    assert got.value == pytest.approx(log(E), abs=1e-5)
    # one zero, one error for all slices: it does not average out
    window = context.sources["W01.ox.window"].u if "W01.ox.window" in context.sources else 0.0
    assert got.variance == pytest.approx(float(got.within @ tare) ** 2 + window**2, rel=5e-3)
    assert got.noise == pytest.approx(float(np.sum((got.within * noise) ** 2)))


def test_runs_weigh_by_their_unshared_variance() -> None:
    runs = [weighed("W01", 0.0, 4e-6), weighed("W02", 0.0, 1e-6, noise=2e-6)]
    variance = np.array([4e-6, 3e-6]) + 9e-6 + FLOOR**2
    np.testing.assert_allclose(run_weights(runs, 0.003), (1 / variance) / np.sum(1 / variance), rtol=1e-12)


def test_instruments_that_not_all_runs_share_take_weight() -> None:
    names = ["VM-A.c", "PG.class", "W01.PG.reading", "W01.ox.setup", "2026-03-12.ox.day", "PM-OX.class"]
    acts = {"W01": names[:5], "W02": [names[0], "2026-03-12.ox.day", names[5]]}
    parts = {"W01": [5e-3, 2e-2, 0.0, 3e-3, 3e-3, 0.0], "W02": [5e-3, 0.0, 0.0, 0.0, 3e-3, 1e-3]}
    runs = [
        replace(
            one,
            parts=np.array(parts[name]),
            prepared=replace(one.prepared, frozen=SimpleNamespace(names=tuple(acts[name]))),  # type: ignore[arg-type]
        )
        for name in acts
        for one in [weighed(name, 0.0, 1e-6)]
    ]
    told = told_apart(runs, names)
    assert [run.apart for run in told] == pytest.approx([4e-4, 1e-6], rel=1e-12)
    variance = 1e-6 + np.array([4e-4, 1e-6]) + 9e-6 + FLOOR**2
    np.testing.assert_allclose(run_weights(told, 0.003), (1 / variance) / np.sum(1 / variance), rtol=1e-12)


def test_the_area_is_the_weighted_mean_of_ln_e() -> None:
    areas = {"W01": E, "W02": 1.004 * E, "W03": 0.997 * E}
    one = ox(reduce(made.campaign(*(made.metered(name, area) for name, area in areas.items()))))
    assert set(one.weights) == set(areas)
    assert all(weight > 0 for weight in one.weights.values())
    assert sum(one.weights.values()) == pytest.approx(1.0)
    mean = exp(sum(one.weights[name] * log(area) for name, area in areas.items()))
    assert one.area_eff.value == pytest.approx(mean, rel=3e-6)
    assert sum(line.contribution**2 for line in one.budget) == pytest.approx(one.area_eff.u**2, rel=1e-9)


def test_a_run_with_a_creeping_zero_weighs_less_and_shared_parts_never_weigh() -> None:
    clean, creeping = made.metered("W01", E), zeroed(made.metered("W02", E), 9000.0)
    one = ox(reduce(made.campaign(clean, creeping)))
    assert one.weights["W02"] < 0.9 * one.weights["W01"]
    wide = made.campaign(clean, creeping)
    wide.bench.meters["FV-A"] = made.meter(
        "A", values={**made.meter("A").values, "c": Stated(value=made.C, u=0.1)}
    )  # type: ignore[index]  # a plain dict here
    assert ox(reduce(wide)).weights == pytest.approx(one.weights, rel=1e-6)


def test_the_weight_of_a_pair_knows_the_readings_of_its_short_run() -> None:
    long = replace(
        made.by_hand("L01", start=8 * BAR, end=6 * BAR, volume=0.06, time=9.5),
        method="long-minus-short",
        minus="S01",
    )
    short = made.by_hand("S01", start=8 * BAR, end=7.4 * BAR, volume=0.012, time=2.0)
    plain = made.by_hand("H01", start=8 * BAR, end=6 * BAR, volume=0.06, time=9.5)
    sharp = ox(reduce(made.campaign(long, short, plain)))
    total = replace(short.total, duration=Stated(value=2.0, u=0.5))  # type: ignore[type-var]  # it has one
    dull = ox(reduce(made.campaign(long, replace(short, total=total), plain)))
    assert dull.weights["L01"] < 0.7 * sharp.weights["L01"]


# --- how far runs scatter


@pytest.mark.parametrize("gap", [0.0, 0.0042])
def test_two_runs_that_agree_scatter_by_default(gap: float) -> None:
    runs = [weighed("W01", 0.0, 0.0), weighed("W02", gap, 0.0)]  # gap²/2 is all that one difference shows
    assert scatter(runs, 0.003) == (0.003, inf, "run to run, default")
    assert scatter(runs[:1], 0.003) == (0.003, inf, "run to run, default")


def test_two_runs_widen_the_default_when_they_differ_by_more_than_it_explains() -> None:
    u, dof, origin = scatter([weighed("W01", 0.0, 0.0), weighed("W02", 0.02, 0.0)], 0.003)
    assert u == pytest.approx(sqrt((4 * 0.003**2 + 0.02**2 / 2) / 5), rel=1e-12)
    assert dof == 5
    assert "from 2 runs" in origin
    explained = [weighed("W01", 0.0, 2e-4), weighed("W02", 0.02, 2e-4)]
    assert scatter(explained, 0.003) == (0.003, inf, "run to run, default")


def test_two_runs_that_contradict_each_other_both_lie_within_reach_of_the_interval() -> None:
    gap = log(78.5 / 74.9)
    reduced = reduce(made.campaign(made.metered("W01", E), made.metered("W02", E * exp(gap))))
    area = ox(reduced).area_eff
    assert area.low < E
    assert area.high > E * exp(gap)
    (notice,) = [one for one in reduced.notices if one.code == "run-against-run"]
    assert (notice.severity, notice.about) == (Severity.STOP, "circuit ox, run W01")
    assert dict(notice.facts)["u"] == pytest.approx(0.003 * sqrt(2), rel=0.02)


def test_a_run_is_not_spoiled_by_another_that_went_wrong() -> None:
    good = made.metered("W01", E)
    alone = reduce(made.campaign(good)).runs["W01"].readings
    beside = reduce(made.campaign(good, made.metered("W02", E * exp(0.2)))).runs["W01"].readings
    assert [one.u for one in beside] == pytest.approx([one.u for one in alone], rel=1e-9)


def test_a_weighed_run_that_contradicts_a_metered_one_is_told() -> None:
    good = made.metered("W01", E)
    other = made.weighed("W02", 1.06 * E)
    found = [one for one in reduce(made.campaign(good, other)).notices if one.code == "run-against-run"]
    assert [one.severity for one in found] == [Severity.STOP]
    assert not [
        one
        for one in reduce(made.campaign(good, made.weighed("W02", E))).notices
        if one.code == "run-against-run"
    ]


def test_three_runs_have_their_own_say_beside_the_default() -> None:
    values = (0.0, 0.006, -0.003)
    runs = [weighed(f"W0{k}", value, 0.0) for k, value in enumerate(values)]
    u, dof, origin = scatter(runs, 0.003)
    seen = sum((value - 0.001) ** 2 for value in values)
    assert u == pytest.approx(sqrt((4 * 0.003**2 + seen) / (4 + 2)), rel=1e-12)
    assert dof == PRIOR_DOF + 2 == 6
    assert "from 3 runs" in origin


def test_what_zeros_explain_is_taken_out_of_the_scatter() -> None:
    values, variance, noise = (0.0, 0.006, -0.003), 4e-6, 1e-6
    runs = [weighed(f"W0{k}", value, variance, noise=noise) for k, value in enumerate(values)]
    seen = sum((value - 0.001) ** 2 for value in values) - 2 * (variance + noise)
    assert scatter(runs, 0.003)[0] == pytest.approx(sqrt((4 * 0.003**2 + seen) / 6), rel=1e-12)
    explained = [weighed(f"W0{k}", value, 1e-3) for k, value in enumerate(values)]
    assert scatter(explained, 0.003)[0] == pytest.approx(0.003 * sqrt(4 / 6), rel=1e-12)


def test_only_runs_of_one_day_through_the_same_lines_are_compared() -> None:
    one_day = [weighed("W01", 0.0, 0.0), weighed("W02", 0.004, 0.0)]
    other = [
        weighed("W03", 0.5, 0.0, day=13),
        weighed("W04", 0.502, 0.0, day=13),
        weighed("W05", 0.9, 0.0, line="B"),
    ]
    u, dof, origin = scatter(one_day + other, 0.003)
    assert u == pytest.approx(sqrt((4 * 0.003**2 + 2 * 0.002**2 + 2 * 0.001**2) / 6), rel=1e-12)
    assert dof == 6
    assert "from 5 runs" in origin
    apart = [weighed(f"W0{k}", k / 10, 0.0, day=k) for k in range(1, 5)]
    assert scatter(apart, 0.003)[1] == inf


def test_the_scatter_becomes_each_run_s_set_up_with_its_degrees_of_freedom() -> None:
    areas = (E, 1.01 * E, 0.99 * E)
    reduced = reduce(made.campaign(*(made.metered(f"W0{k}", area) for k, area in enumerate(areas))))
    sources = {source.name: source for source in reduced.sources}
    setup = sources["W00.ox.setup"]
    assert (setup.dist, setup.dof) == ("t", 6)
    logs = np.log(areas)
    assert setup.u == pytest.approx(
        sqrt((4 * 0.003**2 + float(np.sum((logs - logs.mean()) ** 2))) / 6), rel=1e-3
    )
    assert share_of(ox(reduced), "W00.ox.setup") == pytest.approx(setup.u / 3, rel=1e-3)
    assert share_of(ox(reduced), "2026-03-12.ox.day") == pytest.approx(0.003, rel=1e-3)
    ends = 3 * (setup.u / 3) ** 4 / 6  # Welch and Satterthwaite: nothing else has finite degrees of freedom
    assert ox(reduced).area_eff.dof == pytest.approx((ox(reduced).area_eff.u / E) ** 4 / ends, rel=0.01)


def test_days_average_and_runs_of_one_day_do_not() -> None:
    runs = [made.metered(f"W0{k}", E, date=made.DAY.replace(day=10 + k % 2)) for k in range(4)]
    one = ox(reduce(made.campaign(*runs)))
    assert one.days == 2
    days = [line for line in one.budget if line.source.endswith(".day")]
    assert [abs(day.contribution) / one.area_eff.value for day in days] == pytest.approx(
        [0.0015, 0.0015], rel=1e-3
    )


# --- what Reynolds number may do


def re_of(dp: np.ndarray, temp: float) -> np.ndarray:
    """Ideal-velocity Reynolds number on the element's bore, 2 mm."""
    water = fluid("water")
    rho, mu = float(water.rho(temp, 5 * BAR)), float(water.mu(temp, 5 * BAR))
    return np.asarray(2e-3 * np.sqrt(2 * rho * np.maximum(dp, 1.0)) / mu)


def sloping(temp: float, slope: float) -> Callable[[np.ndarray], np.ndarray]:
    """E that goes with a power of Reynolds number, E at Re = 1e5."""
    return lambda dp: E * (re_of(dp, temp) / 1e5) ** slope


def swept(name: str, temp: float, slope: float, **changes: object) -> RunGiven:
    return made.metered(name, sloping(temp, slope), temp=temp, p=(8 * BAR, 2 * BAR), **changes)


def test_two_temperatures_separate_a_slope_and_it_is_carried() -> None:
    slope = 0.05
    runs = [swept("W01", made.WARM, slope), swept("W02", WARM, slope), swept("W03", WARM, slope)]
    reduced = reduce(made.campaign(*runs))
    one = ox(reduced)
    assert one.model == "slope"
    assert one.slope_seen == pytest.approx(slope, rel=0.01)
    assert one.slope_seen > 2 * one.u_slope
    zero = at_zero(reduced.water.names)
    for re in (6e4, 2e5):
        at = reduced.water.ln_areas(zero, {"ox": log(re)})["ox"][0]
        assert at == pytest.approx(log(E) + slope * log(re / 1e5), abs=3e-4)
    assert reduced.water.ln_areas(zero, {})["ox"][0] == pytest.approx(log(one.area_eff.value))
    # a set-up of the warm runs tilts the line, the same error in all runs does not
    names = reduced.water.names
    far = {"ox": log(one.re_ref) + 1.0}
    cold = Errors({**zero, "W01.ox.setup": 0.01})
    tilt = reduced.water.ln_areas(cold, far)["ox"][0] - reduced.water.ln_areas(zero, far)["ox"][0]
    level = reduced.water.ln_areas(cold, {})["ox"][0] - reduced.water.ln_areas(zero, {})["ox"][0]
    assert level == pytest.approx(0.01 * one.weights["W01"], rel=1e-6)
    assert tilt < level - 0.005
    every = {name: 0.01 for name in names if name.endswith(".setup")}
    moved = (
        reduced.water.ln_areas(Errors({**zero, **every}), far)["ox"][0]
        - reduced.water.ln_areas(zero, far)["ox"][0]
    )
    assert moved == pytest.approx(0.01, abs=1e-6)


def test_a_slope_within_its_doubt_is_not_carried() -> None:
    runs = [swept("W01", made.WARM, 0.003), swept("W02", WARM, 0.003), swept("W03", WARM, 0.003)]
    one = ox(reduce(made.campaign(*runs)))
    assert (one.model, one.choice) == ("constant", "decided")
    assert one.slope_seen == pytest.approx(0.003, rel=0.05)
    assert abs(one.slope_seen) < 2 * one.u_slope
    assert "within 2" in one.why


def test_runs_that_scatter_widen_the_doubt_of_a_slope() -> None:
    calm = [swept(f"W0{k}", temp, 0.05) for k, temp in enumerate((made.WARM, made.WARM, WARM, WARM))]
    wild = [
        made.metered(
            f"W0{k}", lambda dp, t=temp, f=factor: f * sloping(t, 0.05)(dp), temp=temp, p=(8 * BAR, 2 * BAR)
        )
        for k, (temp, factor) in enumerate(((made.WARM, 0.96), (made.WARM, 1.04), (WARM, 1.04), (WARM, 0.96)))
    ]
    steady, shaken = ox(reduce(made.campaign(*calm))), ox(reduce(made.campaign(*wild)))
    assert shaken.u_slope > 2 * steady.u_slope
    assert (steady.model, shaken.model) == ("slope", "constant")


def test_back_pressure_separates_too() -> None:
    """One temperature: with the outlet capped, K leaves the drop alone; 1/dp and ln Re stay bound together."""
    caps = {"W01": 0.0, "W02": 6.0, "W03": 3.0}
    runs = []
    for name, cap in caps.items():
        run = swept(name, made.WARM, 0.05)
        assert run.trace is not None
        over = np.where(made.FLOWING, cap * BAR, 0.0)
        channels = run.trace.channels | {"PM-OX": run.trace.channels["PM-OX"] + over, "P-BACK": over}
        runs.append(replace(run, trace=made.trace(channels), flows=(replace(run.flows[0], p_back="P-BACK"),)))
    one = ox(reduce(made.campaign(*runs)))
    assert one.model == "constant"
    warm = [replace(run, id=f"{run.id}w") for run in (swept("W04", WARM, 0.05), swept("W05", WARM, 0.05))]
    assert ox(reduce(made.campaign(*runs, *warm))).model == "slope"


def test_one_sweep_at_one_temperature_carries_a_constant_and_tells_the_slope() -> None:
    one = ox(reduce(made.campaign(swept("W01", made.WARM, 0.05), swept("W02", made.WARM, 0.05))))
    assert one.model == "constant"
    assert "ran together" in one.why
    assert one.slope_seen == pytest.approx(0.05, rel=0.01)
    assert one.u_slope < 0.02
    assert one.area_eff.value == pytest.approx(E * (one.re_ref / 1e5) ** 0.05, rel=1e-4)
    assert one.re_span[0] < one.re_ref < one.re_span[1]


def test_a_sweep_too_narrow_tells_no_slope() -> None:
    one = ox(reduce(made.campaign(made.metered("W01", E, p=(6 * BAR, 5.8 * BAR)))))
    assert (one.slope_seen, one.u_slope) == (0.0, inf)


# --- cavitation


def drilled(*runs: RunGiven) -> Reduced:
    return reduce(
        made.campaign(*runs, article=made.article(ox=made.circuit("ox", "T-OX", element="plain-sharp")))
    )


def falls(dp: np.ndarray) -> np.ndarray:
    """E that falls as the root of K where K is below 1.5."""
    k = (made.AMBIENT + np.maximum(dp, 1.0) - 2000.0) / np.maximum(dp, 1.0)
    return np.asarray(E * np.sqrt(np.minimum(k / 1.5, 1.0)))


def test_cavitating_slices_stay_visible_and_out_of_the_curve() -> None:
    whole = WindowGiven(start=3.3, end=8.7, reason="the sweep, cavitating part included")
    reduced = drilled(made.metered("W01", falls, p=(5 * BAR, 0.6 * BAR), window=whole))
    readings = reduced.runs["W01"].readings
    assert reduced.runs["W01"].windows["ox"].chosen == "typed: the sweep, cavitating part included"
    for one in readings:
        assert one.used is (one.cav > 1.5)
        assert one.why == ("" if one.used else "K below 1.5")
    assert 0 < sum(one.used for one in readings) < len(readings)
    assert min(one.area_eff for one in readings) < 0.91 * E
    assert ox(reduced).area_eff.value == pytest.approx(E, rel=2e-3)
    assert ox(reduced).cav_least == pytest.approx(min(one.cav for one in readings if one.used))
    assert share_of(ox(reduced), "2026-03-12.ox.day") == pytest.approx(0.003, rel=1e-3)
    assert not [line for line in ox(reduced).budget if line.source.endswith(".window") and line.share > 1e-2]
    assert ox(reduced).re_span[1] == pytest.approx(max(one.re for one in readings if one.used))


def test_a_sweep_that_leaves_cavitation_is_judged_by_its_clear_part() -> None:
    reduced = drilled(made.metered("W01", falls, p=(5 * BAR, 0.6 * BAR)))
    window = reduced.runs["W01"].windows["ox"]
    readings = reduced.runs["W01"].readings
    assert all(one.used is (one.cav > 1.5) for one in readings)
    assert all(window.start <= one.t <= window.end for one in readings if one.used)
    assert any(one.t < window.start for one in readings)
    assert any(one.used for one in readings)
    assert min(one.area_eff for one in readings) < 0.95 * E
    assert ox(reduced).area_eff.value == pytest.approx(E, rel=2e-3)
    assert [one.t for one in readings] == sorted(one.t for one in readings)


def test_a_run_that_cavitates_all_through_is_kept_when_there_is_no_other() -> None:
    reduced = drilled(made.metered("W01", E, p=(6 * BAR, 4 * BAR)))
    assert all(one.used for one in reduced.runs["W01"].readings)
    assert ox(reduced).cav_least < 1.3
    both = drilled(
        made.metered("W01", 0.9 * E, p=(6 * BAR, 4 * BAR)), made.metered("W02", E, p=(1.6 * BAR, 0.8 * BAR))
    )
    assert not any(one.used for one in both.runs["W01"].readings)
    assert ox(both).weights == {"W02": 1.0}
    assert ox(both).area_eff.value == pytest.approx(E, rel=1e-5)


def test_a_gas_cored_element_is_not_judged_by_k() -> None:
    reduced = reduce(made.campaign(made.metered("W01", E, p=(6 * BAR, 4 * BAR))))
    assert all(one.used for one in reduced.runs["W01"].readings)
    assert all(one.cav < 1.3 for one in reduced.runs["W01"].readings)


# --- two lines


def test_lines_that_differ_beyond_their_doubt_add_half_the_difference() -> None:
    gap = 0.05
    runs = (made.metered("W01", E), made.metered("W02", E * exp(gap), line="B"))
    reduced = reduce(made.campaign(*runs))
    one = ox(reduced)
    assert share_of(one, "ox.between_lines") == pytest.approx(gap / 2 / sqrt(3), rel=1e-3)
    assert one.area_eff.value == pytest.approx(E * exp(gap / 2), rel=1e-4)
    source = next(s for s in reduced.sources if s.name == "ox.between_lines")
    assert source.dist == "rectangular"
    assert "line-against-line" in {notice.code for notice in reduced.notices}


def test_the_scatter_of_each_line_is_its_own_in_their_difference() -> None:
    rng = np.random.default_rng(4)
    runs = []
    for name, line in (("W01", "A"), ("W02", "B")):
        run = made.metered(name, E, line=line)
        assert run.trace is not None
        wild = run.trace.channels["PM-OX"] * (1 + rng.normal(0, 0.15, made.TIME.size))
        runs.append(
            replace(run, trace=made.trace(run.trace.channels | {"PM-OX": np.where(made.FLOWING, wild, 0.0)}))
        )
    campaign = made.campaign(
        *runs, defaults=replace(made.campaign().defaults, run_to_run=1e-6, day_to_day=1e-6)
    )
    prepared, sources = [], {}
    for run in runs:
        context = Context(campaign=campaign, run=run, sources=sources)
        prepared.append(METHODS[run.method](context, run.flows[0]))
    slices = gum(SliceModel(streams={one.name: one.frozen for one in prepared}), tuple(sources.values()))
    joined = fit(campaign, prepared, slices, sources)
    noise = {source.name: source.u for source in joined.sources if source.name.endswith(".noise")}
    by_line = [noise["ox @ A.noise"], noise["ox @ B.noise"]]
    share = np.array(list(joined.weights.values()))
    assert noise["ox.noise"] == pytest.approx(float(np.hypot(*(share * by_line))), rel=1e-9)
    assert min(by_line) > 3e-3
    assert {part.noise for part in joined.by_line.values()} == {("ox @ A.noise",), ("ox @ B.noise",)}


def test_lines_that_agree_within_their_doubt_add_nothing() -> None:
    runs = (made.metered("W01", E), made.metered("W02", E * exp(0.005), line="B"))
    reduced = reduce(made.campaign(*runs))
    assert "ox.between_lines" not in {s.name for s in reduced.sources}


@pytest.mark.parametrize(("many", "peer"), [(5, True), (11, False)])
def test_a_line_that_hardly_enters_the_mean_is_a_witness(many: int, peer: bool) -> None:
    runs = [made.metered(f"W{k:02d}", E) for k in range(many)]
    reduced = reduce(made.campaign(*runs, made.metered("X01", E * exp(0.05), line="B")))
    assert (ox(reduced).weights["X01"] >= 0.1) is peer
    assert ("ox.between_lines" in {s.name for s in reduced.sources}) is peer
    assert "line-against-line" in {notice.code for notice in reduced.notices}


# --- left out


def test_an_excluded_run_stays_visible_with_its_reason() -> None:
    left = made.metered("W02", 1.2 * E, excluded="valve stuck")
    reduced = reduce(made.campaign(made.metered("W01", E), left))
    readings = reduced.runs["W02"].readings
    assert readings
    assert not any(one.used for one in readings)
    assert {one.why for one in readings} == {"run left out: valve stuck"}
    assert readings[0].area_eff == pytest.approx(1.2 * E, rel=1e-5)
    assert readings[0].u > 0
    assert reduced.runs["W02"].excluded == "valve stuck"
    assert ox(reduced).weights == {"W01": 1.0}
    alone = reduce(made.campaign(made.metered("W01", E)))
    assert ox(reduced).area_eff == ox(alone).area_eff


def test_circuits_and_states_have_their_own_characteristics() -> None:
    both = made.metered("W02", E)
    assert both.trace is not None
    channels = both.trace.channels | {
        "DP-B": both.trace.channels["DP-A"] * 0.25,
        "PM-FUEL": both.trace.channels["PM-OX"],
    }
    second = replace(both.flows[0], circuits=("fuel",), lines=("B",), p_tap="PM-FUEL")
    both = replace(both, trace=made.trace(channels), flows=(both.flows[0], second))
    reduced = reduce(made.campaign(made.metered("W01", E), both))
    assert set(reduced.characteristics) == {"ox", "ox (together)", "fuel (together)"}
    assert reduced.characteristics["fuel (together)"].area_eff.value == pytest.approx(E / 2, rel=1e-5)
    assert reduced.characteristics["ox"].weights == {"W01": 1.0}


def test_an_empty_campaign_reduces_to_nothing() -> None:
    reduced = reduce(made.campaign())
    assert not reduced.runs
    assert not reduced.characteristics


def test_cd_is_on_the_stated_area_else_on_all_bores() -> None:
    run = made.metered("W01", E)
    stated = ox(reduce(made.campaign(run)))
    assert stated.cd is not None
    assert stated.cd.value == pytest.approx(E / 3e-4, rel=1e-5)
    u_area = stated.area_eff.u / stated.area_eff.value
    assert stated.cd.u == pytest.approx(stated.cd.value * float(np.hypot(u_area, 0.01)), rel=1e-6)
    bores = made.circuit("ox", "T-OX", area=None, bore=Stated(value=2e-3, u=2e-5))
    counted = ox(reduce(made.campaign(run, article=made.article(ox=bores))))
    assert counted.cd is not None
    assert counted.cd.value == pytest.approx(E / (60 * np.pi / 4 * 4e-6), rel=1e-5)
    assert counted.cd.u == pytest.approx(counted.cd.value * float(np.hypot(u_area, 0.02)), rel=1e-6)
    (reading, *_) = reduce(made.campaign(run)).runs["W01"].readings
    assert reading.cd == pytest.approx(E / 3e-4, rel=1e-5)


def test_the_doubt_of_a_slope_between_two_points_is_that_of_their_difference() -> None:
    cold, warm = (made.metered(name, E, temp=temp, p=(6 * BAR, 5.98 * BAR)) for name, temp in
                  (("W01", made.WARM), ("W02", WARM)))  # fmt: skip
    one = ox(reduce(made.campaign(cold, warm)))
    apart = float(np.log(re_of(np.array(6 * BAR), WARM) / re_of(np.array(6 * BAR), made.WARM)))
    assert one.u_slope == pytest.approx(0.003 * sqrt(2) / apart, rel=2e-3)


@pytest.mark.parametrize(
    ("with_dp", "with_cav", "apart"), [(0.895, 0.0, True), (0.905, 0.0, False), (0.0, -0.905, False)]
)
def test_causes_are_apart_below_a_correlation_of_nine_tenths(
    with_dp: float, with_cav: float, apart: bool
) -> None:
    x, z = np.array([1.0, 1.0, -1.0, -1.0]), np.array([1.0, -1.0, 1.0, -1.0])

    def bound(r: float) -> np.ndarray:
        return r * x + sqrt(1 - r * r) * z

    slices = [
        SliceNominal(t=0.0, re=exp(11 + a), dp=1 / (3 + b), cav=3 + c, m_dot=1.0, noise=0.0, rows=(0, 1))
        for a, b, c in zip(x, bound(with_dp), bound(with_cav), strict=True)
    ]
    assert _separated(slices, np.ones(4, dtype=bool)) is apart
