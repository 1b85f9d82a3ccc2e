"""The level fell by more or less than the meter says; the truth is the demo's, whose ledger is true to its runs."""

import re
import shutil
from pathlib import Path

import pytest

from headrace import app
from headrace.notices import Notice

KEPT = ("W01", "W02")


@pytest.fixture
def two_runs(demo_folder: Path, tmp_path: Path) -> Path:
    gone = {path.name for path in (demo_folder / "runs").iterdir()} - set(KEPT)
    return Path(shutil.copytree(demo_folder, tmp_path / "two", ignore=lambda _, names: gone & set(names)))


def found(folder: Path) -> list[Notice]:
    return [one for one in app.day(folder).notices if one.code == "level-against-meter"]


def test_a_true_level_is_not_told(two_runs: Path) -> None:
    assert found(two_runs) == []


@pytest.mark.parametrize("shift", [-0.010, 0.010])
def test_water_that_went_or_came_by_another_way(two_runs: Path, shift: float) -> None:
    """10 mm of 0.283 m2 are 2.8 L, of some 70 L that are known to about 1 L."""
    path = two_runs / "ledger.toml"
    text = path.read_text(encoding="utf-8")
    run = text.index('run = "W02"')
    level = re.compile(r'WV-A = "(\d\.\d{3}) m"').search(text, run)
    assert level is not None
    moved = f"{float(level[1]) + shift:.3f}"
    path.write_text(text[: level.start(1)] + moved + text[level.end(1) :], encoding="utf-8")
    (one,) = found(two_runs)
    assert one.run == "W02"
    facts = dict(one.facts)
    assert (facts["witnessed"] > facts["metered"]) == (shift < 0)
    assert abs(facts["witnessed"] - facts["metered"]) == pytest.approx(2.8, abs=0.8)
