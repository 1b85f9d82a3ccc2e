"""A second logger's file into a run that is there: appended and asked for, or the run is as it was."""

import errno
import hashlib
import itertools
import os
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from headrace.errors import InputError
from headrace.files import write
from headrace.files.bring import bring
from headrace.files.bring_also import bring_also
from headrace.files.check import check
from headrace.files.drafts import open_keys
from support import golden_folder

RUN = "runs/W07/run.toml"
OWN = '"p manifold" = { instrument = "PM-OX" }\n'


def slow(tmp_path: Path, heading: str = "time (s)\tPM-OX (bar(g))\tvalve (V)\tDP-A (mA)") -> Path:
    """The manifold pressure of the golden run by a second logger, which began 1.3 s later."""
    lines = [heading]
    for k in range(280):
        at = 1.3 + k / 20
        pressure = 12.5 - 0.2 * (at - 2) if 2 < at < 15 else 0.0
        lines.append(f"{k / 20:.3f}\t{pressure:.4f}\t{5.0 if 2 < at < 15 else 0.1:.2f}\t{12 + k % 3}")
    path = tmp_path / "slow.txt"
    path.write_text("\n".join(lines) + "\n")
    return path


def campaign(place: Path, run: str | None = None) -> Path:
    text = golden_folder.files()[RUN].replace(OWN, "") if run is None else run
    return golden_folder.write(place, {RUN: text})


def seen(folder: Path) -> dict[str, bytes]:
    home = folder / "runs/W07"
    return {path.name: path.read_bytes() for path in home.iterdir() if not path.name.startswith(".")}


def test_it_is_appended_sealed_and_asked_for(tmp_path: Path) -> None:
    folder, raw = campaign(tmp_path / "c"), slow(tmp_path)
    before = (folder / RUN).read_bytes()
    brought = bring_also(folder, raw, run="W07")
    after = (folder / RUN).read_bytes()
    assert after.startswith(before)  # comments, order and all
    assert brought.draft.encode() == after
    assert (brought.run, brought.file) == ("W07", "runs/W07/slow.txt")
    assert (folder / brought.file).read_bytes() == raw.read_bytes()
    digest = hashlib.sha256(raw.read_bytes()).hexdigest()
    assert (folder / "runs/W07/slow.txt.sha256").read_text() == f"{digest}  slow.txt\n"
    assert brought.mapped == {"PM-OX": "PM-OX"}  # DP-A is in the run's own file already
    assert brought.unmapped == ("valve", "DP-A")
    (table,) = tomllib.loads(after.decode())["also"]
    assert table == {
        "file": "slow.txt", "offset": "?", "logger": {}, "channels": {"PM-OX": {"instrument": "PM-OX"}}
    }  # fmt: skip
    checked = check(folder)
    assert (checked.problems, {one.key for one in checked.questions}) == ((), {"also[0].offset"})
    assert open_keys(brought.draft) == ("also[0].offset",)
    assert not list((folder / "runs/W07").glob(".*"))


def test_with_its_answer_the_run_holds_both(tmp_path: Path) -> None:
    folder = campaign(tmp_path / "c")
    bring_also(folder, slow(tmp_path), run="W07")
    run = folder / RUN
    run.write_text(run.read_text().replace('offset = "?"', 'offset = "1.3 s ± 0.05 s"'))
    checked = check(folder)
    assert (checked.problems, checked.questions) == ((), ())
    assert checked.campaign is not None
    trace = checked.campaign.runs["W07"].trace
    assert trace is not None
    assert {"DP-A", "PM-OX"} <= set(trace.channels)
    assert [one.origin.file for one in trace.others] == ["runs/W07/slow.txt"]


def test_a_file_of_which_nothing_is_known_asks_for_a_column(tmp_path: Path) -> None:
    folder = campaign(tmp_path / "c")
    bring_also(folder, slow(tmp_path, "time (s)\tCH1 (bar)\tCH2\tCH3"), run="W07")
    checked = check(folder)
    assert checked.problems == ()
    assert {one.key for one in checked.questions} == {"also[0].offset", "also[0].channels.CH1.instrument"}


def test_a_third_file_comes_behind_the_second(tmp_path: Path) -> None:
    folder = campaign(tmp_path / "c")
    bring_also(folder, slow(tmp_path), run="W07")
    third = tmp_path / "third.txt"
    third.write_bytes(slow(tmp_path, "time (s)\tTW-A (degC)\ta\tb").read_bytes())
    bring_also(folder, third, run="W07")
    names = [one["file"] for one in tomllib.loads((folder / RUN).read_text())["also"]]
    assert names == ["slow.txt", "third.txt"]


@pytest.mark.parametrize("ends", ["", "\r\n"])
def test_other_forms_of_the_page_are_kept(ends: str, tmp_path: Path) -> None:
    """A last line without an end, line ends of another system."""
    text = golden_folder.files()[RUN].replace(OWN, "").rstrip("\n")
    folder = campaign(tmp_path / "c", text)
    if ends:
        (folder / RUN).write_bytes((text + "\n").replace("\n", ends).encode())
    before = (folder / RUN).read_bytes()
    bring_also(folder, slow(tmp_path), run="W07")
    after = (folder / RUN).read_bytes()
    assert after.startswith(before)
    assert after.count(b"\r\n") == (after.count(b"\n") if ends else 0)
    assert len(tomllib.loads(after.decode())["also"]) == 1


def test_an_array_in_brackets_gets_one_more(tmp_path: Path) -> None:
    one = 'also = [{ file = "a.txt", offset = "?", channels = { x = { instrument = "?" } } }]  # the first\n'
    folder = campaign(tmp_path / "c", "# a word before\n" + one + golden_folder.files()[RUN].replace(OWN, ""))
    bring_also(folder, slow(tmp_path), run="W07")
    text = (folder / RUN).read_text()
    assert [one["file"] for one in tomllib.loads(text)["also"]] == ["a.txt", "slow.txt"]
    assert "# a word before" in text
    assert "# the first" in text


class Cut(BaseException):
    """The power is gone."""


def failing(
    real: Callable[..., object], counted: Iterator[int], step: int, told: bool
) -> Callable[..., object]:
    """A function of the system that fails when the count comes to `step`."""

    def stepped(*arguments: object) -> object:
        if next(counted) == step:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)) if told else Cut
        return real(*arguments)

    return stepped


@pytest.mark.parametrize("told", [True, False])
def test_cut_or_full_at_every_write_the_run_is_as_it_was(
    told: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """told: the system says that the disk is full, and nothing is left; else power is cut, and nobody cleans up."""
    raw, step, whole = slow(tmp_path), 0, False
    while not whole:
        step += 1
        folder = campaign(tmp_path / f"c{step}{told}")
        before, faults = seen(folder), check(folder).problems
        with monkeypatch.context() as patch:
            counted = itertools.count(1)
            for name in ("replace", "fsync"):
                patch.setattr(write.os, name, failing(getattr(os, name), counted, step, told))
            if not told:
                patch.setattr(write.shutil, "rmtree", lambda *_rest, **_more: None)
                patch.setattr(Path, "unlink", lambda *_rest, **_more: None)
            try:
                bring_also(folder, raw, run="W07")
                whole = True
            except (OSError, Cut):
                pass
        if whole:
            break
        after = seen(folder)
        complete = after["run.toml"] != before["run.toml"]
        if told and not complete:
            assert after == before
            assert not list((folder / "runs/W07").glob(".*"))
        assert {name: after[name] for name in before if name != "run.toml"} == {
            name: data for name, data in before.items() if name != "run.toml"
        }
        assert complete or after["run.toml"] == before["run.toml"]
        assert check(folder).problems == (() if complete else faults)
        if not complete:  # what a cut left there is no hindrance
            assert bring_also(folder, raw, run="W07").mapped == {"PM-OX": "PM-OX"}
    assert step > 6


@pytest.mark.parametrize(
    ("name", "run", "word"),
    [("W07.csv", "W07", "nothing is written over"), ("slow.txt", "W99", "a run of this campaign"),
     ("slow.txt", "../runs/W07", "a run of this campaign"), (".slow", "W07", "printable"),
     ("run.toml", "W07", "printable")],
)  # fmt: skip
def test_what_is_refused_leaves_the_run(name: str, run: str, word: str, tmp_path: Path) -> None:
    folder = campaign(tmp_path / "c")
    raw = slow(tmp_path).rename(tmp_path / name)
    before = seen(folder)
    with pytest.raises(InputError, match=word):
        bring_also(folder, raw, run=run)
    assert seen(folder) == before


def test_a_run_without_a_raw_file_takes_no_second(tmp_path: Path) -> None:
    text = golden_folder.files()[RUN].replace('file = "W07.csv"', "")
    folder = campaign(tmp_path / "c", text)
    with pytest.raises(InputError, match="a run with a raw file"):
        bring_also(folder, slow(tmp_path), run="W07")


def test_a_page_that_changed_meanwhile_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from headrace.files import bring_also as room

    folder = campaign(tmp_path / "c")
    real = room.around_of

    def editing(root: Path) -> object:
        (folder / RUN).write_text((folder / RUN).read_text() + "# a person was here\n")
        return real(root)

    monkeypatch.setattr(room, "around_of", editing)
    with pytest.raises(InputError, match="nobody writes to"):
        bring_also(folder, slow(tmp_path), run="W07")
    assert (folder / RUN).read_text().endswith("# a person was here\n")
    assert not (folder / "runs/W07/slow.txt").exists()


@pytest.mark.parametrize(
    ("ambient", "event", "begins", "asked"),
    [
        ('ambient = "1011 mbar(a)"', 'what = "note"\nnote = "cold"', "2026-03-12T10:00:00", False),
        ("", 'what = "barometer"\nambient = "1011 mbar(a)"', "2026-03-12T10:00:00", False),
        ("", 'what = "barometer"\nambient = "1011 mbar(a)"', "2026-03-13T10:00:00", True),
        ("", 'what = "note"\nnote = "cold"', "2026-03-12T10:00:00", True),
        ('ambient = "1011 mbar(a)"', 'what = "note"\nnote = "cold"', "", True),
        ('ambient = "1011 mbar(a)"', 'what = "run"\nrun = "W08"', "", False),
        ("", 'what = "run"\nrun = "W08"', "", True),
    ],
)
def test_the_barometer_is_left_to_a_ledger_that_has_it(
    ambient: str, event: str, begins: str, asked: bool, tmp_path: Path
) -> None:
    page = f'date = 2026-03-12\n{ambient}\n[[event]]\ntime = "09:00"\nby = "AB"\n{event}\n'
    folder = golden_folder.write(tmp_path / "c", {"ledger.toml": page})
    raw = tmp_path / "log.csv"
    stamp = [f"{begins}.{k}" if begins else f"{k / 10}" for k in range(10)]
    raw.write_text("time;PM-OX [bar(g)]\n" + "".join(f"{at};{k}.5\n" for k, at in enumerate(stamp)))
    draft = bring(folder, raw).draft
    assert ("ambient" in open_keys(draft)) == asked
    assert ('# ambient = "..."' in draft) != asked
    assert check(folder).problems == ()
