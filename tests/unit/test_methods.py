"""Ways of running water, each on a tiny invented campaign whose effective area was known before: closed forms."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.chain.water import Reduced
from headrace.findings.evidence import StreamEvidence
from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.context import Context, Prepared
from headrace.jobs.reduce.methods import METHODS
from headrace.jobs.reduce.samples import at_zero
from headrace.physics.gas.manual_run import area_eff_two_point
from headrace.physics.hydraulics.injector import total_from_static
from headrace.records.given import Campaign, Flow, HandReading, RunGiven, Stated, Total
from headrace.uncertainty.errors_map import Errors
from support import hand_made as made

E = 2.31e-4
BAR = made.BAR
RHO = made.rho_of()


def prepared(run: RunGiven, campaign: Campaign | None = None) -> tuple[Prepared, Context]:
    """The only stream of a run, frozen."""
    context = Context(campaign=campaign or made.campaign(run), run=run)
    return METHODS[run.method](context, run.flows[0]), context


def nominal(one: Prepared) -> np.ndarray:
    """E of its slices with every error at none."""
    return np.exp(one.frozen.ln_area(at_zero(one.frozen.names))[:, 0])


def moved(one: Prepared, **errors: float) -> np.ndarray:
    """ln E of its slices less the nominal, under these errors."""
    assert set(errors) <= set(one.frozen.names), set(errors) - set(one.frozen.names)
    zero = dict(at_zero(one.frozen.names))
    return one.frozen.ln_area(Errors(zero | errors))[:, 0] - np.log(nominal(one))


def area(reduced: Reduced, key: str = "ox") -> float:
    return reduced.characteristics[key].area_eff.value


# --- metered and logged


def test_a_metered_run_gives_back_its_area() -> None:
    one, _ = prepared(made.metered("W01", E))
    np.testing.assert_allclose(nominal(one), E, rtol=2e-6)
    assert len(one.slices) >= 4
    assert one.state == "alone"
    first, last = one.slices[0], one.slices[-1]
    assert first.dp > last.dp
    assert first.m_dot == pytest.approx(E * np.sqrt(2 * RHO * first.dp), rel=1e-4)
    p_up, p_vap = made.AMBIENT + first.dp, 2004.0
    assert first.cav == pytest.approx((p_up - p_vap) / first.dp, rel=1e-3)


def test_the_tap_s_height_counts_as_drop() -> None:
    run = made.metered("W01", E)
    level = made.article(ox=made.circuit("ox", "T-OX", outlet_height=Stated(value=0.5)))
    one, _ = prepared(run, made.campaign(run, article=level))
    assert one.slices[0].dp == pytest.approx(
        prepared(run)[0].slices[0].dp - RHO * made.G * made.RISE, abs=0.1
    )
    assert np.all(nominal(one) > E)


def test_on_a_total_basis_the_velocity_head_counts_as_drop() -> None:
    static, bore = made.metered("W01", E), 0.025
    run = made.metered("W01", E, circuit="tot")
    one, _ = prepared(run)
    expected = float(total_from_static(area_eff_static=E, area_tap=np.pi / 4 * bore**2))
    np.testing.assert_allclose(nominal(one), expected, rtol=2e-6)
    assert expected < 0.91 * E
    np.testing.assert_allclose(nominal(prepared(static)[0]) / nominal(one), E / expected, rtol=1e-6)


def test_what_the_sources_of_a_metered_run_do() -> None:
    one, context = prepared(made.metered("W01", E))
    dp = np.array([nominal_slice.dp for nominal_slice in one.slices])
    np.testing.assert_allclose(moved(one, **{"FV-A.c": 0.01}), np.log(1.01), rtol=1e-9)
    np.testing.assert_allclose(moved(one, **{"W01.ox.setup": 0.01}), 0.01, rtol=1e-9)
    np.testing.assert_allclose(moved(one, **{"2026-03-12.ox.day": 0.01}), 0.01, rtol=1e-9)
    np.testing.assert_allclose(moved(one, **{"T-OX.height": 0.1}), -0.5 * RHO * made.G * 0.1 / dp, rtol=1e-2)
    np.testing.assert_allclose(moved(one, **{"PM-OX.gain": 0.001}), -0.0005, rtol=3e-2)
    sources = context.sources
    assert sources["W01.ox.setup"].u == sources["2026-03-12.ox.day"].u == 0.003
    assert sources["T-OX.height"].u == 0.003
    # a tank level or a density that both meter and drop see cancels down to the head between tap and outlet
    lost = np.abs(moved(one, **{"water.density": 0.01}))
    np.testing.assert_allclose(lost, 0.5 * 0.01 * RHO * made.G * made.RISE / dp, rtol=2e-2)


def test_back_pressure_is_taken_off_and_counts_in_the_cavitation_number() -> None:
    run, cap = made.metered("W01", E), 2 * BAR
    assert run.trace is not None
    channels = dict(run.trace.channels)
    channels["PM-OX"] = channels["PM-OX"] + np.where(made.FLOWING, cap, 0.0)
    channels["P-BACK"] = np.where(made.FLOWING, cap, 0.0)
    capped = replace(run, trace=made.trace(channels), flows=(replace(run.flows[0], p_back="P-BACK"),))
    one, _ = prepared(capped)
    np.testing.assert_allclose(nominal(one), E, rtol=3e-5)
    plain = prepared(run)[0]
    assert one.slices[0].dp == pytest.approx(plain.slices[0].dp, rel=1e-4)
    assert one.slices[0].cav == pytest.approx(plain.slices[0].cav + cap / one.slices[0].dp, rel=1e-4)
    dp = np.array([s.dp for s in one.slices])
    np.testing.assert_allclose(moved(one, **{"P-BACK.gain": 0.01}), 0.5 * 0.01 * cap / dp, rtol=2e-2)


@pytest.mark.parametrize("rest", [True, False])
def test_an_absolute_transmitter_gives_the_same_area_with_a_zero_and_without(rest: bool) -> None:
    run = made.metered("W01", E)
    assert run.trace is not None
    tap = run.trace.channels["PM-OX"] + made.AMBIENT
    flows = (replace(run.flows[0], p_tap="PA"),)
    trace = made.trace({"DP-A": run.trace.channels["DP-A"], "PA": tap})
    given = replace(run, flows=flows, trace=trace)
    if not rest:  # the record of the tap starts with the flow: no rest from which to take its zero
        given = replace(
            given, trace=made.trace(trace.channels | {"PA": np.where(made.TIME < 2.8, np.nan, tap)})
        )
    one, context = prepared(given)
    np.testing.assert_allclose(nominal(one), E, rtol=2e-6)
    assert ("barometer" in one.frozen.names) is not rest
    assert ("PA.class" in one.frozen.names) is not rest
    if not rest:
        dp = np.array([s.dp for s in one.slices])
        np.testing.assert_allclose(moved(one, barometer=300.0), 0.5 * 300.0 / dp, rtol=1e-2)
        assert context.sources["barometer"].u == 100.0


def test_the_barometer_matters_where_gauge_and_absolute_meet_and_nowhere_else() -> None:
    run, cap = made.metered("W01", E), 2 * BAR
    assert run.trace is not None
    late = made.TIME < 2.8
    back = np.where(late, np.nan, made.AMBIENT + np.where(made.FLOWING, cap, 0.0))
    tap = run.trace.channels["PM-OX"] + np.where(made.FLOWING, cap, 0.0)
    channels = {"DP-A": run.trace.channels["DP-A"], "PB-ABS": back, "PM-OX": tap}
    flow = replace(run.flows[0], p_back="PB-ABS")
    mixed, _ = prepared(replace(run, trace=made.trace(channels), flows=(flow,)))
    np.testing.assert_allclose(nominal(mixed), E, rtol=3e-5)
    dp = np.array([s.dp for s in mixed.slices])
    np.testing.assert_allclose(moved(mixed, barometer=300.0), -0.5 * 300.0 / dp, rtol=1e-2)
    channels["PA"] = np.where(late, np.nan, tap + made.AMBIENT)
    both, _ = prepared(replace(run, trace=made.trace(channels), flows=(replace(flow, p_tap="PA"),)))
    np.testing.assert_allclose(nominal(both), E, rtol=3e-5)
    np.testing.assert_allclose(moved(both, barometer=300.0), 0.0, atol=1e-12)


def test_a_leg_full_of_water_is_corrected_only_where_no_zero_took_it_off() -> None:
    run = made.metered("W01", E)
    assert run.trace is not None
    low = made.bench()
    low.instruments["PM-OX"] = replace(low.instruments["PM-OX"], height=Stated(value=0.1))  # type: ignore[index]  # a plain dict here
    leg = made.rho_of(293.15, 2e5) * made.G * (0.5 - 0.1)  # a cool leg of its own
    tap = run.trace.channels["PM-OX"] + leg  # the column presses on the low cell
    zeroed = replace(run, trace=made.trace(run.trace.channels | {"PM-OX": tap}))
    one, _ = prepared(zeroed, made.campaign(zeroed, bench=low))
    np.testing.assert_allclose(nominal(one), E, rtol=2e-6)
    bare = replace(
        zeroed, trace=made.trace(run.trace.channels | {"PM-OX": np.where(made.TIME < 2.8, np.nan, tap)})
    )
    raw, _ = prepared(bare, made.campaign(bare, bench=low))
    np.testing.assert_allclose(nominal(raw), E, rtol=2e-6)


def test_what_is_not_known_of_a_leg_acts_as_its_column_and_the_taps_own_height_goes_out() -> None:
    run = made.metered("W01", E)
    assert run.trace is not None
    tap = np.where(made.TIME < 2.8, np.nan, run.trace.channels["PM-OX"])
    bare = replace(run, trace=made.trace(run.trace.channels | {"PM-OX": tap}))
    low = made.bench()
    gauge = replace(low.instruments["PM-OX"], height=Stated(value=0.1, u=0.02))
    low.instruments["PM-OX"] = gauge  # type: ignore[index]  # a plain dict here
    full, context = prepared(bare, made.campaign(bare, bench=low))
    dp = np.array([one.dp for one in full.slices])
    column = made.rho_of(293.15, 2e5) * made.G
    np.testing.assert_allclose(moved(full, **{"PM-OX.height": 0.02}), -0.5 * column * 0.02 / dp, rtol=2e-3)
    assert context.sources["PM-OX.height"].scope == "instrument"
    # the column in the leg and the head below the tap both end at the tap: its height matters to neither
    np.testing.assert_allclose(moved(full, **{"T-OX.height": 0.02}), 0, atol=1e-6)
    low.instruments["PM-OX"] = replace(gauge, leg="empty")  # type: ignore[index]  # a plain dict here
    empty, _ = prepared(bare, made.campaign(bare, bench=low))
    np.testing.assert_allclose(nominal(empty), E, rtol=2e-6)
    assert "PM-OX.height" not in empty.frozen.names
    assert np.all(nominal(full) > 1.001 * E)


def test_two_lines_into_one_circuit_are_added_and_share_what_they_share() -> None:
    run, share = made.metered("W01", E), 0.3
    assert run.trace is not None
    whole = run.trace.channels["DP-A"]
    channels = {
        "PM-OX": run.trace.channels["PM-OX"],
        "DP-A": share**2 * whole,
        "DP-B": (1 - share) ** 2 * whole,
    }
    joined = replace(run, trace=made.trace(channels), flows=(replace(run.flows[0], lines=("A", "B")),))
    one, _ = prepared(joined)
    np.testing.assert_allclose(nominal(one), E, rtol=2e-6)
    np.testing.assert_allclose(moved(one, **{"FV-A.c": 0.01}), np.log(1 + 0.01 * share), rtol=1e-6)
    np.testing.assert_allclose(moved(one, **{"FV-B.c": 0.01}), np.log(1 + 0.01 * (1 - share)), rtol=1e-6)
    on_one = made.certified(made.campaign(joined), ["DP-A", "DP-B", "PM-OX"])
    shared, _ = prepared(joined, on_one)
    # meters read sqrt(dp): both together and the drop itself cancel, but for the head between tap and outlet
    dp = np.array([s.dp for s in shared.slices])
    head = RHO * made.G * made.RISE
    np.testing.assert_allclose(moved(shared, **{"REF.gain": 0.01}), 0.5 * 0.01 * head / dp, rtol=3e-2)


def test_the_column_that_slows_down_pushes_along() -> None:
    """Tap pressure = drop + (L/A) dm/dt - head: while the flow falls, its inertia shows as missing pressure."""
    run, inertance = made.metered("W01", E), 2e4
    assert run.trace is not None
    tap = run.trace.channels["PM-OX"]
    slows = np.gradient(made.flow_of(E, tap, RHO), made.TIME)
    inside = (made.ON[0] + 0.1 < made.TIME) & (made.ON[1] - 0.1 > made.TIME)
    late = replace(
        run, trace=made.trace(run.trace.channels | {"PM-OX": tap + np.where(inside, inertance * slows, 0.0)})
    )
    bench = made.bench()
    bench.lines["A"] = replace(bench.lines["A"], inertance=inertance)  # type: ignore[index]  # a plain dict here
    one, _ = prepared(late, made.campaign(late, bench=bench))
    np.testing.assert_allclose(nominal(one), E, rtol=3e-5)
    assert np.all(nominal(prepared(late)[0]) > 1.005 * E)


def test_a_thermometer_of_the_line_is_taken_before_the_typed_temperature() -> None:
    run = made.metered("W01", E)
    assert run.trace is not None
    channels = run.trace.channels | {"TW-A": np.full_like(made.TIME, 305.0)}
    warm = replace(run, trace=made.trace(channels), flows=(replace(run.flows[0], lines=("T",)),))
    one, _ = prepared(warm)
    assert "TW-A.class" in one.frozen.names
    assert "water.thermometer" not in one.frozen.names
    assert one.slices[0].re > 1.3 * prepared(run)[0].slices[0].re
    assert "water.thermometer" in prepared(run)[0].frozen.names


def test_the_own_lag_of_a_channel_is_taken_out() -> None:
    run, lag = made.metered("W01", E), 0.2
    assert run.trace is not None
    tap = made.p_fall(6 * BAR, 3 * BAR)
    slow = np.where(made.FLOWING, tap - lag * (3 * BAR - 6 * BAR) / (made.ON[1] - made.ON[0]), 0.0)
    late = replace(run, trace=made.trace(run.trace.channels | {"PM-OX": slow}))
    trailing = made.bench()
    trailing.instruments["PM-OX"] = replace(trailing.instruments["PM-OX"], lag=Stated(value=lag))  # type: ignore[index]  # a plain dict here
    one, _ = prepared(late, made.campaign(late, bench=trailing))
    np.testing.assert_allclose(nominal(one), E, rtol=1e-5)
    assert np.all(np.abs(nominal(prepared(late)[0]) / E - 1) > 5e-3)


# --- one mass against a trace


def weighed(mass: float, **changes: object) -> RunGiven:
    """A run with the tap's pressure logged and all its water weighed."""
    tap = made.p_fall(6 * BAR, 3 * BAR)
    total = Total(mass=Stated(value=mass, u=0.02, dist="normal"))
    run = made.run("W01", "weighed", trace=made.trace({"PM-OX": tap}), total=total)
    return replace(run, **changes)  # type: ignore[arg-type]  # by name


def drained() -> float:
    """Mass through E during `made.p_fall`, by the trapezoid over the record, as a scale shows it (buoyancy)."""
    rho = made.rho_of(made.WARM, made.AMBIENT + 4.5 * BAR)
    flow = made.flow_of(E, made.p_fall(6 * BAR, 3 * BAR), rho)
    return float(np.trapezoid(flow, made.TIME)) * (1 - 1.2 / rho) / (1 - 1.2 / 8000)


def test_a_weighed_run_gives_back_its_area() -> None:
    one, context = prepared(weighed(drained()))
    np.testing.assert_allclose(nominal(one), E, rtol=1e-6)
    np.testing.assert_allclose(moved(one, **{"W01.total": 0.2}), 0.2 / drained(), rtol=1e-2)
    assert context.sources["W01.total"].u == 0.02
    assert len(one.slices) == 1
    assert one.slices[0].m_dot == pytest.approx(drained() / 6.0, rel=2e-3)
    assert one.slices[0].dp == pytest.approx(4.5 * BAR + RHO * made.G * made.RISE, rel=5e-3)
    assert one.slices[0].t == pytest.approx(6.0, abs=0.03)


def test_air_carries_a_thousandth_of_the_weighed_water() -> None:
    rho = made.rho_of(made.WARM, made.AMBIENT + 4.5 * BAR)
    by_volume = weighed(1.0, total=Total(volume=Stated(value=drained() / rho, u=1e-4)))
    plain = nominal(prepared(by_volume)[0])[0]
    assert nominal(prepared(weighed(drained()))[0])[0] / plain - 1 == pytest.approx(1.053e-3, abs=1e-5)


def test_a_scale_s_own_error_is_one_source_for_all_runs_weighed_on_it() -> None:
    total = Total(mass=Stated(value=drained(), u=0.02), instrument="SCALE")
    one, context = prepared(weighed(1.0, total=total))
    np.testing.assert_allclose(moved(one, **{"SCALE.gain": 0.01}), np.log(1.01), rtol=1e-4)
    assert context.sources["SCALE.gain"].u == 5e-4
    assert context.sources["SCALE.gain"].scope == "instrument"
    assert "W01.SCALE.tare" not in one.frozen.names


def test_a_sight_tube_s_section_is_one_source_for_all_its_runs() -> None:
    total = Total(volume=Stated(value=drained() / RHO, u=2e-4), vessel="WV", section_u_rel=0.005)
    one, context = prepared(weighed(1.0, total=total))
    np.testing.assert_allclose(moved(one, **{"WV.section": 0.01}), np.log(1.01), rtol=1e-6)
    np.testing.assert_allclose(moved(one, **{"W01.total": 1e-3}), 1e-3 * RHO / drained(), rtol=1e-1)
    assert context.sources["WV.section"].u == 0.005
    assert context.sources["WV.section"].scope == "instrument"


def test_a_weighed_run_on_a_total_basis() -> None:
    flows = (Flow(circuits=("tot",), lines=("A",), p_tap="PM-OX"),)
    one, _ = prepared(weighed(drained(), flows=flows))
    expected = float(total_from_static(area_eff_static=E, area_tap=np.pi / 4 * 0.025**2))
    np.testing.assert_allclose(nominal(one), expected, rtol=1e-6)


def test_a_weighed_run_against_back_pressure() -> None:
    cap = 2 * BAR
    plain = weighed(drained())
    assert plain.trace is not None
    over = np.where(made.FLOWING, cap, 0.0)
    channels = {"PM-OX": plain.trace.channels["PM-OX"] + over, "P-BACK": over}
    capped = replace(plain, trace=made.trace(channels), flows=(replace(plain.flows[0], p_back="P-BACK"),))
    one, base = prepared(capped)[0], prepared(plain)[0]
    np.testing.assert_allclose(nominal(one), E, rtol=1e-4)
    assert one.slices[0].cav == pytest.approx(base.slices[0].cav + cap / base.slices[0].dp, rel=1e-3)
    assert isinstance(one.evidence, StreamEvidence)
    assert one.evidence.p_out == pytest.approx(made.AMBIENT + cap)
    inside = (made.TIME > 4) & (made.TIME < 8)
    assert base.evidence is not None
    np.testing.assert_allclose(
        one.evidence.cav[inside], base.evidence.cav[inside] + cap / one.evidence.dp[inside], rtol=1e-3
    )


# --- by hand

START, END, VOLUME, LASTED = 8 * BAR, 6 * BAR, 0.06, 9.5


def by_hand(name: str = "H01", **changes: object) -> RunGiven:
    return made.by_hand(name, start=START, end=END, volume=VOLUME, time=LASTED, **changes)


def two_point(
    *, start: float = START, end: float = END, volume: float = VOLUME, time: float = LASTED, n: float = 1.2
) -> float:
    rho = made.rho_of(made.WARM, made.AMBIENT + 7 * BAR)
    head = rho * made.G * made.RISE
    return float(
        area_eff_two_point(
            p_abs_start=start + made.AMBIENT + head, p_abs_end=end + made.AMBIENT + head, p_abs_out=made.AMBIENT,
            volume_out=volume, time=time, n=n, rho=rho,
        )
    )  # fmt: skip


def test_a_run_by_hand_is_the_two_point_estimator() -> None:
    one, context = prepared(by_hand())
    np.testing.assert_allclose(nominal(one), two_point(), rtol=1e-9)
    assert one.slices[0].m_dot == pytest.approx(VOLUME * RHO / LASTED, rel=1e-3)
    dp = 7 * BAR + made.rho_of(made.WARM, made.AMBIENT + 7 * BAR) * made.G * made.RISE
    assert one.slices[0].dp == pytest.approx(dp, rel=1e-6)
    assert one.slices[0].cav == pytest.approx((made.AMBIENT + dp - 2004.0) / dp, rel=1e-3)
    assert one.slices[0].t == LASTED / 2
    np.testing.assert_allclose(
        moved(one, **{"manual.exponent": 0.1}), np.log(two_point(n=1.3) / two_point()), rtol=1e-9
    )
    np.testing.assert_allclose(moved(one, **{"H01.duration": 0.1}), -np.log(1 + 0.1 / LASTED), rtol=1e-6)
    np.testing.assert_allclose(moved(one, **{"H01.total": 6e-4}), np.log(1.01), rtol=1e-6)
    assert context.sources["manual.exponent"].u == 0.1
    assert context.sources["H01.PG.start.reading"].u == pytest.approx(0.2 * BAR / 4 / 3**0.5)


def test_start_and_end_by_hand_share_the_gauge_s_class_and_not_the_reading() -> None:
    one, context = prepared(by_hand())
    shift = 0.05 * BAR
    both = moved(one, **{"PG.class": shift})[0]
    assert both == pytest.approx(
        np.log(two_point(start=START + shift, end=END + shift) / two_point()), rel=1e-6
    )
    apart = moved(one, **{"H01.PG.start.reading": shift})[0] + moved(one, **{"H01.PG.end.reading": shift})[0]
    assert both == pytest.approx(apart, rel=5e-3)
    assert context.sources["PG.class"].scope == "instrument"
    assert context.sources["H01.PG.end.reading"].scope == "run"


def test_when_a_dial_was_read_counts_with_how_fast_it_fell() -> None:
    readings = (
        HandReading(instrument="PG", moment="start", value=START, u_time=0.2),
        HandReading(instrument="PG", moment="end", value=END),
    )
    _, context = prepared(by_hand(hand=readings))
    assert context.sources["H01.PG.start.time"].u == pytest.approx(0.2 * 2 * BAR / LASTED)
    assert "H01.PG.end.time" not in context.sources


def test_an_absolute_gauge_by_hand_has_the_barometer_taken_off() -> None:
    readings = tuple(
        HandReading(instrument="PA", moment=moment, value=value + made.AMBIENT, division=0.1 * BAR)
        for moment, value in (("start", START), ("end", END))
    )
    flows = (Flow(circuits=("ox",), lines=("BARE",), p_tap="PA"),)
    one, _ = prepared(by_hand(hand=readings, flows=flows))
    np.testing.assert_allclose(nominal(one), two_point(), rtol=1e-9)
    assert "barometer" in one.frozen.names


def test_water_weighed_by_hand_is_a_volume_by_its_density() -> None:
    rho = made.rho_of(made.WARM, made.AMBIENT + 7 * BAR)
    shown = VOLUME * rho * (1 - 1.2 / rho) / (1 - 1.2 / 8000)
    total = Total(mass=Stated(value=shown, u=0.1), duration=Stated(value=LASTED))
    one, _ = prepared(by_hand(total=total))
    np.testing.assert_allclose(nominal(one), two_point(), rtol=1e-9)
    # E = m / t / sqrt(2 rho dp): a denser water by 1 % takes half of it from a mass, adds half to a volume
    np.testing.assert_allclose(moved(one, **{"water.density": 0.01}), -0.005, rtol=3e-2)
    np.testing.assert_allclose(moved(prepared(by_hand())[0], **{"water.density": 0.01}), 0.005, rtol=3e-2)


def test_a_warmer_water_is_a_lighter_one() -> None:
    at = made.AMBIENT + 7 * BAR
    falls = made.rho_of(made.WARM + 0.5, at) - made.rho_of(made.WARM - 0.5, at)  # per kelvin
    one, context = prepared(by_hand())
    heavier = moved(one, **{"water.density": 1e-3})[0]
    lighter = moved(one, **{"water.thermometer": 1.0})[0]
    assert lighter / heavier == pytest.approx(falls / RHO / 1e-3, rel=2e-3)
    assert context.sources["water.thermometer"].u == 0.3
    assert context.sources["water.density"].u == 2e-4


def test_a_run_by_hand_on_a_total_basis() -> None:
    flows = (Flow(circuits=("tot",), lines=("BARE",), p_tap="PG"),)
    one, _ = prepared(by_hand(flows=flows))
    expected = float(total_from_static(area_eff_static=two_point(), area_tap=np.pi / 4 * 0.025**2))
    np.testing.assert_allclose(nominal(one), expected, rtol=1e-9)


# --- long minus short


def pair(short_volume: float, short_time: float) -> Campaign:
    long = replace(by_hand("L01"), method="long-minus-short", minus="S01")
    short = made.by_hand("S01", start=START, end=7.4 * BAR, volume=short_volume, time=short_time)
    return made.campaign(long, short)


def test_long_minus_short_takes_out_what_start_and_stop_add() -> None:
    # the same area in both, and in both the hand on the valve let 0.4 L more through than the stopwatch saw
    extra, true = 4e-4, 2.0e-4
    lasted = LASTED * two_point() / true
    short_time = 2.2 * two_point(start=START, end=7.4 * BAR, volume=0.012, time=2.2) / true
    campaign = pair(0.012 + extra, short_time)
    long = campaign.runs["L01"]
    total = Total(volume=Stated(value=VOLUME + extra, u=1e-4), duration=Stated(value=lasted, u=0.1))
    long = replace(long, total=total)
    campaign = replace(campaign, runs={"L01": long, "S01": campaign.runs["S01"]})
    one, _ = prepared(long, campaign)
    alone, _ = prepared(replace(long, method="by-hand"), campaign)
    assert nominal(one)[0] == pytest.approx(true, rel=1e-3)
    assert nominal(alone)[0] / true - 1 == pytest.approx(extra / VOLUME, rel=0.03)
    # ... and one gauge's class is one error in both
    assert {"PG.class", "L01.duration", "S01.duration", "L01.ox.setup"} <= set(one.frozen.names)
    assert "S01.ox.setup" not in one.frozen.names


def test_the_difference_is_the_difference_of_masses_over_the_difference_of_integrals() -> None:
    campaign = pair(0.012, 2.0)
    one, _ = prepared(campaign.runs["L01"], campaign)
    rho_s = made.rho_of(made.WARM, made.AMBIENT + 7.7 * BAR)
    rho_l = made.rho_of(made.WARM, made.AMBIENT + 7 * BAR)
    long, short = VOLUME * rho_l, 0.012 * rho_s
    root = long / two_point() - short / two_point(start=START, end=7.4 * BAR, volume=0.012, time=2.0)
    np.testing.assert_allclose(nominal(one), (long - short) / root, rtol=1e-5)


def test_the_short_run_counts_once() -> None:
    reduced = reduce(pair(0.012, 2.0))
    assert reduced.characteristics["ox"].weights == {"L01": 1.0}
    (short,) = reduced.runs["S01"].readings
    assert not short.used
    assert short.why == "used as the short run of L01"


def test_an_excluded_short_run_leaves_the_pair_without_an_answer() -> None:
    campaign = pair(0.012, 2.0)
    short = replace(campaign.runs["S01"], excluded="the hose slipped")
    reduced = reduce(replace(campaign, runs={**campaign.runs, "S01": short}))
    assert "ox" not in reduced.characteristics
    stop = next(one for one in reduced.notices if one.run == "L01")
    assert "S01" in stop.text
    assert "the hose slipped" in stop.text


def test_a_run_by_hand_against_back_pressure_is_refused_aloud() -> None:
    flows = (Flow(circuits=("ox",), lines=("BARE",), p_tap="PG", p_back="P-BACK"),)
    reduced = reduce(made.campaign(by_hand(flows=flows)))
    assert not reduced.characteristics
    assert [one.code for one in reduced.notices if "back-pressure" in one.text] == ["run-not-reduced"]
