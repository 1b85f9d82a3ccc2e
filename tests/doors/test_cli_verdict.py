"""`headrace verdict`: a good run, one that stands apart, and every kind of run that is none."""

import re
import shutil
from pathlib import Path

import pytest

from support import json_shapes as shapes
from support.commands import headrace


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_a_good_run(small: Path) -> None:
    """W01 flowed from 6.8 to 5.92 bar(g); the air warms by (V/V0)^0.2 = (0.93/0.85)^0.2 = 1.018 of 6.93 bar(a)."""
    ended = headrace("verdict", small, "W01", "--json")
    said = ended.json(shapes.VERDICT)
    assert (ended.code, ended.err) == (0, "")
    assert (said["run"], said["good"], said["next"]) == ("W01", True, "go on")
    assert set(said["settled"]) == {"WV-A", "AV-1"}
    fall = (1.900 - 1.619) * 0.283
    expected = (5.92 + 1.009) * ((0.85 + fall) / 0.85) ** 0.2 - 1.009
    one = said["settled"]["AV-1"]
    assert one["value"] / 1e5 == pytest.approx(expected, abs=0.01)
    assert one["low"] < one["value"] < one["high"]
    assert "event 5" in said["basis"]["AV-1"]
    assert any("circuit ox" in reason and "agrees with" in reason for reason in said["reasons"])


def test_its_text(small: Path) -> None:
    ended = headrace("verdict", small, "W01")
    assert ended.code == 0
    assert max(map(len, ended.out.splitlines())) <= 100
    for words in ("Run W01: good", "Next: go on.", "Settles to", "bar(g)", "local codes"):
        assert words in ended.out, words


def test_a_run_that_stands_apart(demo_folder: Path, tmp_path: Path) -> None:
    """W02 against W01 by the same line, its gauge read 4 % too high: 2 % of area, 4 standard uncertainties and more."""
    gone = {path.name for path in (demo_folder / "runs").iterdir()} - {"W01", "W02", "W09"}
    folder = Path(shutil.copytree(demo_folder, tmp_path / "c", ignore=lambda _, names: gone & set(names)))
    raw = folder / "runs/W02/W02.csv"
    text = raw.read_text(encoding="latin-1").splitlines()
    heading = next(at for at, line in enumerate(text) if "p ox manifold" in line)
    column = (
        text[heading]
        .split(";")
        .index(next(name for name in text[heading].split(";") if "p ox manifold" in name))
    )
    for at in range(heading + 1, len(text)):
        cells = text[at].split(";")
        if len(cells) > column and re.fullmatch(r"-?\d+[.,]\d+", cells[column]):
            value = float(cells[column].replace(",", ".")) * 1.12
            cells[column] = f"{value:.5f}".replace(".", "," if "," in cells[column] else ".")
            text[at] = ";".join(cells)
    raw.write_text("\n".join(text) + "\n", encoding="latin-1")
    (folder / "runs/W02/W02.csv.sha256").unlink()
    said = headrace("verdict", folder, "W02", "--json").json(shapes.VERDICT)
    assert not said["good"]
    assert said["next"] in ("repeat", "change")
    assert any("does not agree with W01, W09" in reason for reason in said["reasons"])


def test_a_first_run_is_good(demo_folder: Path, tmp_path: Path) -> None:
    """Alone of its circuit: that is no fault of its record, and the reason for another run is told."""
    gone = {path.name for path in (demo_folder / "runs").iterdir()} - {"W01"}
    folder = Path(shutil.copytree(demo_folder, tmp_path / "c", ignore=lambda _, names: gone & set(names)))
    said = headrace("verdict", folder, "W01", "--json").json(shapes.VERDICT)
    assert "one-run-carries-all" in {one["code"] for one in said["notices"]}
    assert (said["good"], said["next"]) == (True, "go on")
    assert "scatter" in said["what"]


def test_left_out(small: Path) -> None:
    path = small / "runs/W01/run.toml"
    path.write_text(
        path.read_text(encoding="utf-8") + '[exclude]\nreason = "hose came off"\n', encoding="utf-8"
    )
    ended = headrace("verdict", small, "W01", "--json")
    said = ended.json(shapes.VERDICT)
    assert (ended.code, said["good"], said["next"]) == (0, False, "go on")
    assert "hose came off" in said["reasons"][0]


def test_an_open_question(small: Path) -> None:
    edit(small / "runs/W01/run.toml", 'method = "metered"', 'method = "?"')
    ended = headrace("verdict", small, "W01", "--json")
    said = ended.json(shapes.VERDICT)
    assert (ended.code, said["good"], said["next"]) == (1, False, "change")
    assert {one["code"] for one in said["notices"]} == {"question-open"}


def test_a_hot_run(small: Path) -> None:
    edit(small / "runs/W01/run.toml", 'kind = "water"', 'kind = "hot"')
    ended = headrace("verdict", small, "W01", "--json")
    said = ended.json(shapes.VERDICT)
    assert (ended.code, said["good"], said["next"]) == (0, False, "go on")


def test_a_run_that_cannot_be_reduced(small: Path) -> None:
    edit(
        small / "runs/W01/run.toml",
        "[channels]",
        '[window]\nstart = "0.2 s"\nend = "0.9 s"\nreason = "x"\n[channels]',
    )
    ended = headrace("verdict", small, "W01", "--json")
    said = ended.json(shapes.VERDICT)
    assert (ended.code, said["good"]) == (1, False)
    assert said["next"] == "change"


def test_an_unknown_run_and_a_broken_folder(small: Path) -> None:
    unknown = headrace("verdict", small, "w01", "--json")
    assert unknown.code == 2
    assert '"W01"' in unknown.json(shapes.refused("verdict"))["problems"][0]["try"]
    (small / "bench.toml").write_text("x", encoding="utf-8")
    assert headrace("verdict", small, "W01", "--json").json(shapes.refused("verdict"))["problems"]


def test_without_a_ledger_it_says_what_is_lacking(small: Path) -> None:
    (small / "ledger.toml").unlink()
    said = headrace("verdict", small, "W01", "--json").json(shapes.VERDICT)
    assert said["settled"] == {}
    assert any("ledger.toml" in reason for reason in said["reasons"])
    assert said["good"]


def test_a_doubt_of_its_own(small: Path) -> None:
    """Twice as much water by the sight tube: the run is not good, and one more run answers it."""
    edit(small / "runs/W01/run.toml", "level_after", "level_was")
    text = (small / "runs/W01/run.toml").read_text(encoding="utf-8")
    (small / "runs/W01/run.toml").write_text(
        re.sub(r'level_was = ".*?"', 'level_after = "1.50 m ± 1 mm"', text)
    )
    ended = headrace("verdict", small, "W01", "--json")
    said = ended.json(shapes.VERDICT)
    assert (ended.code, said["good"], said["next"]) == (1, False, "repeat")
    assert any("closure" in reason for reason in said["reasons"])
