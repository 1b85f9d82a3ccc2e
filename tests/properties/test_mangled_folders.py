"""A hundred damaged folders and logger files: words, a code and a place, never a number that changed in silence.

`make bench` does ten thousand. Each case that one of them found stands below by itself.
"""

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from headrace.files.loggers.dialect import side_table
from headrace.files.loggers.headings import looks_like_unit
from headrace.files.loggers.named import pairs_of
from support import mangled_runs
from support.commands import headrace
from support.mangle import BYTES, CLOCK, TREE, damaged_bytes

FOLDERS, LOGGERS = range(40), range(60)


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """The undamaged campaign and what it answers."""
    folder = tmp_path_factory.mktemp("mangled") / "clean"
    return folder, mangled_runs.base(folder)


@pytest.fixture
def work(clean: tuple[Path, dict[str, Any]], tmp_path: Path) -> Path:
    """A copy of it to do anything to."""
    return mangled_runs.copied(clean[0], tmp_path / "work")


def test_damaged_folders_end_in_words(clean: tuple[Path, dict[str, Any]], tmp_path: Path) -> None:
    found = [mangled_runs.folder(*clean, seed, tmp_path, seldom=0.0) for seed in FOLDERS]
    assert [str(one) for one in found if one.breaches] == []
    assert {"refused", "same numbers"} < {one.word for one in found}
    assert any(one.word.startswith("other numbers") for one in found)


def test_damaged_logger_files_end_in_words(clean: tuple[Path, dict[str, Any]], tmp_path: Path) -> None:
    files = mangled_runs.sources(clean[0])
    found = [mangled_runs.logger(files, clean[0], seed, tmp_path) for seed in LOGGERS]
    assert [str(one) for one in found if one.breaches] == []
    assert {one.word for one in found} == {"read", "asks", "refused"}


def test_every_kind_of_damage_is_done() -> None:
    """Of those ten thousand; a kind that no seed reaches guards nothing."""
    data = b"t (s),p (bar)\n" + b"".join(b"%d,%d.5\n" % (at, at) for at in range(20))
    seen = {kind for seed in range(200) for kind in damaged_bytes(data, seed)[1]}
    assert seen == set(BYTES)
    assert len(TREE) + len(CLOCK) > 8


PIPES = (
    "campaign.toml",
    "bench.toml",
    "ledger.toml",
    "runs/W01/run.toml",
    "runs/W01/W01.csv",
    "runs/W01/W01.csv.sha256",
)


@pytest.mark.parametrize("name", PIPES)
def test_a_pipe_in_the_place_of_a_file_is_not_waited_for(name: str, work: Path) -> None:
    (work / name).unlink()
    os.mkfifo(work / name)
    with mangled_runs.watched(work.parent):
        for command in ("check", "reduce"):
            ended = headrace(command, work)
            assert ended.code == 2
            assert name.removesuffix(".sha256").rpartition("/")[2] in ended.err


@pytest.mark.parametrize("kind", [os.mkfifo, os.mkdir])
def test_what_was_kept_may_be_a_pipe_or_a_folder(
    kind: Callable[[Path], None], work: Path, clean: tuple[Path, dict[str, Any]]
) -> None:
    for path in [*(work / "results/cache").rglob("*.json"), *(work / "results/cache").rglob("*.parquet")]:
        path.unlink()
        kind(path)
    with mangled_runs.watched(work.parent):
        assert headrace("reduce", work, "--json").out == clean[1]["said"]["reduce"].out


def test_bytes_that_changed_unseen_are_not_read_when_the_kept_record_is_gone(work: Path) -> None:
    """Size and time vouch for what was kept, never for bytes that are read now."""
    raw = work / "runs/W02/W02.csv"
    was, data = raw.stat(), raw.read_bytes()
    assert b"17.0" in data
    raw.write_bytes(data.replace(b"17.0", b"17.9"))
    os.utime(raw, ns=(was.st_atime_ns, was.st_mtime_ns))
    (part,) = (work / "results/cache/W02").rglob("*.parquet")
    part.write_bytes(part.read_bytes()[::-1])
    (work / "bench.toml").write_text((work / "bench.toml").read_text() + "# seen\n")
    with mangled_runs.watched(work.parent):
        ended = headrace("reduce", work, "--json")
    assert ended.code == 2
    assert "runs/W02/W02.csv: found its bytes are not those that were read before" in ended.err


@pytest.mark.parametrize("place", ["results/cache", "results/cache/W01"])
def test_a_file_where_records_are_kept_is_no_fault(
    place: str, work: Path, clean: tuple[Path, dict[str, Any]]
) -> None:
    mangled_runs.removed(work / place)
    (work / place).write_text("in the way")
    with mangled_runs.watched(work.parent):
        ended = headrace("reduce", work, "--json")
    assert (ended.code, ended.out) == (0, clean[1]["said"]["reduce"].out)


def test_a_pipe_or_a_device_is_not_brought(work: Path, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "log.csv")
    with mangled_runs.watched(work.parent):
        for source in (tmp_path / "log.csv", Path("/dev/zero")):
            assert headrace("bring", "--look", source).code == 2
            assert headrace("bring", work, source).code == 2


def test_a_seal_of_another_run_that_cannot_be_read_does_not_stop_bring(work: Path, tmp_path: Path) -> None:
    (work / "runs/W01/W01.csv.sha256").unlink()
    (work / "runs/W01/W01.csv.sha256").mkdir()
    (tmp_path / "log.csv").write_text("t (s),p (bar)\n0.0,1.5\n0.1,1.6\n0.2,1.7\n", encoding="utf-8")
    assert headrace("bring", work, tmp_path / "log.csv").code in (0, 1)


def test_a_seal_that_cannot_be_read_is_no_seal_that_is_missing(work: Path) -> None:
    (work / "runs/W01/W01.csv.sha256").unlink()
    (work / "runs/W01/W01.csv.sha256").mkdir()
    ended = headrace("check", work)
    assert ended.code == 2
    assert "sha256 unreadable" in ended.err


def test_long_blanks_and_wide_lines_take_no_longer_than_they_are_long(tmp_path: Path) -> None:
    with mangled_runs.watched(tmp_path):  # an alarm rings where they do
        assert pairs_of("P1: 1" + " " * 300_000 + "x P2: 2", "spaces") is not None
        assert pairs_of("P1: 1" + " " * 300_000 + "x; P2: 2", "semicolon") is not None
        assert not looks_like_unit("bar" + " " * 300_000 + "x")
        assert side_table([("",) * 6, *((("x",) * 6,) * 2), *((("",) * 6,) * 100_000)]) == []


def test_a_line_of_a_hundred_thousand_fields_is_refused_with_their_number(tmp_path: Path) -> None:
    path = tmp_path / "wide.csv"
    path.write_text(("1," * 100_000 + "1\n") * 3)
    with mangled_runs.watched(tmp_path):
        ended = headrace("bring", "--look", path)
    assert ended.code == 2
    assert "100001 fields" in ended.err
