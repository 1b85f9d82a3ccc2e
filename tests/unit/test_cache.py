"""What was read of a raw file is used again while the file is the same, and never when anything is not."""

import os
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from headrace.files import cache as module
from headrace.files import loggers
from headrace.files.bring import bring
from headrace.files.cache import Cache, sha256_of
from headrace.files.check import check
from headrace.files.folder import gather, read
from headrace.files.loggers.base import Answers
from support import golden_folder

WHERE = "runs/W01/log.csv"
HEAD = "t (s),p (bar),q (L/s)\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with one raw file that is worth keeping, with a hole, a bad line and a restart in it."""
    rows = [f"{n / 1000:.3f},{n % 7}.25,{n}" for n in range(6000)]
    rows[100] = "0.100,,5"
    rows[200] = "0.200,12x,5"
    rows += rows[:50]
    path = tmp_path / WHERE
    path.parent.mkdir(parents=True)
    path.write_text(HEAD + "\n".join(rows) + "\n")
    return tmp_path


def counted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the files whose text is read from now on."""
    seen: list[str] = []
    real = loggers.read

    def read_(source: Path, answers: Answers) -> object:
        seen.append(source.name)
        return real(source, answers)

    monkeypatch.setattr(loggers, "read", read_)
    return seen


def test_what_was_kept_is_what_was_read(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cache, answers = Cache(root=folder), Answers()
    sha256 = cache.sha256(WHERE, answers)
    first = cache.read(WHERE, answers, sha256)
    seen = counted(monkeypatch)
    again = cache.read(WHERE, answers, sha256)
    assert seen == []
    assert again.report == first.report
    assert (again.start, again.t0, again.breaks) == (first.start, first.t0, first.breaks)
    assert len(first.breaks) == 1
    np.testing.assert_array_equal(again.time, first.time)
    np.testing.assert_array_equal(again.lines, first.lines)
    assert list(again.columns) == list(first.columns)
    for name, column in first.columns.items():
        np.testing.assert_array_equal(again.columns[name], column)


def test_bring_keeps_in_passing_what_a_later_reading_gives(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    campaign = golden_folder.write(folder / "golden")
    brought = bring(campaign, folder / WHERE)
    answers = Answers()
    seen = counted(monkeypatch)
    kept = Cache(root=campaign).read(brought.file, answers, brought.sha256)
    assert seen == []
    whole = loggers.read(folder / WHERE, answers)
    assert kept.report == whole.report
    assert [one.code for one in brought.understanding.questions] == ["segments"]
    assert replace(brought.understanding, questions=()) == whole.report
    assert (kept.start, kept.breaks) == (whole.start, whole.breaks)
    np.testing.assert_array_equal(kept.time, whole.time)
    for name, column in whole.columns.items():
        np.testing.assert_array_equal(kept.columns[name], column)


def test_size_and_time_are_believed_by_whoever_believes(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers = Answers()
    sha256 = Cache(root=folder).sha256(WHERE, answers)
    Cache(root=folder).read(WHERE, answers, sha256)
    asked: list[Path] = []
    monkeypatch.setattr(module, "sha256_of", lambda path: asked.append(path) or sha256_of(path))
    assert Cache(root=folder).sha256(WHERE, answers) == sha256
    assert asked == []
    assert Cache(root=folder, believe=False).sha256(WHERE, answers) == sha256
    assert asked == [folder / WHERE]


def test_a_changed_file_is_read_anew(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cache, answers = Cache(root=folder), Answers()
    before = cache.sha256(WHERE, answers)
    cache.read(WHERE, answers, before)
    raw = folder / WHERE
    raw.write_bytes(raw.read_bytes().replace(b"6.25", b"9.25"))
    os.utime(raw, ns=(1, 1))
    after = cache.sha256(WHERE, answers)
    assert after == sha256_of(raw) != before
    seen = counted(monkeypatch)
    assert np.nanmax(cache.read(WHERE, answers, after).columns["p"]) == 9.25
    assert seen == ["log.csv"]


@pytest.mark.parametrize("place", ["record.json", "part-000.parquet"])
@pytest.mark.parametrize("harm", ["flipped", "cut", "gone"])
def test_a_damaged_entry_is_not_used(
    folder: Path, place: str, harm: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache, answers = Cache(root=folder), Answers()
    sha256 = cache.sha256(WHERE, answers)
    first = cache.read(WHERE, answers, sha256)
    path = cache.home(WHERE, answers) / place
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    if harm == "gone":
        path.unlink()
    else:
        path.write_bytes(bytes(data) if harm == "flipped" else bytes(data[: len(data) // 2]))
    seen = counted(monkeypatch)
    again = cache.read(WHERE, answers, sha256)
    assert seen == ["log.csv"]
    np.testing.assert_array_equal(again.columns["p"], first.columns["p"])


def test_other_answers_are_another_entry(folder: Path) -> None:
    cache = Cache(root=folder)
    assert cache.home(WHERE, Answers()) != cache.home(WHERE, Answers(sample_rate=10.0))


def test_where_nothing_can_be_written_nothing_is_kept(folder: Path) -> None:
    (folder / "results").write_text("in the way")
    cache, answers = Cache(root=folder), Answers()
    assert len(cache.read(WHERE, answers, cache.sha256(WHERE, answers)).time) == 6049
    assert (folder / "results").read_text() == "in the way"


def test_small_files_are_not_kept(folder: Path) -> None:
    (folder / WHERE).write_text(HEAD + "0.0,1.5,2\n0.1,1.6,2\n")
    cache, answers = Cache(root=folder), Answers()
    cache.read(WHERE, answers, cache.sha256(WHERE, answers))
    assert not (folder / "results").exists()


def test_a_campaign_larger_than_memory_should_hold_reads_its_traces_when_wanted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = golden_folder.write(tmp_path)
    held = read(folder).runs["W07"]
    monkeypatch.setattr("headrace.files.folder.IN_MEMORY", 10)
    stored = read(folder).runs["W07"]
    assert held.trace is not None
    assert stored.trace is None
    loaded = stored.loaded().trace
    assert loaded is not None
    assert loaded.origin == held.trace.origin
    for tag, channel in held.trace.channels.items():
        np.testing.assert_array_equal(loaded.channels[tag], channel)


def test_check_looks_at_every_byte(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path / "a")
    raw = folder / "runs/W07/W07.csv"
    rows = "".join(f"{n / 1000:.3f},1,2\n" for n in range(9000))
    raw.write_text(HEAD + rows)
    raw.with_name(raw.name + ".sha256").write_text(f"{sha256_of(raw)}  {raw.name}\n")
    gather(folder)
    stamp = raw.stat()
    raw.write_text(HEAD + rows.replace("0.005,1,2", "0.005,3,2"))
    os.utime(raw, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
    told = [problem.file for problem in check(folder).problems if "sha256" in problem.found]
    assert told == ["runs/W07/W07.csv"]
    shutil.rmtree(folder / "results", ignore_errors=True)
    assert "runs/W07/W07.csv" in {problem.file for problem in gather(folder).problems}
