"""Every command's JSON has the documented shape, and the text tells the same numbers."""

import datetime
import json
from collections.abc import Iterator
from math import isclose
from pathlib import Path
from typing import Any

import pytest

from headrace.paper.numbers import bounds, pieces
from headrace.records.answers import Estimate
from support import json_shapes as shapes
from support.commands import headrace


def estimate(quantity: dict[str, Any]) -> Estimate:
    """A quantity of a JSON document as the record it came from."""
    return Estimate(**{**quantity, "dof": quantity["dof"] or float("inf")})


def quantities(document: Any, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every quantity of a document by its dotted path."""
    if isinstance(document, dict):
        if "coverage" in document:
            yield path, document
        else:
            for key, inner in document.items():
                yield from quantities(inner, f"{path}.{key}" if path else key)


def test_reduce(small: Path) -> None:
    """Shape, and what item by item must hold in it; the same document is left under results/."""
    ended = headrace("reduce", small, "--json")
    document = ended.json(shapes.REDUCE)
    assert (ended.code, ended.err) == (0, "")
    assert set(document["circuits"]) == {"ox", "fuel"}
    assert set(document["runs"]) == {"W01", "W03", "W14", "W15"}
    for key, circuit in document["circuits"].items():
        area = circuit["area_eff"]
        assert area["low"] < area["value"] < area["high"]
        assert {one["run"] for one in circuit["readings"]} == set(circuit["runs"])
        assert isclose(
            sum(line["contribution"] ** 2 for line in circuit["budget"]), area["u"] ** 2, rel_tol=1e-9
        )
        used = [one for one in circuit["readings"] if one["used"]]
        assert min(one["area_eff"] for one in used) < area["value"] < max(one["area_eff"] for one in used), (
            key
        )
        assert isclose(sum(circuit["weights"].values()), 1)
    assert document["runs"]["W01"]["closure"]["unit"] == "1"
    assert document["runs"]["W14"]["closure"] is None
    kept = json.loads((small / "results" / "reduce.json").read_text())
    made = kept.pop("made_from")
    assert kept == document
    assert made["inputs"]["runs/W01/W01.csv"] in (small / "runs/W01/W01.csv.sha256").read_text()


def test_the_table_beside_it_holds_the_same_readings(small: Path) -> None:
    import polars as pl

    document = headrace("reduce", small, "--json").json(shapes.REDUCE)
    rows = pl.read_parquet(small / "results" / "readings.parquet").to_dicts()
    told = [
        {"circuit": key, "run": one["run"], "area_eff": one["area_eff"], "used": one["used"]}
        for key, circuit in document["circuits"].items()
        for one in circuit["readings"]
    ]
    assert [{name: row[name] for name in told[0]} for row in rows] == told


def test_readings_of_a_run_left_out_are_told_and_not_used(small: Path) -> None:
    path = small / "runs/W03/run.toml"
    path.write_text(path.read_text() + '\n[exclude]\nreason = "valve stuck"\n')
    document = headrace("reduce", small, "--json").json(shapes.REDUCE)
    gone = [one for one in document["circuits"]["fuel"]["readings"] if one["run"] == "W03"]
    assert gone
    assert not any(one["used"] for one in gone)
    assert all("valve stuck" in one["why"] for one in gone)
    assert document["runs"]["W03"]["excluded"] == "valve stuck"
    assert "W03" not in document["circuits"]["fuel"]["runs"]


def test_a_circuit_with_no_run_that_counts_is_told_without_an_area(small: Path) -> None:
    for run in ("W03", "W15"):
        path = small / f"runs/{run}/run.toml"
        path.write_text(path.read_text() + '\n[exclude]\nreason = "valve stuck"\n')
    document = headrace("reduce", small, "--json").json(shapes.REDUCE)
    assert document["circuits"]["fuel"]["area_eff"] is None
    assert document["circuits"]["fuel"]["readings"]
    asked = headrace("setpoints", small, "--json")
    assert asked.code == 1
    stop = asked.json(shapes.NO_SETPOINTS)["notices"][0]
    assert (stop["code"], stop["about"]) == ("infeasible", "fuel")


def test_setpoints_in_json_and_in_text(small: Path) -> None:
    """One shape, budgets that add up, and every quantity printed as the sheet prints it."""
    ended = headrace("setpoints", small, "--json")
    document = ended.json(shapes.SETPOINTS)
    assert (ended.code, ended.err) == (0, "")
    assert document["request"] == {"p_chamber": 2e6, "m_dot": None, "of_ratio": 2.2}
    found = dict(quantities(document))
    assert set(found) == set(document["budget"])
    for path, quantity in found.items():
        lines = document["budget"][path]
        assert isclose(sum(line["contribution"] ** 2 for line in lines), quantity["u"] ** 2, rel_tol=1e-6), (
            path
        )
        assert isclose(sum(line["share"] for line in lines), 1, rel_tol=1e-6), path
    assert 20e5 < document["tanks"]["ox"]["value"] < document["static"]["ox"]["value"] < 30e5
    text = headrace("setpoints", small).out
    for path, quantity in found.items():
        assert str(pieces(estimate(quantity))) in text, path
        if not path.startswith("static"):
            assert bounds(estimate(quantity)).strip() in text, path
    assert "95 %" in text


def test_what_is_set_comes_out(small: Path) -> None:
    """`predict` at the pressures that `setpoints` gives comes back to the wanted point, and tells the same in text."""
    wanted = headrace("setpoints", small, "--json").json(shapes.SETPOINTS)["tanks"]
    tanks = [f"--tank={side}={wanted[side]['value']!r} Pa(g)" for side in ("ox", "fuel")]
    document = headrace("predict", small, *tanks, "--json").json(shapes.PREDICT)
    assert document["p_chamber"]["value"] == pytest.approx(20e5, rel=1e-6)
    assert document["of_ratio"]["value"] == pytest.approx(2.2, rel=1e-6)
    assert -1 < document["correlation"] < 1
    assert document["request"] == {f"tanks.{side}": wanted[side]["value"] for side in ("ox", "fuel")}
    text = headrace("predict", small, *tanks).out
    found = dict(quantities(document))
    assert set(found) == set(document["budget"])
    assert all(str(pieces(estimate(one))) in text for one in found.values())


def test_options_of_setpoints(small: Path) -> None:
    by_flow = headrace("setpoints", small, "--flow", "9.5 kg/s", "--of", "2.4", "--json").json(
        shapes.SETPOINTS
    )
    assert by_flow["m_dot"]["total"]["value"] == pytest.approx(9.5, rel=1e-6)
    assert by_flow["of_ratio"]["value"] == pytest.approx(2.4, rel=1e-6)
    by_pressure = headrace("setpoints", small, "--pc", "1.9 MPa(a)", "--json").json(shapes.SETPOINTS)
    assert by_pressure["p_chamber"]["value"] == pytest.approx(19e5, rel=1e-6)
    assert by_pressure["of_ratio"]["value"] == pytest.approx(2.2, rel=1e-6)


def test_check_new_and_sheet(small: Path, tmp_path: Path) -> None:
    assert headrace("check", small, "--json").json(shapes.CHECK)["problems"] == []
    fresh = tmp_path / "fresh"
    files = headrace("new", fresh, "--json").json(shapes.NEW)["files"]
    assert all((fresh / name).is_file() for name in files)
    assert headrace("check", fresh).code == 0
    told = headrace("sheet", small, "--json").json(shapes.SHEET)
    assert Path(told["sheet"]).read_bytes().startswith(b"%PDF")
    assert told["signed"] is None


def test_a_new_campaign_carries_the_day_on_which_it_was_begun(tmp_path: Path) -> None:
    before = datetime.datetime.now().astimezone().date()
    assert headrace("new", tmp_path / "mine").code == 0
    text = (tmp_path / "mine/campaign.toml").read_text()
    after = datetime.datetime.now().astimezone().date()
    assert any(f"\ndate = {day}  " in text for day in (before, after))


def test_the_report(small: Path) -> None:
    """Where it is, and all that it tells: no less than the set points and the ledger do."""
    ended = headrace("report", small, "--json")
    told = ended.json(shapes.REPORT)
    assert Path(told["report"]).read_bytes().startswith(b"<!DOCTYPE html>")
    sets = headrace("setpoints", small, "--json").json(shapes.SETPOINTS)
    assert {one["text"] for one in sets["notices"]} <= {one["text"] for one in told["notices"]}
    assert ended.code == (1 if any(one["severity"] == "stop" for one in told["notices"]) else 0)
    assert "Report: " in headrace("report", small).out


def test_bring_and_look(small: Path, demo_folder: Path) -> None:
    """The same report by both; `bring` adds where it went and what its draft still asks."""
    raw = demo_folder / "runs/W13/W13.csv"
    looked = headrace("bring", "--look", raw, "--json").json(shapes.LOOK)
    ended = headrace("bring", small, raw, "--run", "W20", "--json")
    brought = ended.json(shapes.BRING)
    assert ended.code == 0
    assert {key: brought[key] for key in shapes.UNDERSTOOD if key != "notes"} == {
        key: looked[key] for key in shapes.UNDERSTOOD if key != "notes"
    }
    assert sum(looked["bad_counts"].values()) == len(looked["bad_lines"]) == 3
    assert (brought["run"], brought["file"]) == ("W20", "runs/W20/W13.csv")
    assert (small / brought["file"]).read_bytes() == raw.read_bytes()
    assert "date" in brought["draft_open"]
    asked = headrace("check", small, "--json")
    assert asked.code == 1
    document = asked.json(shapes.CHECK)
    assert {one["key"] for one in document["questions"]} == set(brought["draft_open"])
    assert {one["code"] for one in document["notices"] if one["severity"] == "stop"} == {"question-open"}


def test_the_demo(tmp_path: Path) -> None:
    """It ends on a sheet with no stop, says what its intervals hold, and may be run again on its own folder only."""
    folder = tmp_path / "demo-campaign"
    ended = headrace("demo", folder, "--json")
    document = ended.json(shapes.DEMO)
    assert (ended.code, ended.err) == (0, "")
    assert (folder / "results/sheet.pdf").read_bytes().startswith(b"%PDF")
    report = (folder / "results/report.html").read_bytes()
    assert document["report"] == str(folder / "results/report.html")
    assert report.startswith(b"<!DOCTYPE html>")
    assert len(report) < 6e6
    assert not list(folder.glob(".demo-*"))
    held = document["truth"]
    assert {"area_eff.ox", "area_eff.fuel", "tanks.ox", "tanks.fuel", "p_chamber", "of_ratio"} <= set(held)
    for path, one in held.items():
        assert one["inside"] == (one["printed"]["low"] <= one["truth"] <= one["printed"]["high"]), path
        assert one["truth"] == pytest.approx(one["printed"]["value"], rel=0.2), path
    inputs = {path: path.read_bytes() for path in folder.rglob("*.toml")}
    again = headrace("demo", folder)
    assert again.code == 0
    assert {path: path.read_bytes() for path in folder.rglob("*.toml")} == inputs
    assert "invented" in again.out
    assert max(map(len, again.out.split("Campaign: ")[0].splitlines())) <= 100
    assert (
        f"{sum(one['inside'] for one in held.values())} of {len(held)} intervals hold the truth" in again.out
    )
