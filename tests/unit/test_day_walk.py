"""What stands after each event, against numbers worked by hand."""

from pathlib import Path

import pytest

from headrace import app
from headrace.errors import InputError
from headrace.physics.gas.settling import coldest_expansion, settled_p_abs, warmest_fill
from headrace.records.day import Known
from support.bench_ledger import event, state, walked, write

START = state(
    "09:00",
    p={"AV-A": "29.00 bar(g)", "WV-A": "0.00 bar(g)"},
    level={"WV-A": "1.200 m"},
    valves={"V-A": "shut"},
)


def value(known: Known | None) -> float:
    assert known is not None
    return known.value


def test_water_gas_and_air_of_a_level_and_a_pressure(tmp_path: Path) -> None:
    """0.010 + 0.250 * 1.2 = 0.310 m3 of water, 0.090 m3 of gas; 30 bar(a) * 1 m3 / (287.05 * 288.15) = 36.27 kg."""
    done = walked(tmp_path, START)
    water, air = done.day.vessels["WV-A"], done.day.vessels["AV-A"]
    assert value(water.water) == pytest.approx(0.310)
    assert value(water.gas) == pytest.approx(0.090)
    assert value(air.air) == pytest.approx(30e5 / (287.0475 * 288.15), rel=1e-6)
    assert air.temp is not None
    assert air.temp.value == pytest.approx(288.15)
    assert water.level is not None
    assert water.level.u == pytest.approx(2e-3 / 3**0.5)
    assert water.water is not None
    assert water.water.u == pytest.approx(
        ((0.25 * 2e-3 / 3**0.5) ** 2 + (1.2 * 0.25 * 0.005 / 3**0.5) ** 2) ** 0.5
    )


def test_an_open_valve_makes_one_gas(tmp_path: Path) -> None:
    """A pressure read on one side counts for the other; a vent of the one lets both down."""
    opened = event("09:10", "valve", valve="V-A", position="open", p={"AV-A": "26.52 bar(g)"})
    done = walked(tmp_path, START, opened)
    assert value(done.day.vessels["WV-A"].p_gauge) == pytest.approx(26.52e5)
    vented = walked(tmp_path, START, opened, event("09:30", "vent", vessel="WV-A"))
    assert value(vented.day.vessels["AV-A"].p_gauge) == 0
    lost = vented.day.air_vented
    assert lost is not None
    assert lost.value == pytest.approx(1.09 * 26.52e5 / (287.0475 * 288.15), rel=0.03)


def test_an_event_makes_old_readings_stale(tmp_path: Path) -> None:
    done = walked(tmp_path, START, event("09:10", "fill", vessel="WV-A"), event("09:20", "run", run="W01"))
    water, air = done.day.vessels["WV-A"], done.day.vessels["AV-A"]
    assert water.level is not None
    assert water.level.stale == "before event 2, 09:10, fill"
    assert air.p_gauge is not None
    assert air.p_gauge.stale == "before event 3, 09:20, run"
    assert done.day.last_run is not None


def test_gas_that_expanded_is_cold_and_warms(tmp_path: Path) -> None:
    """30 to 20 bar(a) at n = 1.2: 288.15 * (2/3)^(1/6) = 269.3 K at once, a seventh of the gap left after 10 min."""
    run = event("09:10", "run", run="W01", p={"AV-A": "19.00 bar(g)"})
    cold = value(walked(tmp_path, START, run).day.vessels["AV-A"].temp)
    assert cold == pytest.approx(269.33, abs=0.01)
    later = value(walked(tmp_path, START, run, event("09:20", "note", note="wait")).day.vessels["AV-A"].temp)
    assert later == pytest.approx(288.15 - 18.82 * 0.1353, abs=0.01)


def test_a_moment_back_in_the_day(tmp_path: Path) -> None:
    moment = walked(tmp_path, START).day.steps[0].event.moment
    folder = write(tmp_path, START, event("09:10", "vent", vessel="AV-A"))
    back = app.day(folder, at=moment.replace(hour=9, minute=5))
    assert value(back.day.vessels["AV-A"].p_gauge) == pytest.approx(29e5)
    assert value(app.day(folder, at=moment.time().replace(minute=10)).day.vessels["AV-A"].p_gauge) == 0
    with pytest.raises(InputError, match="after the first event"):
        app.day(folder, at=moment.replace(hour=8))


def test_a_folder_without_a_ledger_says_so(tmp_path: Path) -> None:
    folder = write(tmp_path)
    with pytest.raises(InputError, match="no event of the day"):
        app.day(folder)


def test_settling_after_thirty_percent_of_expansion() -> None:
    """1.3^(n - 1): 1.027, 1.054, 1.082, 1.111 for n = 1.1, 1.2, 1.3, 1.4. Closed form."""
    ratios = [float(settled_p_abs(p_abs_end=1.0, volume_ratio=1.3, n=n)) for n in (1.1, 1.2, 1.3, 1.4)]
    assert ratios == pytest.approx([1.027, 1.054, 1.082, 1.111], abs=5e-4)
    assert float(coldest_expansion(pressure_ratio=1.3**-1.4)) == pytest.approx(1.3**0.4)


def test_a_vessel_filled_from_nothing_is_hottest() -> None:
    """gamma times the temperature of the supply: the textbook limit of filling an evacuated vessel."""
    assert float(warmest_fill(pressure_ratio=1e-9)) == pytest.approx(1.4)
    assert float(warmest_fill(pressure_ratio=1 - 1e-9)) == pytest.approx(1.0)
