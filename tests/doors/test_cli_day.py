"""`headrace day`: text and JSON tell the same, exit codes, and what is refused."""

from pathlib import Path

import pytest

from support import json_shapes as shapes
from support.bench_ledger import event, state, write
from support.commands import headrace

DAY = (
    state("09:00", p={"AV-A": "29.00 bar(g)"}, level={"WV-A": "1.200 m"}, valves={"V-A": "shut"}),
    event("09:10", "valve", valve="V-A", position="open", p={"AV-A": "26.50 bar(g)"}),
    event("09:20", "run", run="W01", by="AB", level={"WV-A": "0.900 m"}),
    event("09:40", "note", note="lunch"),
)


def test_json_has_its_shape_and_its_numbers(tmp_path: Path) -> None:
    ended = headrace("day", write(tmp_path, *DAY), "--json")
    said = ended.json(shapes.DAY)
    assert (ended.code, ended.err) == (0, "")
    vessel = said["state"]["WV-A"]
    assert vessel["level"]["value"] == pytest.approx(0.9)
    assert vessel["level"]["low"] < 0.9 < vessel["level"]["high"]
    assert vessel["water"]["value"] == pytest.approx(0.235)
    assert said["state"]["AV-A"]["pressure"]["value"] == pytest.approx(26.5e5)
    assert said["state"]["AV-A"]["stale"] == {"pressure": "before event 3, 09:20, run"}
    assert said["state"]["AV-B"]["pressure"] is None
    assert said["valves"] == {"V-A": "open"}
    assert said["at"] == "2026-03-12T09:40:00"
    assert [one["what"] for one in said["events"]] == ["state", "valve", "run", "note"]
    assert (said["events"][2]["run"], said["events"][2]["by"]) == ("W01", "AB")
    assert said["since_run"]["run"] == "W01"
    assert said["since_run"]["events"] == 1


def test_text_is_plain_and_fits(tmp_path: Path) -> None:
    ended = headrace("day", write(tmp_path, *DAY))
    assert ended.code == 0
    assert max(map(len, ended.out.splitlines())) <= 100
    assert "\x1b" not in ended.out
    for words in ("0.9000 ±", "26.50 ±0.06 bar(g)?", "235.0 L", "V-A open", "taken as shut: V-IN", "run-unmatched",
                  "local codes", "AV-A: pressure read before event 3, 09:20, run. Read it again"):  # fmt: skip
        assert words in " ".join(ended.out.split()), words


def test_a_stop_ends_with_one(tmp_path: Path) -> None:
    folder = write(tmp_path, state("09:00", p={"AV-A": "41 bar(g)"}))
    assert headrace("day", folder, "--json").code == 1
    ended = headrace("day", folder)
    assert ended.code == 1
    assert "1 stop: vessel over rating" in ended.out


def test_check_tells_what_the_day_contradicts(tmp_path: Path) -> None:
    ended = headrace("check", write(tmp_path, *DAY))
    assert "run-unmatched" in " ".join(ended.out.split())
    (tmp_path / "over").mkdir()
    over = write(tmp_path / "over", state("09:00", p={"AV-A": "41 bar(g)"}))
    assert headrace("check", over).code == 1
    assert "vessel-over-rating" in headrace("check", over).out


def test_an_earlier_moment(tmp_path: Path) -> None:
    folder = write(tmp_path, *DAY)
    for at in ("09:05", "2026-03-12 09:05"):
        said = headrace("day", folder, "--at", at, "--json").json(shapes.DAY)
        assert said["state"]["WV-A"]["level"]["value"] == pytest.approx(1.2)
        assert said["since_run"] is None
    for at, words in (("08:00", "after the first event"), ("nine", "a time")):
        ended = headrace("day", folder, "--at", at)
        assert ended.code == 2
        assert words in ended.err


def test_no_ledger_and_faults_in_it(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    assert (
        headrace("day", write(tmp_path / "a"), "--json").json(shapes.refused("day"))["problems"][0]["file"]
        == "ledger.toml"
    )
    broken = headrace("day", write(tmp_path / "b", event("9 o'clock", "note", note="x")), "--json")
    assert broken.code == 2
    problem = broken.json(shapes.refused("day"))["problems"][0]
    assert (problem["line"], problem["key"]) == (7, "event[0].time")
    assert "09:10" in problem["try"]


def test_the_demo_keeps_a_ledger_without_a_contradiction(small: Path) -> None:
    """Four of its runs are here; the others stand in the ledger alone, and that is told."""
    said = headrace("day", small, "--json").json(shapes.DAY)
    assert {one["code"] for one in said["notices"]} == {"run-unmatched"}
    assert len(said["notices"]) == 12
    assert said["state"]["AV-2"]["pressure"]["unit"] == "Pa"
