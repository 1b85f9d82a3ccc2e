"""Water under air for more than an hour before a run is told; fresh water, or water at rest in open air, is not."""

from pathlib import Path

from support.bench_ledger import codes, event, state, walked

PRESSED = state("08:00", p={"WV-A": "30 bar(g)", "AV-A": "30 bar(g)"}, level={"WV-A": "1.2 m"})


def run(time: str) -> str:
    return event(time, "run", run="W01", level={"WV-A": "0.9 m"})


def test_an_hour_and_more(tmp_path: Path) -> None:
    (found,) = (one for one in walked(tmp_path, PRESSED, run("09:10")).notices if one.code == "soak-long")
    assert dict(found.facts)["soak"] == 70 * 60
    assert codes(tmp_path, PRESSED, run("08:59")) == []


def test_fresh_water_begins_anew(tmp_path: Path) -> None:
    water = event("08:30", "water", temperature="15 degC", fresh=True)
    assert codes(tmp_path, PRESSED, water, run("09:10")) == []
    drained, filled = (
        event("08:30", "drain", vessel="WV-A"),
        event("08:40", "fill", vessel="WV-A", level={"WV-A": "1.2 m"}),
    )
    again = state("08:45", p={"WV-A": "30 bar(g)"})
    assert codes(tmp_path, PRESSED, drained, filled, again, run("09:10")) == []


def test_topping_up_is_not_fresh(tmp_path: Path) -> None:
    topped = event("08:40", "fill", vessel="WV-A", level={"WV-A": "1.3 m"}, p={"WV-A": "30 bar(g)"})
    assert codes(tmp_path, PRESSED, topped, run("09:10")) == ["soak-long"]


def test_open_air_takes_no_part(tmp_path: Path) -> None:
    vented = event("08:05", "vent", vessel="WV-A")
    assert codes(tmp_path, PRESSED, vented, run("09:30")) == []
