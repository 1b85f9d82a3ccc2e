"""The golden folder reads to the SI values that its texts state; doubts become standard uncertainties once."""

import datetime
import math
from pathlib import Path

import numpy as np
import pytest

from headrace.files.folder import read
from headrace.jobs.reduce.context import bore_area
from headrace.records.given import Campaign
from support import golden_folder

ROOT3 = math.sqrt(3)


@pytest.fixture(scope="module")
def campaign(tmp_path_factory: pytest.TempPathFactory) -> Campaign:
    return read(golden_folder.write(tmp_path_factory.mktemp("golden")))


def test_campaign_file(campaign: Campaign) -> None:
    assert (campaign.name, campaign.date) == ("Heron water campaign", datetime.date(2026, 3, 14))
    assert campaign.invented
    assert campaign.signers == ("A. Example", "B. Example")
    limits, defaults = campaign.limits, campaign.defaults
    assert (limits.injector_drop, limits.vapour_margin, limits.tare_shift) == (0.12, 3e5, 0.002)
    assert (limits.cavitation_doubt, limits.cavitation_stop, limits.window) == (2.1, 1.6, 1.5)
    assert (defaults.run_to_run, defaults.day_to_day, defaults.re_distance) == (0.004, 0.002, 0.006)
    assert (defaults.water_density, defaults.polytropic) == (0.0003, (1.25, 0.08))
    assert (defaults.coverage, defaults.draws) == (0.95, 20000)


def test_instruments(campaign: Campaign) -> None:
    one = campaign.bench.instruments["DP-A"]
    assert (one.low, one.high, one.signal, one.signal_unit) == (0.0, 2.5e5, (0.004, 0.02), "A")
    assert one.accuracy.of_span == pytest.approx(0.001 / ROOT3, rel=1e-12)
    assert (one.accuracy.dist, one.accuracy.of_reading) == ("rectangular", 0.0)
    assert one.drift == pytest.approx(0.0005 / ROOT3, rel=1e-12)
    assert one.lag is not None
    assert one.height is not None
    assert (one.lag.value, one.height.value, one.certificate) == (0.02, 0.4, "C-101")
    two = campaign.bench.instruments["PM-OX"].accuracy
    assert (two.of_reading, two.of_span, two.dist) == (0.001, 0.00025, "normal")
    thermometer = campaign.bench.instruments["TW-A"]
    assert (thermometer.low, thermometer.high) == (273.15, 323.15)
    assert thermometer.accuracy.absolute == pytest.approx(0.5 / ROOT3, rel=1e-12)
    gauge = campaign.bench.instruments["PG-TAP"]
    assert gauge.accuracy.of_span == pytest.approx(0.016 / ROOT3, rel=1e-12)
    assert gauge.division == 5e4
    assert campaign.bench.instruments["P-BACK"].high == 6e5


def test_meter_line_tap_vessel(campaign: Campaign) -> None:
    meter = campaign.bench.meters["FV-A"]
    assert meter.values["d_throat"].value == 0.02602
    assert meter.values["d_throat"].u == pytest.approx(1e-5 / ROOT3, rel=1e-12)
    assert meter.values["d_throat"].origin == "bench.toml, meter FV-A, d_throat"
    assert meter.values["c"].u == pytest.approx(0.9885 * 0.003, rel=1e-12)
    assert meter.values["c"].dist == "normal"
    assert meter.instruments == {"dp": "DP-A", "p_up": "P1-A"}
    line = campaign.bench.lines["A"]
    assert (line.meter, line.temperature, line.bore, line.inertance) == ("FV-A", "TW-A", 0.0525, 900.0)
    tap = campaign.bench.taps["T-OX"]
    assert (tap.height.value, tap.bore, tap.basis) == (0.35, 0.04, "static")
    assert tap.height.u == pytest.approx(0.005 / ROOT3, rel=1e-12)
    vessel = campaign.bench.vessels["WV-A"]
    assert (vessel.volume.value, vessel.rating, vessel.relief) == (0.4, 4e6, 3.8e6)


def test_certificates(campaign: Campaign) -> None:
    one = campaign.certificates["C-101"]
    assert (one.accuracy.of_reading, one.accuracy.of_span, one.reference) == (0.00025, 0.0001, "DWT-2")
    assert one.points == ((0.0, 40.0), (250000.0, 250090.0))
    assert campaign.references["DWT-2"].of_reading == 0.0001
    assert campaign.certificates["C-201"].accuracy.of_reading == 0.002


def test_article(campaign: Campaign) -> None:
    ox, fuel = campaign.article.circuits["ox"], campaign.article.circuits["fuel"]
    assert ox.area is not None
    assert ox.area.value == pytest.approx(67.9e-6, rel=1e-12)
    assert fuel.area is None
    area = bore_area(fuel)  # not stated: count times pi/4 bore squared, twice the bore's relative doubt
    assert bore_area(ox) is ox.area
    assert area.value == pytest.approx(60 * math.pi / 4 * 0.0008**2, rel=1e-12)
    assert area.u / area.value == pytest.approx(2 * 1e-5 / ROOT3 / 0.0008, rel=1e-12)
    assert (ox.count, ox.alloy, ox.outlet_height.value) == (60, "austenitic-steel", 0.3)


def test_engine(campaign: Campaign) -> None:
    engine = campaign.engine
    assert engine is not None
    assert (engine.d_throat.value, engine.c_throat.value, engine.ambient.value) == (0.0984, 0.985, 101300.0)
    assert engine.c_star.p_chamber == (1.5e6, 2.5e6)
    assert engine.c_star.c_star[1] == (1785.0, 1790.0)
    assert (engine.c_star.u_rel, engine.c_star.efficiency.u) == (0.005, 0.02)
    assert (engine.design.p_chamber, engine.design.m_dot, engine.design.of_ratio) == (2e6, None, 2.2)
    ox, fuel = engine.sides["ox"], engine.sides["fuel"]
    assert (ox.temperature.value, ox.density and ox.density.value) == (90.5, 1143.0)
    assert ox.circuits[0].step == 0.03
    assert ox.circuits[0].shared_step == "same drill"
    assert ox.feed.area_eff is not None
    assert ox.feed.area_eff.u == pytest.approx(2.9e-4 * 0.02 / ROOT3, rel=1e-12)
    assert (ox.feed.friction, ox.feed.re_stated, ox.feed.head.value) == (0.4, 1.5e5, 1.8)
    assert (ox.tank.rating, ox.tank.relief, ox.tank.setting) == (5e6, 4.6e6, 2e4)
    assert (ox.tank.droop.value, ox.tank.lockup.value) == (8e4, 3e4)
    assert [(one.id, one.film) for one in fuel.circuits] == [("fuel", False), ("film", True)]
    assert fuel.circuits[0].step_ratio is not None
    assert fuel.circuits[0].step_ratio.u == pytest.approx(0.01, rel=1e-12)
    assert fuel.feed.area_eff is None
    assert engine.instruments["PG-OX"].high == 6e6


def test_step_of_exactly_zero_is_allowed(tmp_path: Path) -> None:
    engine = golden_folder.ENGINE.replace('step = "3 %"', 'step = "0 %"')
    read_ = read(golden_folder.write(tmp_path, {"engine.toml": engine}))
    assert read_.engine is not None
    assert read_.engine.sides["ox"].circuits[0].step == 0.0


def test_trace_is_in_si_and_knows_its_lines(campaign: Campaign) -> None:
    run = campaign.runs["W07"]
    trace = run.trace
    assert trace is not None
    assert sorted(trace.channels) == ["DP-A", "PM-OX", "TW-A"]
    flowing = (trace.time > 2.05) & (trace.time < 14.95)
    assert np.allclose(trace.channels["DP-A"][flowing], 0.5 * 2.5e5, rtol=1e-12)  # 12 mA of 4 to 20
    assert np.allclose(trace.channels["PM-OX"][flowing], 12.5e5, rtol=1e-12)  # gauge stays gauge
    assert np.allclose(trace.channels["TW-A"], 290.4, rtol=1e-12)
    assert (trace.time[0], trace.time[-1]) == (0.0, pytest.approx(18.0))
    assert trace.origin.lines == (2, 182)
    assert trace.origin.sha256 == campaign.inputs["runs/W07/W07.csv"]
    assert (run.tare_before, run.tare_after) == ((0.0, 1.5), (16.0, 18.0))
    assert run.window is not None
    assert (run.window.start, run.window.end) == (3.0, 9.5)


def test_hand_run(campaign: Campaign) -> None:
    run = campaign.runs["H01"]
    start, end = run.hand
    assert (start.value, start.division, start.time, start.reader) == (12.4e5, 2e4, 0.0, "AB")
    assert start.u_time == pytest.approx(0.3 / ROOT3, rel=1e-12)
    assert (end.value, end.division) == (9.5e5, 5e4)  # decimal comma; the gauge's own division
    total = run.total
    assert total is not None
    assert total.volume is not None
    assert total.volume.value == pytest.approx(0.283 * 0.22, rel=1e-12)
    assert total.volume.u == pytest.approx(0.283 * math.sqrt(2) * 1e-3 / ROOT3, rel=1e-12)
    assert total.section_u_rel == pytest.approx(
        0.005 / ROOT3, rel=1e-12
    )  # apart: shared by all runs on the vessel
    assert (total.vessel, total.line) == ("WV-A", "B")
    assert run.ambient.value == 100900.0
    assert run.water_temperature is not None
    assert run.water_temperature.value == pytest.approx(290.35)


def test_pair_and_exclusion(campaign: Campaign) -> None:
    run = campaign.runs["H02"]
    assert (run.minus, run.excluded) == ("H01", "the hose came off the weigh tank")
    assert run.total is not None
    assert run.total.mass is not None
    assert (run.total.mass.value, run.total.instrument) == (61.3, "SCALE-1")


def test_every_input_is_hashed(campaign: Campaign) -> None:
    expected = {name for name in golden_folder.files() if not name.endswith(".sha256")}
    assert set(campaign.inputs) == expected


def test_units_of_a_folder_do_not_matter(tmp_path: Path) -> None:
    """One bench written in other units is the same bench."""
    bench = golden_folder.BENCH
    for old, new in (
        ("2.5 bar", "250 kPa"),
        ("52.48 mm ± 0.03 mm", "5.248 cm ± 30 um"),
        ("900 1/m", "0.9 1/mm"),
    ):
        bench = bench.replace(old, new)
    ours = read(golden_folder.write(tmp_path / "a")).bench
    theirs = read(golden_folder.write(tmp_path / "b", {"bench.toml": bench})).bench
    assert theirs.instruments["DP-A"].high == ours.instruments["DP-A"].high
    assert theirs.meters["FV-A"].values["d_pipe"].value == ours.meters["FV-A"].values["d_pipe"].value
    assert theirs.lines["A"].inertance == ours.lines["A"].inertance
