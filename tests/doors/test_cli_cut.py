"""Cut or refused at any write, on a folder that may not be written, by a clock that was set back: nothing is lost."""

import datetime
import errno
import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from headrace import app
from headrace.demo import scenario
from headrace.paper.report import page
from support import mangled_runs, mini
from support.commands import headrace

STEPS = int(os.environ.get("HEADRACE_CUTS", "3"))
"""Places of a command's writing at which it is cut, spread over all; more of them where somebody asks for more."""


class Cut(BaseException):
    """The power is gone; nothing in the code may take this for an error that it knows."""


class Half:
    """A file of which seven bytes come to the disk."""

    def __init__(self, real: Any, fault: BaseException) -> None:
        self._real, self._fault = real, fault

    def write(self, data: Any) -> int:
        self._real.write(data[:7])
        self._real.flush()
        raise self._fault

    def __enter__(self) -> "Half":
        return self

    def __exit__(self, *_: object) -> None:
        self._real.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._real, name)


@contextmanager
def failing(at: int, fault: BaseException, *, on: bool = False) -> Iterator[list[str]]:
    """The at-th step of writing fails (on: and all after it); yields the steps that were taken."""
    taken: list[str] = []

    def hit(name: str) -> bool:
        taken.append(name)
        return len(taken) == at or (on and len(taken) > at)

    def stepped(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def step(*arguments: Any, **more: Any) -> Any:
            if hit(name):
                raise fault
            return real(*arguments, **more)

        return step

    opened = Path.open

    def open_(path: Path, mode: str = "r", *arguments: Any, **more: Any) -> Any:
        handle = opened(path, mode, *arguments, **more)
        return Half(handle, fault) if "w" in mode and hit(f"write {path.name}") else handle

    with (
        patch.object(os, "replace", stepped("replace", os.replace)),
        patch.object(os, "fsync", stepped("fsync", os.fsync)),
        patch.object(os, "mkdir", stepped("mkdir", os.mkdir)),
        patch.object(Path, "open", open_),
    ):
        yield taken


@contextmanager
def nobody_cleans_up() -> Iterator[None]:
    """After a power cut nothing that was begun is taken away."""
    with (
        patch.object(shutil, "rmtree", lambda *_args, **_more: None),
        patch.object(Path, "unlink", lambda *_args, **_more: None),
    ):
        yield


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """The small campaign that was worked with, and what it answers."""
    folder = tmp_path_factory.mktemp("cut") / "clean"
    return folder, mangled_runs.base(folder)


def small_demo(directory: Path) -> Any:
    """In place of the demo's campaign, which takes longer to write."""
    truth = mini.write_mini(directory, 1, runs=1, draws=1000, rate=10.0, flowing=4.0)
    (directory / "truth.json").write_text('{"invented": true, "seed": 1}')
    return truth


JOBS: dict[str, Callable[[Path], tuple[object, ...]]] = {
    "reduce": lambda folder: ("reduce", folder, "--json"),
    "sheet": lambda folder: ("sheet", folder, "--sign", "B. Example", "--json"),
    "report": lambda folder: ("report", folder, "--json"),
    "bring": lambda folder: ("bring", folder, folder.parent / "day.csv", "--json"),
    "demo": lambda folder: ("demo", folder.parent / "demo", "--json"),
}


@contextmanager
def quick() -> Iterator[None]:
    """What is written counts here, not what it says."""
    with (
        patch.object(page, "make", lambda _: b"<html>" + b"x" * 100 + b"</html>"),
        patch.object(scenario, "write", small_demo),
        patch.object(mangled_runs.cache, "LEAST", 1),
    ):
        yield


def begun(clean: Path, place: Path, *, fresh: bool) -> Path:
    """A copy to be cut; fresh: nothing was derived or remembered yet."""
    folder = mangled_runs.copied(clean, place / "campaign")
    shutil.copy(clean / "runs/W01/W01.csv", place / "day.csv")
    if fresh:
        mangled_runs.removed(folder / "results")
    return folder


def visible(folder: Path) -> dict[str, bytes]:
    """Files by name, but for what begins with a dot."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(folder).parts)
    }


def whole(folder: Path) -> None:
    """Nothing that can be seen is half written."""
    for name, data in visible(folder).items():
        if name.endswith(".json") and name.startswith(("results/reduce", "signed/")):
            json.loads(data)
        if name.endswith(".pdf"):
            assert data.rstrip().endswith(b"%%EOF"), name
        if name.endswith(".html"):
            assert data.endswith(b"</html>"), name
        if name.endswith(".parquet"):
            assert data[:4] == data[-4:] == b"PAR1", name


def stands(folder: Path, before: dict[str, bytes], answer: str) -> None:
    """What was there is there as it was, `check` finds no fault, and the numbers are the same."""
    whole(folder)
    now = visible(folder)
    assert all(now[name] == data for name, data in before.items() if not name.startswith("results/"))
    checked = headrace("check", folder, "--json")
    assert json.loads(checked.out)["problems"] == []
    if not (folder / "runs/W05").exists():  # else a run was brought, which is a question
        assert headrace("reduce", folder, "--json").out == answer


def places(taken: int) -> list[int]:
    """Steps at which to cut."""
    return sorted({1 + round(at * (taken - 1) / max(STEPS - 1, 1)) for at in range(STEPS)})


@pytest.mark.parametrize("job", JOBS)
def test_cut_at_any_write_nothing_is_lost(
    job: str, clean: tuple[Path, dict[str, Any]], tmp_path: Path
) -> None:
    answer = clean[1]["said"]["reduce"].out
    with quick():
        (tmp_path / "all").mkdir()
        folder = begun(clean[0], tmp_path / "all", fresh=True)
        with failing(-1, Cut()) as taken:
            assert headrace(*JOBS[job](folder)).code in (0, 1)
        for step in places(len(taken)):
            place = tmp_path / str(step)
            place.mkdir()
            folder = begun(clean[0], place, fresh=True)
            before = visible(folder)
            with failing(step, Cut()) as cut, nobody_cleans_up(), pytest.raises(Cut):
                headrace(*JOBS[job](folder))
            assert len(cut) >= step
            stands(folder, before, answer)
            if job == "demo":
                whole(place / "demo")
                assert headrace("demo", place / "demo").code in (0, 1)  # the next one writes it afresh
            shutil.rmtree(place)


@pytest.mark.parametrize("job", ["reduce", "sheet", "report", "bring"])
@pytest.mark.parametrize("on", [False, True])
def test_a_full_disk_loses_nothing(
    job: str, on: bool, clean: tuple[Path, dict[str, Any]], tmp_path: Path
) -> None:
    answer = clean[1]["said"]["reduce"].out
    full = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    with quick():
        (tmp_path / "all").mkdir()
        folder = begun(clean[0], tmp_path / "all", fresh=True)
        with failing(-1, full) as taken:
            headrace(*JOBS[job](folder))
        for step in places(len(taken)):
            place = tmp_path / str(step)
            place.mkdir()
            folder = begun(clean[0], place, fresh=True)
            before = visible(folder)
            with failing(step, full, on=on):
                ended = headrace(*JOBS[job](folder))
            if job == "reduce":
                assert (ended.code, ended.out) == (0, answer)  # told all the same
            else:
                assert ended.code in (0, 1, 2)
                assert ended.code != 2 or "No space left on device" in ended.err
            assert not list(folder.rglob(".*.part")), "half of something is left"
            stands(folder, before, answer)
            shutil.rmtree(place)


ALL = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from support.commands import headrace
folder = Path(sys.argv[1])
for words, codes in (
    (("check",), (0,)), (("reduce", "--json"), (0,)), (("setpoints",), (0,)), (("day",), (0,)),
    (("verdict", "W01"), (0,)), (("sheet",), (2,)), (("sheet", "--sign", "A. Example"), (2,)),
):
    ended = headrace(words[0], folder, *words[1:])
    assert ended.code in codes, (words, ended)
    assert ended.code != 2 or "cannot be written" in ended.err, ended.err
    if words[0] == "reduce":
        Path(sys.argv[3]).write_text(ended.out)
ended = headrace("bring", folder, sys.argv[4])
assert ended.code == 2 and "cannot be written" in ended.err, ended
"""


@pytest.mark.skipif(sys.platform != "linux", reason="needs the permissions of Linux")
def test_a_folder_that_may_only_be_read_says_the_same(
    clean: tuple[Path, dict[str, Any]], tmp_path: Path
) -> None:
    folder = begun(clean[0], tmp_path, fresh=True)
    before = visible(folder)
    for path in (folder, *folder.rglob("*")):
        path.chmod(0o555 if path.is_dir() else 0o444)
    bound = [shutil.which("setpriv"), "--bounding-set=-dac_override,-dac_read_search", "--inh-caps=-all"]
    if os.geteuid() == 0 and bound[0] is None:
        pytest.skip("root may write everything")
    words = [*(bound if os.geteuid() == 0 else []), sys.executable, "-c", ALL, folder, Path(__file__).parent.parent,
             tmp_path / "said.json", tmp_path / "day.csv"]  # fmt: skip
    ended = subprocess.run([str(one) for one in words], capture_output=True, text=True, check=False)
    assert ended.returncode == 0, ended.stderr[-2000:]
    assert (tmp_path / "said.json").read_text() == clean[1]["said"]["reduce"].out
    assert visible(folder) == before
    for path in (folder, *folder.rglob("*")):
        path.chmod(0o755)


KILLED = """
import os, signal, sys
real, calls = os.fsync, iter(range(1000))
def fsync(handle):
    if next(calls) == int(sys.argv[1]):
        os.kill(os.getpid(), signal.SIGKILL)
    real(handle)
os.fsync = fsync
from headrace.doors.cli import cli
sys.exit(cli(sys.argv[2:]))
"""


@pytest.mark.parametrize(
    ("at", "words"), [(0, ("bring",)), (2, ("bring",)), (3, ("sheet", "--sign", "B. Example"))]
)
def test_killed_for_good_nothing_is_lost(
    at: int, words: tuple[str, ...], clean: tuple[Path, dict[str, Any]], tmp_path: Path
) -> None:
    folder = begun(clean[0], tmp_path, fresh=True)
    before = visible(folder)
    line = [words[0], str(folder), *(words[1:] or (str(tmp_path / "day.csv"),))]
    ended = subprocess.run([sys.executable, "-c", KILLED, str(at), *line], capture_output=True, check=False)
    assert ended.returncode == -signal.SIGKILL
    stands(folder, before, clean[1]["said"]["reduce"].out)


@pytest.mark.parametrize("at", [0, 100_000_000, 4_000_000_000])
@pytest.mark.parametrize("which", ["inputs", "results"])
def test_times_of_files_change_no_number(
    at: int, which: str, clean: tuple[Path, dict[str, Any]], tmp_path: Path
) -> None:
    folder = begun(clean[0], tmp_path, fresh=False)
    for path in folder.rglob("*"):
        if path.is_file() and (path.relative_to(folder).parts[0] == "results") == (which == "results"):
            os.utime(path, (at, at))
    for _ in range(2):
        ended = headrace("reduce", folder, "--json")
        assert (ended.code, ended.out) == (0, clean[1]["said"]["reduce"].out)
    assert headrace("check", folder).code == 0


def test_a_signature_before_the_last_one_is_told(clean: tuple[Path, dict[str, Any]], tmp_path: Path) -> None:
    folder = begun(clean[0], tmp_path, fresh=False)
    balanced = app.setpoints(folder)
    codes = []
    for year in (2090, 2091, 2080):
        at = datetime.datetime(year, 3, 14, 9, 5, tzinfo=datetime.UTC)
        done = app.print_sheet(folder, balanced, sign="A. Example", at=at)
        assert done.signed is not None
        codes.append([one for one in done.balanced.notices if one.code == "signed-clock-back"])
    assert codes[:2] == [[], []]
    ((told,),) = codes[2:]
    assert "2080-03-14 09:05 UTC" in told.text
    assert "2091-03-14 09:05 UTC" in told.text
    assert len(list((folder / "signed").glob("*.pdf"))) == 4  # nothing is written over
    assert headrace("check", folder).code == 0
