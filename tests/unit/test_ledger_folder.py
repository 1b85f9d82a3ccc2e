"""ledger.toml as typed: doubts of readings, refusals with their lines, and what a run takes from it."""

from pathlib import Path
from typing import Any

import pytest

from headrace.files.check import check
from headrace.files.folder import read
from headrace.notices import Severity
from support import golden_folder
from support.bench_ledger import HEAD, event, state, write

BENCH = golden_folder.BENCH.replace('id = "B"\n', 'id = "B"\nvessel = "WV-A"\n').replace(
    'bore = "52.5 mm"\n', 'bore = "52.5 mm"\nvessel = "WV-A"\n'
)
AROUND = (
    event("08:50", "barometer", ambient="1007 mbar(a) ± 1 mbar"),
    event("08:55", "water", temperature="17.0 degC ± 0.5 K"),
    state("09:00", level={"WV-A": "1.200 m"}),
    event("09:10", "run", run="W07", level={"WV-A": "0.950 m"}),
)


def folder(where: Path, *events: str, **changed: str) -> Path:
    """The golden folder with a ledger; changed: run files by id with their new text."""
    ledger = HEAD + "".join(f"[[event]]\n{one}\n" for one in events)
    runs = {f"runs/{run}/run.toml": text for run, text in changed.items()}
    return golden_folder.write(where, {"bench.toml": BENCH, "ledger.toml": ledger, **runs})


def problems(where: Path, *events: str, head: str = HEAD) -> list[tuple[int | None, str]]:
    found = check(write(where, *events, head=head))
    assert all(one.file == "ledger.toml" for one in found.problems)
    return [(one.line, one.key) for one in found.problems]


def test_every_fault_at_once_with_its_line(tmp_path: Path) -> None:
    events = (
        state("25:10", p={"AV-X": "30 bar(g)"}),
        event("09:00", "vnt", vessel="AV-A"),
        event("09:10", "fill", vessel="WV-A", level={"AV-A": "1 m"}),
        event("09:20", "zero-check", instrument="PM-OX", shows="3 mm"),
        event("09:30", "move", from_="AV-A", to="AV-A"),
        event("09:40", "drain", vessel="AV-B"),
        event(
            "09:50", "leak-check", vessel="AV-A", p_before="30 bar(g)", p_after="30 bar", duration="10 min"
        ),
        state("10:00"),
        state("10:10", level={"WV-A": "9 m"}),
    )
    first = check(write(tmp_path, *events))
    keys = {one.key for one in first.problems}
    assert {"event[0].time", "event[1].what", "event[4].to", "event[6].p_after"} <= keys
    assert {"event[0].p.AV-X", "event[2].level.AV-A"} <= keys
    assert all(one.line is not None and one.line > 5 for one in first.problems)


@pytest.mark.parametrize(
    ("bad", "key"),
    [
        (event("09:20", "zero-check", instrument="PM-OX", shows="3 mm"), "event[0].shows"),
        (event("09:40", "drain", vessel="AV-B"), "event[0].vessel"),
        (state("10:00"), "event[0]"),
        (state("10:10", level={"WV-A": "9 m"}), "event[0].level.WV-A"),
        (event("10:20", "run", run="W01", p={"WV-A": "-3 bar(g)"}), "event[0].p.WV-A"),
        (event("10:20", "fill", vessel="WV-Z"), "event[0].vessel"),
        (event("10:20", "valve", valve="V-A", position="ajar"), "event[0].position"),
        (event("10:20", "state", valves={"V-Q": "open"}), "event[0].valves.V-Q"),
    ],
)
def test_nonsense_is_refused(tmp_path: Path, bad: str, key: str) -> None:
    assert [one for _, one in problems(tmp_path, bad)] == [key]


@pytest.mark.parametrize(
    ("text", "limits"),
    [
        ("31.0 bar(g) ± 0.3 bar", 0.3e5),
        ("31.0 bar(g)", 0.1e5),
        ("31 bar(g)", 1e5),
        ("3,10 MPa(g)", 1e4),
        ("450 psi(g)", 6894.757),
    ],
)
def test_a_reading_without_a_doubt_has_its_last_digit(tmp_path: Path, text: str, limits: float) -> None:
    head = "\n".join(line for line in HEAD.splitlines() if "doubt" not in line) + "\n"
    ledger = read(write(tmp_path, state("09:00", p={"AV-A": text}), head=head)).ledger
    assert ledger is not None
    assert ledger.events[0].p_gauge["AV-A"].u == pytest.approx(limits / 3**0.5)


def test_the_page_says_the_doubt_of_the_rest(tmp_path: Path) -> None:
    ledger = read(write(tmp_path, state("09:00", p={"AV-A": "31 bar(g)"}))).ledger
    assert ledger is not None
    assert ledger.events[0].p_gauge["AV-A"].u == pytest.approx(0.05e5 / 3**0.5)


def test_a_run_takes_barometer_water_and_levels(tmp_path: Path) -> None:
    metered = golden_folder.METERED.replace('ambient = "1009 mbar(a) ± 1 mbar"\n', "")
    run = read(folder(tmp_path, *AROUND, W07=metered)).runs["W07"]
    assert (run.ambient.value, run.ambient.origin) == (pytest.approx(100700), "ledger.toml, event 1")
    assert run.water_temperature is not None
    assert (run.water_temperature.value, run.water_temperature.origin) == (290.15, "ledger.toml, event 2")
    assert run.total is not None
    assert run.total.volume is not None
    assert run.total.volume.value == pytest.approx(0.283 * 0.25)
    assert run.total.volume.u == pytest.approx(0.283 * 2e-3 / 3**0.5 * 2**0.5)
    assert run.total.section_u_rel == pytest.approx(0.005 / 3**0.5)
    assert run.total.origin == "ledger.toml, events 3 and 4"


def test_the_nearest_event_counts(tmp_path: Path) -> None:
    """The latest before the run, not the first of the file and not one after it; else the first of the day after."""
    metered = golden_folder.METERED.replace('ambient = "1009 mbar(a) ± 1 mbar"\n', "")
    early = event("07:00", "barometer", ambient="1001 mbar(a)")
    late = event("09:30", "barometer", ambient="1003 mbar(a)")
    assert read(folder(tmp_path, early, *AROUND, late, W07=metered)).runs[
        "W07"
    ].ambient.value == pytest.approx(100700)
    later = read(folder(tmp_path, AROUND[3], late, W07=metered)).runs["W07"]
    assert later.ambient.value == pytest.approx(100300)


def test_neither_says_the_barometer(tmp_path: Path) -> None:
    metered = golden_folder.METERED.replace('ambient = "1009 mbar(a) ± 1 mbar"\n', "")
    (found,) = check(golden_folder.write(tmp_path, {"runs/W07/run.toml": metered})).problems
    assert (found.file, found.key) == ("runs/W07/run.toml", "ambient")
    assert "ledger.toml" in found.expected


def test_water_moved_in_between_leaves_no_total(tmp_path: Path) -> None:
    filled = event("09:05", "fill", vessel="WV-A")
    assert read(folder(tmp_path, *AROUND[:3], filled, AROUND[3])).runs["W07"].total is None
    after = state("09:30", level={"WV-A": "0.950 m"})
    run = event("09:10", "run", run="W07")
    assert read(folder(tmp_path, *AROUND[:3], run, after)).runs["W07"].total is not None
    again = event("09:20", "fill", vessel="WV-A", level={"WV-A": "1.3 m"})
    assert read(folder(tmp_path, *AROUND[:3], run, again, after)).runs["W07"].total is None


def test_a_run_by_hand_names_only_its_vessel(tmp_path: Path) -> None:
    bare = (
        "\n".join(line for line in golden_folder.BY_HAND.splitlines() if not line.startswith("level_")) + "\n"
    )
    around = (AROUND[2], event("09:10", "run", run="H01", level={"WV-A": "0.980 m"}))
    total = read(folder(tmp_path / "a", *around, H01=bare)).runs["H01"].total
    assert total is not None
    assert total.volume is not None
    assert total.volume.value == pytest.approx(0.283 * 0.22)
    assert total.duration is not None
    (found,) = check(golden_folder.write(tmp_path / "b", {"runs/H01/run.toml": bare})).problems
    assert found.key == "total.level_before"


def contradicts(where: Path, **said: Any) -> list[str]:
    events = (event("08:50", "barometer", ambient=said["ambient"]), event("09:10", "run", run="W07"))
    found = read(folder(where, *events)).runs["W07"].notices
    assert all(
        one.severity is Severity.DOUBT and one.run == "W07"
        for one in found
        if one.code == "ledger-contradicts"
    )
    return [one.code for one in found if one.code == "ledger-contradicts"]


def test_run_toml_wins_and_a_contradiction_is_told(tmp_path: Path) -> None:
    assert contradicts(tmp_path, ambient="990 mbar(a) ± 1 mbar") == ["ledger-contradicts"]
    assert read(tmp_path).runs["W07"].ambient.value == pytest.approx(100900)


def test_what_a_barometer_may_drift_is_no_contradiction(tmp_path: Path) -> None:
    assert contradicts(tmp_path, ambient="1008 mbar(a) ± 1 mbar") == []


def test_a_broken_ledger_is_told_alone(tmp_path: Path) -> None:
    """A run that leans on it is not told to lack what the ledger would say."""
    metered = golden_folder.METERED.replace('ambient = "1009 mbar(a) ± 1 mbar"\n', "")
    found = check(folder(tmp_path, *AROUND, event("nine", "note", note="x"), W07=metered)).problems
    assert [one.file for one in found] == ["ledger.toml"]


def test_soak_goes_with_its_run_everywhere(tmp_path: Path) -> None:
    """A long soak is a doubt of the run in the campaign itself, so that every result carries it."""
    pressed = state("07:00", p={"WV-A": "20 bar(g)"})
    found = [one for one in read(folder(tmp_path, pressed, AROUND[3])).notices if one.code == "soak-long"]
    assert [one.run for one in found] == ["W07"]


def test_instruments_stand_in_the_room_of_the_ledger_unless_the_run_says(tmp_path: Path) -> None:
    ledger = HEAD + "".join(f"[[event]]\n{one}\n" for one in AROUND)
    campaign = read(golden_folder.write(tmp_path / "a", {"bench.toml": BENCH, "ledger.toml": ledger}))
    air = campaign.runs["W07"].air_temperature
    assert air is not None
    assert (air.value, air.u) == (pytest.approx(288.15), pytest.approx(1 / 3**0.5))
    assert air.origin == "ledger.toml, room"
    assert all(run.air_temperature is None for key, run in campaign.runs.items() if key != "W07")
    own = golden_folder.files()["runs/W07/run.toml"]
    own = own.replace('kind = "water"', 'kind = "water"\nair_temperature = "21 degC"', 1)
    changed = {"bench.toml": BENCH, "ledger.toml": ledger, "runs/W07/run.toml": own}
    said = read(golden_folder.write(tmp_path / "b", changed)).runs["W07"].air_temperature
    assert said is not None
    assert (said.value, said.origin) == (pytest.approx(294.15), "runs/W07/run.toml, air_temperature")
