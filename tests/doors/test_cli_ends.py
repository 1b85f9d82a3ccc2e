"""How commands end: 0 done, 1 a stop stands or a question is open, 2 mend the input, 3 our fault; and what is told."""

import datetime
import errno
import hashlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from pypdf import PdfReader

from headrace import app
from support import json_shapes as shapes
from support.commands import headrace

WIDTH = 100


def changed(path: Path, old: str, new: str) -> None:
    """Change a file in one place that must be there."""
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_an_unreachable_point_is_a_stop_and_no_set_point_is_printed(small: Path) -> None:
    words = ("setpoints", small, "--pc", "35 bar(a)")
    text = headrace(*words)
    assert text.code == 1
    assert "No set points" in text.out
    assert re.search(r"ox tank .* bar too much", " ".join(text.out.split()))
    assert "static  " not in text.out
    assert "interval" not in text.out.split("No set points")[1]
    assert text.out.index("No set points") < text.out.index("\nCircuits")
    ended = headrace(*words, "--json")
    assert ended.code == 1
    stops = [one for one in ended.json(shapes.NO_SETPOINTS)["notices"] if one["severity"] == "stop"]
    assert [one["code"] for one in stops] == ["infeasible"]
    assert stops[0]["about"] == "ox tank"


def test_tanks_that_push_nothing_are_a_stop(small: Path) -> None:
    words = ("predict", small, "--tank", "ox=-1 bar(g)", "--tank", "fuel=24 bar(g)")
    ended = headrace(*words, "--json")
    assert ended.code == 1
    assert ended.json(shapes.NO_PREDICTION)["notices"][0]["about"] == "ox"
    assert "No answer" in headrace(*words).out


def test_a_stop_that_stands_beside_set_points_is_told_above_them(small: Path) -> None:
    changed(small / "campaign.toml", "[defaults]", '[limits]\ninjector_drop = "40 %"\n[defaults]')
    text = headrace("setpoints", small)
    assert text.code == 1
    assert text.out.index("do not set these pressures") < text.out.index("bar(g)  ")
    assert headrace("setpoints", small, "--json").json(shapes.SETPOINTS)["notices"][0]["severity"] == "stop"


def test_a_sheet_with_a_stop_is_printed_and_not_signed(small: Path) -> None:
    changed(small / "engine.toml", 'relief = "36 bar(g)"', 'relief = "22 bar(g)"')
    ended = headrace("sheet", small, "--sign", "A. Example", "--json")
    assert ended.code == 1
    assert ended.json(shapes.SHEET)["signed"] is None
    assert "not signed" in ended.err
    assert (small / "results/sheet.pdf").is_file()
    assert not (small / "signed").exists()


def test_what_a_signed_sheet_rests_on_is_watched(small: Path) -> None:
    ended = headrace("sheet", small, "--sign", "A. Example", "--json")
    signed = Path(ended.json(shapes.SHEET)["signed"])
    assert ended.code == 0
    assert signed.parent == small / "signed"
    assert signed.read_bytes().startswith(b"%PDF")
    assert signed.name.startswith(f"{datetime.datetime.now(datetime.UTC):%Y-%m-}")
    assert '"p_chamber": 2000000.0' in signed.with_suffix(".json").read_text()
    assert headrace("check", small).code == 0
    changed(small / "bench.toml", "0.1 %", "0.2 %")
    after = headrace("check", small, "--json")
    assert after.code == 1
    stop = after.json(shapes.CHECK)["notices"][0]
    assert (stop["code"], stop["severity"]) == ("signed-inputs-changed", "stop")
    assert "bench.toml" in stop["text"]
    assert "signed inputs changed" in headrace("check", small).out


def test_a_signer_whom_the_campaign_does_not_name_is_a_doubt_on_the_sheet(small: Path) -> None:
    known = headrace("sheet", small, "--sign", "A. Example")
    assert "signer-not-named" not in known.out
    ended = headrace("sheet", small, "--sign", "A. Exampel")
    assert ended.code == 0
    assert "signer-not-named" in ended.out
    assert "A. Example, B. Example" in ended.out
    text = "".join(page.extract_text() for page in PdfReader(small / "results/sheet.pdf").pages)
    assert "A. Exampel signed, but campaign.toml names A. Example, B. Example" in " ".join(text.split())
    for sheet in (small / "signed").iterdir():
        sheet.unlink()
    changed(small / "campaign.toml", 'signers = ["A. Example", "B. Example"]', "")
    assert headrace("sheet", small, "--sign", "../C. Else").code == 0
    (signed,) = (small / "signed").glob("*.pdf")
    assert signed.name.endswith("Z-C-Else-1.pdf")


def test_a_sheet_that_nobody_signed_is_the_same_again(small: Path) -> None:
    first = headrace("sheet", small)
    data = (small / "results/sheet.pdf").read_bytes()
    assert (headrace("sheet", small).code, first.code) == (0, 0)
    assert (small / "results/sheet.pdf").read_bytes() == data


@pytest.mark.parametrize("command", ["check", "reduce", "setpoints", "sheet"])
def test_a_changed_raw_file_names_both_hashes(small: Path, command: str) -> None:
    raw = small / "runs/W01/W01.csv"
    before = hashlib.sha256(raw.read_bytes()).hexdigest()
    raw.write_bytes(raw.read_bytes().replace(b"1", b"2", 1))
    after = hashlib.sha256(raw.read_bytes()).hexdigest()
    ended = headrace(command, small, "--json")
    assert ended.code == 2
    document = ended.json(shapes.CHECK if command == "check" else shapes.refused(command))
    told = " ".join(str(said) for said in document["problems"][0].values())
    assert before in told
    assert after in told
    assert before in ended.err
    assert after in ended.err
    assert [one.name for one in (small / "results").glob("*")] in ([], ["cache"])


@pytest.mark.parametrize("command", ["check", "setpoints", "reduce"])
def test_a_pressure_without_its_kind_is_bad_input(small: Path, command: str) -> None:
    changed(small / "engine.toml", 'relief = "36 bar(g)"', 'relief = "36 bar"')
    ended = headrace(command, small)
    assert ended.code == 2
    assert ended.out == ""
    line = ended.err.splitlines()[0]
    assert re.match(r"headrace: engine\.toml, line \d+, ox\.tank\.relief: found .*36 bar.*; expected ", line)
    assert "Try: " in line


def test_every_problem_is_told_at_once(small: Path) -> None:
    changed(small / "engine.toml", 'relief = "36 bar(g)"', 'relief = "36 bar"')
    changed(small / "article.toml", "bore", "boar")
    changed(small / "runs/W01/run.toml", "date", "dtae")
    ended = headrace("check", small)
    files = {line.split(",")[0] for line in ended.err.splitlines() if line.startswith("headrace: ")}
    assert {"headrace: engine.toml", "headrace: article.toml", "headrace: runs/W01/run.toml"} <= files
    assert "Nothing was written." in headrace("reduce", small).err


REFUSED = {
    "no folder": ("setpoints", "NOWHERE"),
    "a file for a folder": ("check", "SMALL/engine.toml"),
    "no such command": ("reduced", "SMALL"),
    "no folder given": ("reduce",),
    "an unknown option": ("reduce", "SMALL", "--fast"),
    "gauge for absolute": ("setpoints", "SMALL", "--pc", "19 bar(g)"),
    "no kind": ("setpoints", "SMALL", "--pc", "20 bar"),
    "no unit": ("setpoints", "SMALL", "--flow", "9"),
    "O/F of zero": ("setpoints", "SMALL", "--of", "0"),
    "O/F that is no number": ("setpoints", "SMALL", "--of", "nan"),
    "a doubt where a wish is": ("setpoints", "SMALL", "--of", "2.2 ± 0.1"),
    "two wishes": ("setpoints", "SMALL", "--pc", "20 bar(a)", "--flow", "9 kg/s"),
    "one side only": ("predict", "SMALL", "--tank", "ox=24 bar(g)"),
    "absolute for gauge": ("predict", "SMALL", "--tank", "ox=24 bar(a)", "--tank", "fuel=24 bar(g)"),
    "an unknown side": ("predict", "SMALL", "--tank", "lox=24 bar(g)", "--tank", "fuel=24 bar(g)"),
    "a side twice": ("predict", "SMALL", *(f"--tank={one}=24 bar(g)" for one in ("ox", "ox", "fuel"))),
    "nobody signs": ("sheet", "SMALL", "--sign", " "),
    "no such logger file": ("bring", "SMALL", "NOWHERE"),
    "a folder for a logger file": ("bring", "SMALL", "SMALL"),
    "no table in it": ("bring", "--look", "SMALL/bench.toml"),
    "no campaign to bring it to": ("bring", "NOWHERE", "SMALL/runs/W01/W01.csv"),
    "a run that is there": ("bring", "SMALL", "SMALL/runs/W01/W01.csv", "--run", "W01"),
    "a run with a name that is a path": ("bring", "SMALL", "SMALL/runs/W01/W01.csv", "--run", "../W9"),
    "a second file for a run that is not there": (
        "bring",
        "SMALL",
        "SMALL/runs/W01/W01.csv",
        "--also",
        "W99",
    ),
    "a second file of a name that is taken": ("bring", "SMALL", "SMALL/runs/W01/W01.csv", "--also", "W01"),
    "a new run and one that is there": ("bring", "SMALL", "SMALL/bench.toml", "--also", "W01", "--run", "W9"),
    "new over something": ("new", "SMALL"),
}


@pytest.mark.parametrize("words", REFUSED.values(), ids=REFUSED.keys())
def test_bad_input_ends_with_2_and_writes_nothing(
    small_original: Path, tmp_path: Path, words: tuple[str, ...]
) -> None:
    before = sorted(path.relative_to(small_original) for path in small_original.rglob("*"))
    typed = [
        word.replace("SMALL", str(small_original)).replace("NOWHERE", str(tmp_path / "no")) for word in words
    ]
    ended = headrace(*typed)
    assert ended.code == 2
    assert ended.out == ""
    assert ended.err.startswith("headrace: ")
    assert "Nothing was written." in ended.err
    assert sorted(path.relative_to(small_original) for path in small_original.rglob("*")) == before
    assert not list(tmp_path.iterdir())


def test_the_demo_writes_over_nothing_but_demos(small: Path, tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    assert headrace("new", mine).code == 0
    before = {path: path.read_bytes() for path in mine.rglob("*") if path.is_file()}
    ended = headrace("demo", mine)
    assert ended.code == 2
    assert "a demo" in ended.err
    assert {path: path.read_bytes() for path in mine.rglob("*") if path.is_file()} == before
    shutil.copy(small / "truth.json", mine)  # not invented by its own campaign.toml
    assert headrace("demo", mine).code == 2


def test_numbers_are_told_where_results_cannot_be_written(small: Path) -> None:
    (small / "results").write_text("in the way")
    ended = headrace("reduce", small, "--json")
    assert ended.code == 0
    assert ended.json(shapes.REDUCE)["circuits"]["ox"]["area_eff"]
    assert "cannot be written" in ended.err
    assert headrace("sheet", small).code == 2


@pytest.mark.parametrize("command", ["new", "bring", "also", "sheet"])
@pytest.mark.parametrize("place", [0, 1])
def test_a_full_disk_is_told_and_leaves_nothing(
    command: str, place: int, small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "log.csv"
    file.write_text("t (s),p (bar)\n0.0,1.5\n0.1,1.6\n0.2,1.7\n", encoding="utf-8")
    words: dict[str, tuple[object, ...]] = {
        "new": (tmp_path / "n",),
        "bring": (small, file),
        "also": (small, file, "--also", "W01"),
        "sheet": (small,),
    }
    real, calls = os.fsync, iter(range(1000))

    def full(handle: int) -> None:
        if next(calls) >= place:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(handle)

    before = sorted(path for path in small.rglob("*") if "results" not in path.parts)
    monkeypatch.setattr(os, "fsync", full)
    ended = headrace("bring" if command == "also" else command, *words[command])
    monkeypatch.undo()
    assert ended.code == 2
    assert "cannot be written (No space left on device)" in ended.err
    assert sorted(path for path in small.rglob("*") if "results" not in path.parts) == before
    assert not [path for path in (tmp_path / "n").rglob("*") if path.is_file()]


def test_a_file_with_two_readings_is_asked_about(tmp_path: Path, small: Path) -> None:
    raw = tmp_path / "dates.csv"
    lines = [f"0{1 + k // 60}/02/2026 10:00:{k % 60:02d};{1.5 + k / 100:.2f}" for k in range(50)]
    raw.write_text("when;PM-OX (bar)\n" + "\n".join(lines) + "\n")
    looked = headrace("bring", "--look", raw, "--json")
    assert looked.code == 1
    assert looked.json(shapes.LOOK)["questions"]
    brought = headrace("bring", small, raw)
    assert brought.code == 1
    assert "Questions" in brought.out


def test_what_a_draft_leaves_open_counts_for_check(small: Path, tmp_path: Path) -> None:
    raw = tmp_path / "plain.csv"
    raw.write_text("t (s);PM-OX (bar)\n" + "".join(f"{k / 10:.1f};{1.5 + k / 100:.2f}\n" for k in range(50)))
    brought = headrace("bring", small, raw)
    assert brought.code == 0
    assert "date" in brought.out
    assert "Until then headrace check exits 1." in " ".join(brought.out.split())
    assert headrace("check", small).code == 1
    assert "check: it exits 1 until all is answered" in " ".join(headrace("bring", "--help").out.split())


def test_a_second_logger_goes_into_the_run_that_is_there(small: Path, tmp_path: Path) -> None:
    raw = tmp_path / "slow.csv"
    raw.write_text("t (s);CH1 (V);CH2 (V)\n" + "".join(f"{k / 10:.1f};{k % 7};{k % 5}\n" for k in range(50)))
    ended = headrace("bring", small, raw, "--also", "W01", "--json")
    brought = ended.json(shapes.BRING)
    assert (ended.code, brought["run"], brought["file"]) == (0, "W01", "runs/W01/slow.csv")
    asked = headrace("check", small, "--json")
    assert asked.code == 1
    assert {one["key"] for one in asked.json(shapes.CHECK)["questions"]} == set(brought["draft_open"])
    assert {"also[0].offset", "also[0].channels.CH1.instrument"} == set(brought["draft_open"])
    raw.rename(tmp_path / "third.csv")
    told = headrace("bring", small, tmp_path / "third.csv", "--also", "W01")
    assert "Run W01: runs/W01/third.csv" in told.out
    assert "also[1].offset" in told.out


def test_a_folder_that_is_missing_is_named(small: Path, tmp_path: Path) -> None:
    ended = headrace("bring", tmp_path / "nodir", small / "runs/W01/W01.csv")
    assert ended.code == 2
    assert ended.err.startswith(
        f"headrace: {tmp_path / 'nodir'}: found no folder; expected the campaign's folder"
    )


def test_our_own_fault_is_written_down_and_not_shown(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("a fault planted by a test")

    monkeypatch.setattr(app, "reduce", broken)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    ended = headrace("reduce", small, "--json")
    assert (ended.code, ended.out) == (3, "")
    where = re.search(r"written down in (\S+\.txt);", ended.err)
    assert where is not None
    story = Path(where[1]).read_text()
    assert "Traceback" in story
    assert "a fault planted by a test" in story
    assert "ours" in ended.err


def test_text_is_plain_and_fits(small: Path) -> None:
    """No escape codes when piped, no line over 100 columns, the order of the sheet, and never that word."""
    tanks = ("--tank", "ox=24 bar(g)", "--tank", "fuel=24 bar(g)")
    texts = [
        headrace(*words).out
        for words in (("reduce", small), ("setpoints", small), ("predict", small, *tanks), ("check", small),
                      ("bring", "--look", small / "runs/W01/W01.csv"))
    ]  # fmt: skip
    for text in texts:
        assert "\x1b" not in text
        assert max(map(len, text.splitlines())) <= WIDTH
        assert not re.search(r"\bsafe", text, re.IGNORECASE)
    order = ["Bench and day", "\nRuns", "\nCircuits", "\nDoubts in full"]
    places = [texts[0].index(heading) for heading in order]
    assert places == sorted(places)
    order = ["Asked", "\nSet points", "\nExpect", "\nCircuits", "\nDoubts in full"]
    places = [texts[1].index(heading) for heading in order]
    assert places == sorted(places)
    order = ["Asked", "\nExpect", "\nCircuits", "\nDoubts in full"]
    places = [texts[2].index(heading) for heading in order]
    assert places == sorted(places)
    severities = re.findall(r"^ +\d+ (stop|doubt|remark), ", texts[1], re.MULTILINE)
    assert severities == sorted(severities, key=["stop", "doubt", "remark"].index)
    assert f"Doubts in full: {len(severities)}," in texts[1]


def test_the_installed_command_ends_the_same(small: Path) -> None:
    """Through a real process: exit codes, JSON alone on stdout, messages on stderr."""
    run = [sys.executable, "-c", "from headrace.doors.cli import main; main()"]
    good = subprocess.run([*run, "check", small, "--json"], capture_output=True, text=True, check=False)
    assert (good.returncode, good.stderr) == (0, "")
    assert good.stdout.startswith("{")
    bad = subprocess.run([*run, "setpoints", small / "no"], capture_output=True, text=True, check=False)
    assert (bad.returncode, bad.stdout) == (2, "")
    assert bad.stderr.startswith("headrace: ")
    ascii_only = {"PYTHONIOENCODING": "ascii", "PATH": ""}
    plain = subprocess.run([*run, "reduce", small], capture_output=True, check=False, env=ascii_only)
    assert plain.returncode == 0
    assert b"Traceback" not in plain.stderr
