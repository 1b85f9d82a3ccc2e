"""A level that moves by itself is told; one that a fill, drain or run moved, or within its doubt, is not."""

from pathlib import Path

import pytest

from support.bench_ledger import codes, event, state, walked

BEFORE = state("09:00", level={"WV-A": "1.000 m"})


@pytest.mark.parametrize("level", ["1.006 m", "0.994 m"])
def test_it_rose_or_fell(tmp_path: Path, level: str) -> None:
    found = walked(tmp_path, BEFORE, state("09:30", level={"WV-A": level})).notices
    assert [one.code for one in found] == ["level-moved"]
    assert ("rose" if level == "1.006 m" else "fell") in found[0].text
    assert "line" in found[0].text


def test_within_its_doubt(tmp_path: Path) -> None:  # 2 standard uncertainties of two readings of 2 mm: 3.3 mm
    assert codes(tmp_path, BEFORE, state("09:30", level={"WV-A": "1.003 m"})) == []
    assert codes(tmp_path, BEFORE, state("09:30", level={"WV-A": "1.0034 m"})) == ["level-moved"]


@pytest.mark.parametrize("what", ["fill", "drain"])
def test_what_was_done_explains_it(tmp_path: Path, what: str) -> None:
    level = {"fill": "1.200 m", "drain": "0.500 m"}[what]
    assert codes(tmp_path, BEFORE, event("09:30", what, vessel="WV-A", level={"WV-A": level})) == []


def test_a_run_lowers_it_and_never_raises_it(tmp_path: Path) -> None:
    down = event("09:30", "run", run="W01", level={"WV-A": "0.700 m"})
    assert codes(tmp_path, BEFORE, down) == []
    up = event("09:30", "run", run="W01", level={"WV-A": "1.100 m"})
    assert codes(tmp_path, BEFORE, up) == ["level-moved"]
