"""A command that was asked before says the same at once, and not when anything it rests on has changed."""

import os
from pathlib import Path

import pytest

from headrace import app
from headrace.doors.again import PLACE
from support.commands import headrace


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every reduction that is really made from now on."""
    made: list[str] = []
    real = app.reduce

    def reduce(folder: Path | str, *, processes: int | None = 1) -> app.Reduction:
        made.append(str(folder))
        return real(folder, processes=processes)

    monkeypatch.setattr(app, "reduce", reduce)
    return made


def kept(folder: Path) -> list[Path]:
    """What is remembered."""
    return sorted(folder.joinpath(*PLACE).glob("reduce-*.json"))


def test_the_same_is_said_again_without_work(small: Path, asked: list[str]) -> None:
    first, second = headrace("reduce", small), headrace("reduce", small)
    assert len(asked) == 1
    assert (second.out, second.code) == (first.out, first.code)
    assert "Re" in first.out
    numbers = headrace("reduce", small, "--json")
    assert len(asked) == 2  # another question
    assert headrace("reduce", small, "--json").out == numbers.out
    assert len(asked) == 2


@pytest.mark.parametrize(
    "change",
    [
        lambda folder: os.utime(folder / "bench.toml", ns=(1, 1)),
        lambda folder: (folder / "bench.toml").write_text((folder / "bench.toml").read_text() + "# more\n"),
        lambda folder: (folder / "ledger.toml").write_text(""),
        lambda folder: (folder / "results/reduce.json").unlink(),
        lambda folder: (folder / "results/readings.parquet").write_bytes(b"other"),
        lambda folder: kept(folder)[0].write_text(kept(folder)[0].read_text().replace("Re", "Er")),
        lambda folder: kept(folder)[0].write_text("{"),
        lambda folder: os.utime(folder / "runs/W01/W01.csv", ns=(1, 1)),
    ],
    ids=["touched", "edited", "a new file", "no result", "another result", "changed memory", "no memory", "raw file"],
)  # fmt: skip
def test_a_change_is_seen(small: Path, asked: list[str], change: object) -> None:
    first = headrace("reduce", small)
    change(small)  # type: ignore[operator]  # one of the above
    second = headrace("reduce", small)
    assert len(asked) == 2
    assert second.code == first.code
    assert headrace("reduce", small).out == second.out
    assert len(asked) == 2


def test_what_has_faults_is_not_remembered(small: Path, asked: list[str]) -> None:
    bench = (small / "bench.toml").read_text()
    (small / "bench.toml").write_text(bench + "\nnonsense = 1\n")
    assert headrace("reduce", small).code == 2
    assert headrace("reduce", small).code == 2
    assert len(asked) == 2
    assert kept(small) == []


def test_several_processes_give_the_same_numbers(small: Path) -> None:
    alone = headrace("reduce", small, "--json", "--processes", "1")
    for one in kept(small):
        one.unlink()
    assert headrace("reduce", small, "--json", "--processes", "2").out == alone.out
