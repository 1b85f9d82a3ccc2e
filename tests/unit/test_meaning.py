"""What a column or a file may be besides what run.toml says: raw signals, twins, other days, other runs."""

import datetime
from pathlib import Path

import numpy as np
import pytest

from headrace.files.folder import gather
from headrace.files.meaning import dates_in, doubts_of_circuit, doubts_of_column
from headrace.notices import Notice, Severity
from support import golden_folder
from support.hand_made import BAR, instrument

TIME = np.arange(0.0, 18.0, 0.05)
FLOWING = (TIME > 3) & (TIME < 14)


def column(stored: np.ndarray, high: float, unit: float = BAR, measures: str = "gauge") -> list[Notice]:
    one = instrument("PM-OX", measures, high)
    return list(doubts_of_column("runs/W01/W01.csv", "p", one, stored, stored * unit))


def course(top: float, rest: float = 0.0) -> np.ndarray:
    dice = np.random.default_rng(2)
    falling = rest + (top - rest) * np.exp(-(TIME - 3) / 20)
    return np.where(FLOWING, falling, rest) + dice.normal(0, 1e-3, TIME.size)


@pytest.mark.parametrize(
    ("stored", "high"),
    [(course(6.0), 10 * BAR), (course(9.9), 10 * BAR), (course(6.0, rest=0.3), 10 * BAR)],
)
def test_clean(stored: np.ndarray, high: float) -> None:
    assert column(stored, high) == []


def test_values_far_beyond_the_range_stop() -> None:
    (notice,) = column(course(2900.0, rest=410.0), 10 * BAR)  # counts of a converter
    assert (notice.code, notice.severity) == ("values-not-in-range", Severity.STOP)
    assert "PM-OX can show, 0 bar(g) to 10" in notice.text
    assert dict(notice.facts)["share"] == 1.0


def test_some_beyond_are_a_doubt() -> None:
    stored = course(6.0)
    stored[100:110] = -9999.0  # 3 %: a wire that came off
    (notice,) = column(stored, 10 * BAR)
    assert notice.severity is Severity.DOUBT
    stored[100:110] = 11.5
    assert len(column(stored, 10 * BAR)) == 1
    stored[100:110] = 10.9
    assert column(stored, 10 * BAR) == []


@pytest.mark.parametrize(("rest", "top"), [(1.02, 3.9), (0.51, 4.4), (4.05, 17.2)])
def test_a_live_zero_under_the_name_of_a_pressure_is_a_doubt(rest: float, top: float) -> None:
    (notice,) = column(course(top, rest), 40 * BAR)
    assert (notice.code, notice.severity) == ("values-not-in-range", Severity.DOUBT)
    assert f"rests at {rest:.2f}"[:12] in notice.text
    assert column(course(top, rest), 40 * BAR, measures="abs") == []


def test_a_gauge_before_a_shut_valve_is_no_raw_signal() -> None:
    held = np.where(TIME < 3, 8.0, np.where(FLOWING, 8.0 - 4.0 * (TIME - 3) / 11, 4.02))
    assert column(held, 40 * BAR) == []


@pytest.mark.parametrize(
    ("name", "days"),
    [
        ("2026-03-12_W07.csv", ["2026-03-12"]),
        ("log20260312.txt", ["2026-03-12"]),
        ("12.03.2026 run.csv", ["2026-03-12", "2026-12-03"]),
        ("25_03_2026.csv", ["2026-03-25"]),
        ("W07.csv", []),
        ("20261399.csv", []),
        ("serial 120260312.csv", []),
    ],
)
def test_dates_in_names(name: str, days: list[str]) -> None:
    assert [str(day) for day in dates_in(name)] == days


def notices_of(
    tmp_path: Path, file: str = "W07.csv", raw: str | None = None, more: str = ""
) -> dict[str, Notice]:
    files = golden_folder.files()
    text = files["runs/W07/W07.csv"] if raw is None else raw
    run = files["runs/W07/run.toml"].replace('"W07.csv"', f'"{file}"').replace("[tare]", more + "[tare]")
    changed: dict[str, str | None] = {
        "runs/W07/W07.csv": None, "runs/W07/W07.csv.sha256": None,
        f"runs/W07/{file}": text, "runs/W07/run.toml": run,
    }  # fmt: skip
    gathered = gather(golden_folder.write(tmp_path, changed))
    assert gathered.problems == ()
    return {one.code: one for one in gathered.notices}


def test_a_name_of_another_day_or_run_is_shown(tmp_path: Path) -> None:
    found = notices_of(tmp_path, "2026-03-11 W08.csv")
    assert found["date-differs"].severity is Severity.DOUBT
    assert "2026-03-11 in its name; the run is dated 2026-03-12" in found["date-differs"].text
    assert found["name-differs"].severity is Severity.INFO
    assert '"W08"' in found["name-differs"].text


@pytest.mark.parametrize("name", ["fuel.csv", "W07 FUEL_2.csv", "inj-fuel.csv"])
def test_a_name_of_another_circuit_is_shown(tmp_path: Path, name: str) -> None:
    found = notices_of(tmp_path, name)["name-differs"]
    assert found.severity is Severity.INFO
    assert 'says "fuel" in its name; its flow is into ox.' in found.text


@pytest.mark.parametrize("name", ["fuel and ox.csv", "fueling.csv", "ox.csv"])
def test_a_name_that_may_be_of_this_circuit_is_not(tmp_path: Path, name: str) -> None:
    assert "name-differs" not in notices_of(tmp_path, name)


def test_a_sheet_of_another_circuit_is_shown() -> None:
    (found,) = doubts_of_circuit("runs/W07/day.xlsx", "Fuel 2", ["ox"], ["ox", "fuel"])
    assert 'says "fuel" as the name of its table' in found.text
    assert not [*doubts_of_circuit("runs/W07/day.xlsx", "Fuel 2", ["ox", "fuel"], ["ox", "fuel"])]
    assert not [*doubts_of_circuit("runs/W07/a.xlsx", None, ["ox"], ["ox", "a"])]


@pytest.mark.parametrize("name", ["W07.csv", "w7 2026-03-12.csv", "W07 12.03.2026.csv", "test.csv"])
def test_a_name_that_agrees_is_not(tmp_path: Path, name: str) -> None:
    assert not {"date-differs", "name-differs"} & set(notices_of(tmp_path, name))


@pytest.mark.parametrize(("day", "told"), [(12, False), (11, True), (13, True)])
def test_a_record_that_begins_on_another_day(tmp_path: Path, day: int, told: bool) -> None:
    begin = datetime.datetime(2026, 3, day, 10, 0, 0)
    lines = golden_folder.rows().splitlines()
    out = [lines[0].replace("t [s]", "time")]
    for line in lines[1:]:
        t, _, rest = line.partition(";")
        stamp = begin + datetime.timedelta(seconds=float(t.replace(",", ".")))
        out.append(f"{stamp.isoformat(sep=' ', timespec='milliseconds')};{rest}")
    found = notices_of(tmp_path, raw="\n".join(out) + "\n")
    assert ("date-differs" in found) == told


def test_two_columns_that_are_one(tmp_path: Path) -> None:
    lines = golden_folder.rows().splitlines()
    dice = np.random.default_rng(3)
    noisy = [f"{12.5 + dice.normal(0, 0.01):.4f}".replace(".", ",") for _ in lines[1:]]

    def record(twin: bool) -> str:
        out = [f"{lines[0]};p2 [bar(g)]"]
        for line, value in zip(lines[1:], noisy, strict=True):
            t, dp, _, temp = line.split(";")
            out.append(";".join((t, dp, value, temp, value if twin else value[:-1] + "9")))
        return "\n".join(out) + "\n"

    more = '"p2" = { instrument = "PG-TAP" }\n'
    found = notices_of(tmp_path / "a", raw=record(twin=True), more=more)
    assert found["columns-identical"].severity is Severity.DOUBT
    assert '"p manifold" (PM-OX) and "p2" (PG-TAP)' in found["columns-identical"].text
    assert "columns-identical" not in notices_of(tmp_path / "b", raw=record(twin=False), more=more)
