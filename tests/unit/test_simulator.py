"""The invented bench and engine obey closed forms, and their instruments err by what their papers say."""

import datetime
from dataclasses import replace
from math import exp, pi, sqrt
from pathlib import Path
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest

from headrace.demo.simulator import bench, liquids, logger
from headrace.demo.simulator.engine import TrueEngine, TrueSide
from headrace.demo.simulator.instruments import AIR_LIFT, Device, Paper, Standard
from headrace.demo.simulator.said import Draws, Said
from support.mini import write_mini

WATER = bench.Water(rho=998.7, mu=1.08e-3, p_vap=1930.0)
ON = datetime.date(2026, 3, 12)


def supply(**changes: Any) -> bench.Supply:
    base = bench.Supply(id="A", level=0.3, section=1e9, area_valve=1e3, area_line=1e3)
    return replace(base, **changes)


def outlet(**changes: Any) -> bench.Outlet:
    base = bench.Outlet(
        id="ox", supplies=(0,), area=2.31e-4, tap_area=1.26e-3, tap_height=0.3, outlet_height=0.3
    )
    return replace(base, **changes)


def blowdown(air: bench.Air) -> bench.Signals:
    """Into vacuum, without line, level or valve: the case that has a closed form."""
    return bench.run(
        time=np.arange(0, 20.0, 0.02),
        air=air,
        supplies=[supply()],
        outlets=[outlet()],
        valve=bench.Valve(opens=0.0, closes=99.0, travel=1e-9),
        water=WATER,
        p_ambient=0.0,
    )


@pytest.mark.parametrize(
    ("exponent", "conductance", "n"),
    [(1.4, 0.0, 1.4), (1.0, 0.0, 1.0), (1.4, 1.5e5, 1.0)],
    ids=["adiabatic", "isothermal", "isothermal by heat"],
)
def test_blowdown_takes_the_time_of_the_closed_form(exponent: float, conductance: float, n: float) -> None:
    # p V^n constant and dV/dt = E sqrt(2 p / rho): identity, integrated by hand
    air = bench.Air(volume=0.3, p_abs=9e5, exponent=exponent, conductance=conductance)
    seen = blowdown(air)
    volume = air.volume + seen.spent[0] / WATER.rho
    half = n / 2 + 1
    swept = air.volume / half * ((volume / air.volume) ** half - 1)
    time = swept / (2.31e-4 * sqrt(2 * air.p_abs / WATER.rho))
    assert volume[-1] / volume[0] > 1.3
    assert time[20:] == pytest.approx(seen.time[20:], rel=1e-4)
    assert seen.p_air[-1] == pytest.approx(air.p_abs * (air.volume / volume[-1]) ** n, rel=1e-3)


def real_run(**changes: Any) -> bench.Signals:
    settings: dict[str, Any] = {
        "time": np.arange(0, 10, 0.01),
        "air": bench.Air(volume=0.85, p_abs=7e5, conductance=150.0),
        "supplies": [
            supply(
                level=1.9,
                section=0.283,
                area_valve=1.2e-3,
                area_line=8e-4,
                venturi=bench.Venturi(d_pipe=0.05248, d_throat=0.02602, c=0.9871),
            )
        ],
        "outlets": [outlet(tap_height=0.5)],
        "valve": bench.Valve(opens=1.5, closes=7.5),
        "water": WATER,
        "p_ambient": 100700.0,
    }
    return bench.run(**{**settings, **changes})


def test_water_that_left_the_vessel_went_through_the_meter() -> None:
    seen = real_run()
    assert np.trapezoid(seen.m_dot[0], seen.time) == pytest.approx(seen.spent[0, -1], rel=1e-4)
    assert seen.spent[0, -1] > 35
    mass = 7e5 * 0.85 / (bench.AIR_GAS_CONSTANT * 293.15)
    volume = mass * bench.AIR_GAS_CONSTANT * seen.temp_air[-1] / seen.p_air[-1]
    assert (volume - 0.85) * WATER.rho == pytest.approx(seen.spent[0, -1], rel=1e-3)


def test_drops_give_the_planted_area_back() -> None:
    seen = real_run()
    mid = slice(300, 700)
    throat = pi / 4 * 0.02602**2 * 0.9871 / sqrt(1 - (0.02602 / 0.05248) ** 4)
    m_dot = throat * np.sqrt(2 * WATER.rho * seen.dp_meter[0, mid])
    drop = seen.p_tap[0, mid] + m_dot**2 / (2 * WATER.rho * 1.26e-3**2) + WATER.rho * 9.81 * 0.2
    drop = drop - 900 * np.gradient(seen.m_dot[0], seen.time)[mid]
    assert m_dot / np.sqrt(2 * WATER.rho * drop) == pytest.approx(2.31e-4, rel=1e-9)
    assert seen.p_up[0, mid] == pytest.approx(
        seen.p_tap[0, mid]
        + m_dot**2
        / (2 * WATER.rho)
        * (1 / 1.26e-3**2 + 1 / 8e-4**2 + 0.12 / throat**2 - 1 / (pi / 4 * 0.05248**2) ** 2),
        rel=1e-9,
    )
    assert np.all(seen.p_tap[0, :140] == 0)


def test_inertia_lifts_the_tap_while_the_flow_builds_up() -> None:
    seen, stiff = real_run(), real_run(outlets=[outlet(tap_height=0.5, inertance=0.0)])
    rising = int(np.argmax(np.gradient(seen.flow[0])))
    slope = np.gradient(seen.flow[0], seen.time)[rising]
    assert seen.p_tap[0, rising] - stiff.p_tap[0, rising] == pytest.approx(900 * slope, rel=1e-9)


def test_two_lines_into_one_circuit_join() -> None:
    a = supply(level=1.9, section=0.283, area_valve=1.2e-3, area_line=8e-4)
    b = replace(a, area_line=5e-4)
    seen = real_run(supplies=[a, b], outlets=[outlet(supplies=(0, 1))])
    mid = 500
    assert seen.flow[0, mid] == pytest.approx(seen.m_dot[:, mid].sum(), rel=1e-12)
    assert seen.drop[0, mid] == pytest.approx((seen.flow[0, mid] / 2.31e-4) ** 2 / (2 * WATER.rho), rel=1e-9)
    level = 1.9 - seen.spent[:, mid] / WATER.rho / 0.283
    push = seen.p_air[mid] - 100700.0 + WATER.rho * 9.81 * (level - 0.3)
    loss = (
        seen.m_dot[:, mid] ** 2
        / (2 * WATER.rho)
        * np.array([1 / 1.2e-3**2 + 1 / 8e-4**2, 1 / 1.2e-3**2 + 1 / 5e-4**2])
    )
    assert loss + seen.drop[0, mid] == pytest.approx(push, rel=1e-6)


def test_a_leak_is_metered_and_shows_in_the_neighbour() -> None:
    seen = real_run(outlets=[outlet(leak=3e-5, area_neighbour=1.2e-4)])
    mid = 500
    aside = seen.m_dot[0, mid] - seen.flow[0, mid]
    ratio = (1 / 3e-5**2 + 1 / 1.2e-4**2) ** -0.5 / 2.31e-4
    assert aside / seen.flow[0, mid] == pytest.approx(ratio, rel=1e-9)
    assert seen.p_neighbour[0, mid] == pytest.approx((aside / 1.2e-4) ** 2 / (2 * WATER.rho), rel=1e-9)


def test_a_cavitating_hole_follows_the_root_of_k() -> None:
    seen = real_run(outlets=[outlet(choke=1.75e-4)])
    mid = slice(300, 700)
    cav = (100700.0 + seen.drop[0, mid] - WATER.p_vap) / seen.drop[0, mid]
    assert seen.area[0, mid] == pytest.approx(1.75e-4 * np.sqrt(cav), rel=1e-3)
    assert seen.area[0, mid].max() < 2.2e-4


def test_area_follows_the_planted_slope_in_reynolds_number() -> None:
    seen = real_run(outlets=[outlet(slope=0.05, re_mid=9e4, bores=0.072)])
    re = 4 * seen.flow[0, 300:700] / (pi * WATER.mu * 0.072)
    assert seen.area[0, 300:700] == pytest.approx(2.31e-4 * (1 + 0.05 * np.log(re / 9e4)), rel=1e-4)


def test_liquids_agree_with_tables_read_elsewhere() -> None:
    # IAPWS values as commonly tabulated (from memory): 998.207 and 995.650 kg/m3, 0.8900 mPa s, 2.339 kPa
    assert liquids.water_density(temp=293.15) == pytest.approx(998.207, rel=1e-5)
    assert liquids.water_density(temp=303.15) == pytest.approx(995.650, rel=1e-5)
    assert liquids.water_viscosity(temp=298.15) == pytest.approx(8.900e-4, rel=2e-3)
    assert liquids.water_vapour_pressure(temp=293.15) == pytest.approx(2339, rel=5e-3)
    # reference equation of state, as computed by an open property library
    for temp, p_abs, rho in ((90.0, 2e6, 1146.274), (90.0, 3e6, 1148.420), (90.19, 3e6, 1147.501)):
        assert liquids.oxygen_density(temp=temp, p_abs=p_abs) == pytest.approx(rho, rel=1e-5)


# instruments: one draw per seed, so that spread over seeds is what the paper promises
SEEDS = range(1500)
STANDARD = Standard(id="S", of_reading=8e-4)
PAPER = Paper(id="C", date=datetime.date(2025, 3, 12), of_reading=1e-3, of_span=6e-4, standard=STANDARD)
BY_CLASS = Device(tag="DP", measures="drop", low=0.0, high=2e5, unit="mbar", limits=2e-3)
BY_PAPER = replace(BY_CLASS, paper=PAPER, drift=5e-4)


def shown_off(device: Device, share: float) -> np.ndarray:
    """Relative to span, true minus shown at that share of range, one per seed."""
    true = np.array([share * device.high])
    off = [float(true[0] - device.shown(true, Draws(seed), ON)[0]) for seed in SEEDS]
    return np.array(off) / device.span


def test_a_class_is_used_up_at_the_top_and_at_mid_range() -> None:
    for share in (1.0, 0.5):
        assert shown_off(BY_CLASS, share).std() == pytest.approx(2e-3 / sqrt(3), rel=0.05)
    assert np.abs(shown_off(BY_CLASS, 1.0)).max() <= 2e-3
    assert shown_off(BY_CLASS, 0.0).std() == 0


def test_a_certificate_spreads_as_it_states() -> None:
    drift = 5e-4 / sqrt(3)  # one year
    gain = sqrt((1e-3 / 2) ** 2 + drift**2)
    assert shown_off(BY_PAPER, 1.0).std() == pytest.approx(gain, rel=0.05)
    mid = sqrt((0.5 * gain) ** 2 + (6e-4 / 2) ** 2)
    assert shown_off(BY_PAPER, 0.5).std() == pytest.approx(mid, rel=0.05)
    assert abs(shown_off(BY_PAPER, 1.0).mean()) < 4 * gain / sqrt(len(SEEDS))


def test_two_cells_share_their_standard_and_nothing_else() -> None:
    one, two = (
        shown_off(replace(BY_PAPER, tag=tag, drift=0.0, paper=replace(PAPER, id=tag)), 1.0)
        for tag in ("DP-A", "DP-B")
    )
    assert np.corrcoef(one, two)[0, 1] == pytest.approx((0.8 / 1.0) ** 2, abs=0.05)


def test_stated_corrections_are_built_in() -> None:
    bent = replace(BY_PAPER, paper=replace(PAPER, bend=(1e-4, 5e-4)))
    flat = Draws(0, {"*": 0.0})
    shown = bent.shown(np.array([0.0, 0.5, 1.0]) * 2e5, flat, ON)
    assert np.array([0.0, 0.5, 1.0]) * 2e5 - shown == pytest.approx([0.0, 20.0, 100.0], abs=1e-9)


def stored(device: Device, seed: int, factors: dict[str, float] | None = None, **more: Any) -> np.ndarray:
    loaded = np.zeros(600, dtype=bool)
    loaded[200:400] = True
    true = np.where(loaded, 1e5, 0.0)
    return device.stored(true, draws=Draws(seed, factors), run="W01", on=ON, step=0.01, loaded=loaded, **more)


def test_what_a_tare_leaves_is_the_shift_over_root_twelve() -> None:
    device = replace(BY_CLASS, limits=0.0, noise=0.0, steps=0)
    left, shift = [], []
    for seed in SEEDS:
        seen = stored(device, seed)
        left.append(seen[200:400].mean() - 1e5 - 0.5 * (seen[0] + seen[-1]))
        shift.append(seen[-1] - seen[0])
    assert np.std(np.array(left) / np.array(shift)) == pytest.approx(1 / sqrt(12), rel=0.05)
    assert np.std(shift) == pytest.approx(5e-4 * 2e5 / sqrt(3), rel=0.05)


def test_noise_has_its_size_and_its_memory_and_steps_are_steps() -> None:
    seen = stored(replace(BY_CLASS, noise=1e-3, memory=0.5, steps=2000), 3, {"*.zero": 0.0, "*.wander": 0.0})
    assert seen / 100.0 == pytest.approx(np.round(seen / 100.0), abs=1e-9)
    many = np.concatenate(
        [
            stored(replace(BY_CLASS, noise=1e-3, memory=0.5, steps=0), s, {"*.zero": 0.0, "*.wander": 0.0})[
                :200
            ]
            for s in range(60)
        ]
    )
    assert many.std() == pytest.approx(200.0, rel=0.05)
    assert np.corrcoef(many[:-1], many[1:])[0, 1] == pytest.approx(0.5, abs=0.03)


def test_lag_is_one_time_constant() -> None:
    device = replace(BY_CLASS, noise=0.0, steps=0, lag=0.2)
    seen = stored(device, 0, {"*": 0.0})
    assert seen[219] == pytest.approx(1e5 * (1 - exp(-1)), rel=1e-6)


def test_a_device_whose_zero_nobody_takes_is_off_by_one_constant() -> None:
    device = replace(BY_CLASS, noise=0.0, steps=0)
    off = np.array([stored(device, seed, tared=False)[[0, 300]] - [0.0, 1e5] for seed in range(400)])
    assert off[:, 0] == pytest.approx(off[:, 1], abs=1e-6)
    assert off[:, 0].std() == pytest.approx(2e-3 * 2e5 / sqrt(3), rel=0.1)


def test_an_eye_reads_to_a_quarter_division_and_a_scale_feels_the_air() -> None:
    dial = Device(tag="PG", measures="gauge", low=0.0, high=10e5, unit="bar", limits=1e-2, division=0.2e5)
    off = np.array(
        [dial.by_eye(5e5, draws=Draws(s, {"PG.class": 0.0}), run="W", moment="start") - 5e5 for s in SEEDS]
    )
    assert np.abs(off).max() <= 0.05e5
    assert off.std() == pytest.approx(0.05e5 / sqrt(3), rel=0.05)
    scale = Device(tag="S", measures="mass", low=0.0, high=300.0, unit="kg", of_reading=5e-4)
    assert scale.weighed(80.0, Draws(0, {"*": 0.0})) == pytest.approx(80.0 * (1 - 1.05e-3), abs=1e-3)
    assert pytest.approx(1.05e-3, rel=0.01) == AIR_LIFT


def test_truth_behind_a_text_is_drawn_from_what_the_text_says() -> None:
    limits, normal = Said(value=26.02, unit="mm", half=0.01), Said(value=0.9885, half=0.006, k=2, share=True)
    assert limits.u == pytest.approx(0.01e-3 / sqrt(3))
    bore = np.array([Draws(s).true("d", limits) for s in SEEDS])
    assert bore.std() == pytest.approx(0.01e-3 / sqrt(3), rel=0.05)
    c = np.log([Draws(s).true("c", normal) / 0.9885 for s in SEEDS])
    assert c.std() == pytest.approx(0.003, rel=0.05)
    within = np.mean(np.abs(c) < 0.003)
    assert within == pytest.approx(1 - 2 * NormalDist().cdf(-1.0), abs=0.04)
    assert (limits.text(), normal.text()) == ("26.02 mm ± 0.01 mm", "0.9885 ± 0.6 % (k=2)")


def test_draws_do_not_depend_on_the_order_of_asking_and_promises_break_by_name() -> None:
    one, two = Draws(7), Draws(7)
    first = one.normal("a", 1.0), one.within("b", 2.0)
    assert (two.within("b", 2.0), two.normal("a", 1.0)) == first[::-1]
    assert Draws(7, {"*": 0.0, "a": 5.0}).normal("a", 1.0) == pytest.approx(5 * first[0])
    assert Draws(7, {"*": 0.0}).within("b", 2.0) == 0


def engine(**changes: Any) -> TrueEngine:
    side = TrueSide(
        area=2.3e-4, tap_area=1.26e-3, feed_area=4.1e-4, head=1.8, lift=0.2, density=lambda _: 1143.0, mu=2e-4,
        friction=0.4, feed_re=1.8e5,
    )  # fmt: skip
    fuel = replace(side, area=1.25e-4, feed_area=2.1e-4, density=lambda _: 806.0, mu=1.6e-3)
    base = TrueEngine(
        sides={"ox": side, "fuel": fuel}, c_star=lambda r: 1660.0 - 30 * (r - 2.2) ** 2, area_throat=8.7e-3,
        p_ambient=101300.0,
    )  # fmt: skip
    return replace(base, **changes)


def test_forwards_and_backwards_are_one_balance() -> None:
    what = engine()
    tanks = what.tanks_for(p_chamber=19.3e5, of_ratio=2.31)
    seen = what.chamber_from(tanks)
    assert seen["p_chamber"] == pytest.approx(19.3e5, rel=1e-9)
    assert seen["of_ratio"] == pytest.approx(2.31, rel=1e-9)
    flow = seen["m_dot.ox"] + seen["m_dot.fuel"]
    assert what.c_star(2.31) * flow == pytest.approx(19.3e5 * 8.7e-3, rel=1e-9)


def test_tank_pressure_by_hand() -> None:
    what = engine()
    total = 20e5 * 8.7e-3 / what.c_star(2.2)
    m_dot = total * 2.2 / 3.2
    re = 4 * m_dot / (pi * 2e-4 * 0.04)
    line = (0.6 + 0.4 * (1.8e5 / re) ** 0.25) / 4.1e-4**2
    needed = m_dot**2 / (2 * 1143) * (1 / 2.3e-4**2 + line - 1 / 1.26e-3**2) - 1143 * 9.81 * (1.8 + 0.2)
    tanks = what.tanks_for(p_chamber=20e5, of_ratio=2.2)
    assert tanks["ox"] == pytest.approx(20e5 - 101300 + needed, rel=1e-9)


def test_a_feed_up_to_the_total_pressure_is_the_same_engine_with_a_larger_area() -> None:
    what = engine()
    ox = replace(what.sides["ox"], friction=0.0)
    inner = (4.1e-4**-2 - 1.26e-3**-2) ** -0.5
    other = replace(ox, feed_area=inner, feed_to_total=True)
    assert other.tank(7.0, 20e5) == pytest.approx(ox.tank(7.0, 20e5), rel=1e-12)


def test_a_gauge_that_reads_low_raises_the_mixture_ratio() -> None:
    what = engine()
    tanks = what.tanks_for(p_chamber=20e5, of_ratio=2.2)
    off = replace(what.sides["ox"], gauge_error=0.2e5)
    seen = replace(what, sides={**what.sides, "ox": off}).chamber_from(tanks)
    other = what.chamber_from({"ox": tanks["ox"] + 0.2e5, "fuel": tanks["fuel"]})
    assert seen == pytest.approx(other)
    assert seen["of_ratio"] > 2.21


def files(root: Path) -> dict[str, bytes]:
    return {str(p.relative_to(root)): p.read_bytes() for p in sorted(root.rglob("*")) if p.is_file()}


def test_same_seed_same_bytes(tmp_path: Path) -> None:
    for name, seed in (("a", 4), ("b", 4), ("c", 5)):
        write_mini(tmp_path / name, seed)
    assert files(tmp_path / "a") == files(tmp_path / "b")
    assert files(tmp_path / "a")["bench.toml"] == files(tmp_path / "c")["bench.toml"]
    assert files(tmp_path / "a")["runs/W01/W01.csv"] != files(tmp_path / "c")["runs/W01/W01.csv"]


def reduced_by_hand(csv: Path, tap_bore: float) -> float:
    """E of a mini run by nothing but its nominal text: the few lines a person would write."""
    t, dp, _, p_tap = np.genfromtxt(csv, delimiter=",", skip_header=1).T
    before = t < 1.4
    steady = (t > 3.0) & (t < 7.0)
    dp, p_tap = (1e2 * (dp - dp[before].mean()))[steady], (1e5 * (p_tap - p_tap[before].mean()))[steady]
    rho = liquids.water_density(temp=290.15, p_gauge=3e5)
    m_dot = 0.9885 * pi / 4 * 0.02602**2 / sqrt(1 - (0.02602 / 0.05248) ** 4) * np.sqrt(2 * rho * dp)
    drop = p_tap + m_dot**2 / (2 * rho * (pi / 4 * tap_bore**2) ** 2) + rho * 9.81 * 0.2
    return float((m_dot / np.sqrt(2 * rho * drop)).mean())


def test_a_campaign_without_errors_gives_its_truth_back(tmp_path: Path) -> None:
    truth = write_mini(tmp_path, 9, factors={"*": 0.0, "*.area": 1.0}, runs=1, lines=1)
    for run, circuit, bore in (("W01", "ox", 0.040), ("W02", "fuel", 0.032)):
        seen = reduced_by_hand(tmp_path / "runs" / run / f"{run}.csv", bore)
        assert seen == pytest.approx(truth.area_total[circuit], rel=3e-4)
        assert seen != pytest.approx({"ox": 2.31e-4, "fuel": 1.243e-4}[circuit], rel=1e-3)
        static = truth.area_total[circuit] ** -2 - (pi / 4 * bore**2) ** -2
        assert truth.area_eff[circuit] == pytest.approx(static**-0.5)
        assert truth.area_hot[circuit] == truth.area_total[circuit]
    assert truth.predicted(truth.setpoints())["of_ratio"] == pytest.approx(2.2, rel=1e-9)


def test_runs_and_days_scatter_as_the_campaign_allows(tmp_path: Path) -> None:
    ln = []
    for seed in range(60):
        truth = write_mini(tmp_path, seed, runs=1, rate=20.0, flowing=2.0)
        ln.append(np.log(truth.runs["W01"].area_eff["ox"] / truth.area_total["ox"]))
    assert np.std(ln) == pytest.approx(0.003 * sqrt(2), rel=0.25)


def test_the_step_is_drawn_as_stated_or_known(tmp_path: Path) -> None:
    off = {
        step: [np.log(write_mini(tmp_path, s, step=step, runs=1, rate=10.0, flowing=2.0).factor_hot["ox"])
               for s in range(60)]
        for step in (0.0, 0.02)
    }  # fmt: skip
    assert np.std(off[0.02]) == pytest.approx(0.02, rel=0.25)
    assert 0.004 < np.std(off[0.0]) < 0.014  # 0.5 % per unit of ln Re, LOX lies about 1.7 beyond
    for step in (0.0, 0.02):
        write_mini(tmp_path, 0, step=step, rate=10.0)
        assert f'step = "{100 * step:g} %"' in (tmp_path / "engine.toml").read_text("utf-8")


@pytest.mark.parametrize("dialect", sorted(logger.DIALECTS))
def test_every_dialect_holds_the_same_numbers(dialect: str) -> None:
    time = np.arange(40) / 20
    columns = [
        logger.Column(name="dp A", unit="mbar", values=np.linspace(0, 700, 40)),
        logger.Column(name="p ox", unit="bar", values=np.linspace(0, 5, 40)),
    ]
    start = datetime.datetime(2026, 3, 12, 10, 12)
    data = logger.write(dialect, time=time, columns=columns, start=start).data
    last = data.strip().splitlines()[-1].decode().replace(",", "." if dialect == "semicolon" else ",")
    assert "700.000" in last
    assert "5.00000" in last
    assert logger.write(dialect, time=time, columns=columns, start=start).data == data


def test_a_clock_jumps_and_lines_are_spoilt_only_where_planted() -> None:
    time = np.arange(100) / 10
    jumped = logger.jumped(time, at=4.0, by=2.5)
    assert np.diff(jumped).max() == pytest.approx(2.6)
    assert np.sum(np.diff(jumped) > 0.11) == 1
    clean = b"\n".join(b"%d,1.5,2.5" % i for i in range(1000, 1100))
    damaged = logger.spoilt(clean, count=4, dice=np.random.default_rng(1))
    assert sum(a != b for a, b in zip(clean.split(b"\n"), damaged.split(b"\n"), strict=True)) == 4
