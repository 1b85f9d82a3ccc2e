"""Whatever is written to a folder is there whole or not at all: cut at every step, the folder still passes `check`."""

import datetime
import hashlib
import json
import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from headrace.errors import InputError
from headrace.files import write
from headrace.files.bring import bring, look, next_run
from headrace.files.check import check
from headrace.files.new import new
from headrace.files.results import write_file, write_json, write_table
from headrace.files.signed import keep, signed_sheets
from headrace.notices import Severity
from support import golden_folder

RAW = "time [s];DP-A (mA);PM-OX [bar(g)];TW-A;PX 7 [bar];PG-TAP [psi(a)]\n" + "".join(
    f"{i / 10:.1f};{4 + i % 7:.3f};{10 + i % 3:.3f};17.5;3.1;4\n" for i in range(200)
)


class Cut(BaseException):
    """The power is gone; nothing in the code may take this for an error that it knows."""


def cut_at(step: int, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Let the n-th step of writing fail, half done where it can be; returns the steps taken."""
    taken: list[str] = []

    def failing(name: str, real: Callable[..., object], *, half: bool = False) -> Callable[..., object]:
        def stepped(*arguments: object, **more: object) -> object:
            taken.append(name)
            if len(taken) == step:
                if half:
                    Path(str(arguments[0])).write_bytes(bytes(arguments[1])[:7])  # type: ignore[call-overload]
                raise Cut
            return real(*arguments, **more)

        return stepped

    monkeypatch.setattr(write.os, "replace", failing("replace", os.replace))
    monkeypatch.setattr(write.os, "fsync", failing("fsync", os.fsync))
    monkeypatch.setattr(write, "_to_disk", failing("write", write._to_disk, half=True))
    monkeypatch.setattr(
        write.shutil, "rmtree", lambda *_args, **_more: None
    )  # after a power cut nobody cleans up
    monkeypatch.setattr(Path, "unlink", lambda *_args, **_more: None)
    return taken


def visible(folder: Path) -> set[str]:
    return {
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(folder).parts)
    }


AT = datetime.datetime(2026, 11, 25, 17, 40, 9, tzinfo=datetime.UTC)

JOBS: dict[str, Callable[[Path, Path], object]] = {
    "bring": lambda folder, raw: bring(folder, raw),
    "signed": lambda folder, _: keep(
        folder, pdf=b"%PDF-1.7 invented", signed_by="A. Example", at=AT, campaign_date=AT.date(), inputs={}
    ),
    "results": lambda folder, _: write_json(folder, "reduce", {"a": 1.0}, inputs={"bench.toml": "00"}),
    "new": lambda folder, _: new(folder / "fresh", date=AT.date()),
}


@pytest.mark.parametrize("job", JOBS)
def test_cut_anywhere_the_folder_passes_check(
    job: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw = tmp_path / "raw.csv"
    raw.write_text(RAW)
    step, whole = 0, False
    while not whole:
        step += 1
        folder = golden_folder.write(tmp_path / f"{job}{step}")
        before = {name: (folder / name).read_bytes() for name in visible(folder)}
        with monkeypatch.context() as patch:
            taken = cut_at(step, patch)
            try:
                JOBS[job](folder, raw)
                whole = True
            except Cut:
                assert len(taken) >= step  # what was on its way beside it may still come
        home = folder / "fresh" if job == "new" else folder
        if job != "new" or (home / "campaign.toml").exists():
            checked = check(home)
            assert checked.problems == (), f"cut at step {step} ({taken[-1]})"
        assert all((folder / name).read_bytes() == data for name, data in before.items())
    assert step > 3


def test_write_replaces_whole_files_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.json"
    write.write_bytes(path, b"old")
    with monkeypatch.context() as patch:
        patch.setattr(write.os, "replace", lambda *_: (_ for _ in ()).throw(OSError("disk full")))
        with pytest.raises(OSError, match="disk full"):
            write.write_bytes(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]  # nothing hidden is left where the process lives on


def test_bring_copies_seals_and_drafts(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path / "campaign")
    raw = tmp_path / "bench day.csv"
    raw.write_text(RAW)
    brought = bring(folder, raw)
    home = folder / "runs/W08"
    assert (brought.run, brought.file) == ("W08", "runs/W08/bench day.csv")
    assert (home / raw.name).read_bytes() == raw.read_bytes()
    digest = hashlib.sha256(raw.read_bytes()).hexdigest()
    assert (home / "bench day.csv.sha256").read_text() == f"{digest}  bench day.csv\n"
    assert brought.sha256 == digest
    assert brought.understanding.rows == look(raw).rows == 200
    assert brought.mapped == {"DP-A": "DP-A", "PM-OX": "PM-OX", "TW-A": "TW-A"}
    assert brought.unmapped == (
        "PX 7",
        "PG-TAP",
    )  # no such tag; a gauge that reads absolute is not that gauge
    assert '"TW-A" = { instrument = "TW-A", unit = "?" }' in brought.draft
    assert '# "PX 7" = { instrument = "?", unit = "bar" }' in brought.draft
    checked = check(folder)
    assert checked.problems == ()
    assert {one.key for one in checked.questions} == {
        "date", "ambient", "water_temperature", "flow[0].circuits[0]", "flow[0].lines[0]", "channels.TW-A.unit",
    }  # fmt: skip
    assert checked.campaign is not None
    assert "W08" not in checked.campaign.runs
    assert {one.run for one in checked.notices} == {"W08"}


def test_a_draft_with_its_answers_is_a_run(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path / "campaign")
    raw = tmp_path / "raw.csv"
    raw.write_text(RAW)
    bring(folder, raw)
    draft = folder / "runs/W08/run.toml"
    text = draft.read_text()
    for old, new_ in (
        ('date = "?"', "date = 2026-03-13"), ('ambient = "?"', 'ambient = "1010 mbar(a)"'),
        ('water_temperature = "?"', 'water_temperature = "17 degC"'), ('circuits = ["?"]', 'circuits = ["ox"]'),
        ('lines = ["?"]', 'lines = ["A"]'), ('unit = "?" }', 'unit = "degC" }'),
    ):  # fmt: skip
        assert old in text
        text = text.replace(old, new_, 1)
    draft.write_text(text)
    checked = check(folder)
    assert (checked.problems, checked.questions) == ((), ())
    assert checked.campaign is not None
    trace = checked.campaign.runs["W08"].trace
    assert trace is not None
    assert len(trace.time) == 200


def test_bring_into_a_fresh_campaign_asks_and_breaks_nothing(tmp_path: Path) -> None:
    new(tmp_path / "campaign", date=AT.date())
    raw = tmp_path / "raw.csv"
    raw.write_text(RAW)
    assert bring(tmp_path / "campaign", raw).run == "W01"
    checked = check(tmp_path / "campaign")
    assert checked.problems == ()
    assert checked.questions


def test_bring_asks_what_the_logger_leaves_open(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path / "campaign")
    raw = tmp_path / "raw.csv"
    raw.write_text("\n".join(line.split(";", 1)[1] for line in RAW.splitlines()) + "\n")
    brought = bring(folder, raw)
    assert [one.code for one in brought.understanding.questions] == ["no-time-column"]
    assert '# sample_rate = "?"' in brought.draft
    assert check(folder).problems == ()


def test_bring_never_writes_over_a_run(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path / "campaign")
    before = (folder / "runs/W07/W07.csv").read_bytes()
    raw = tmp_path / "W07.csv"
    raw.write_text(RAW)
    with pytest.raises(InputError, match="nothing is written over"):
        bring(folder, raw, run="W07")
    assert (folder / "runs/W07/W07.csv").read_bytes() == before


@pytest.mark.parametrize("data", [b"", b"\x00" * 400, b"no table here\n", b"a,b,c\n"])
def test_what_cannot_be_read_is_not_brought(data: bytes, tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path / "campaign")
    raw = tmp_path / "raw.csv"
    raw.write_bytes(data)
    before = visible(folder)
    with pytest.raises(InputError):
        bring(folder, raw)
    assert visible(folder) == before
    assert not list((folder / "runs").glob(".*"))


@pytest.mark.parametrize("run", ["", "a/b", "..", " W1", "W\n1"])
def test_a_run_id_must_be_a_plain_name(run: str, tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path / "campaign")
    raw = tmp_path / "raw.csv"
    raw.write_text(RAW)
    with pytest.raises(InputError):
        bring(folder, raw, run=run)
    assert next_run(folder) == "W08"


def test_a_signed_sheet_stands_until_an_input_changes(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path)
    campaign = check(folder).campaign
    assert campaign is not None
    sheet = keep(
        folder,
        pdf=b"%PDF-1",
        signed_by="A. Example",
        at=AT,
        campaign_date=campaign.date,
        inputs=campaign.inputs,
    )
    assert check(folder).notices == ()
    bench = folder / "bench.toml"
    bench.write_text(bench.read_text().replace("20 ms", "30 ms"))
    (notice,) = check(folder).notices
    assert (notice.code, str(notice.severity), notice.about) == ("signed-inputs-changed", "stop", sheet.sheet)
    assert "bench.toml (changed)" in notice.text
    assert "signed by A. Example on 2026-11-25 17:40 UTC" in notice.text
    assert "article.toml" not in notice.text
    (folder / "signed" / sheet.sheet).write_bytes(b"%PDF-2")
    assert {one.code for one in check(folder).notices} == {"signed-inputs-changed", "signed-sheet-changed"}


def test_a_run_added_after_signing_is_a_doubt(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path)
    campaign = check(folder).campaign
    assert campaign is not None
    keep(
        folder,
        pdf=b"%PDF-1",
        signed_by="A. Example",
        at=AT,
        campaign_date=campaign.date,
        inputs=campaign.inputs,
    )
    (folder / "runs/H03").mkdir()
    (folder / "runs/H03/run.toml").write_text(golden_folder.BY_HAND)
    assert [(one.code, str(one.severity)) for one in check(folder).notices] == [
        ("signed-inputs-added", "doubt")
    ]


@pytest.mark.parametrize(("tag", "unit"), [("DP-A", '"mA"'), ("TW-A", '"degC"'), ("PM-OX", '"bar"')])
def test_an_open_unit_is_asked_in_a_unit_of_its_instrument(tmp_path: Path, tag: str, unit: str) -> None:
    folder = golden_folder.write(tmp_path)
    path = folder / "runs/W07/run.toml"
    path.write_text(
        re.sub(rf'instrument = "{tag}".*}}', f'instrument = "{tag}", unit = "?" }}', path.read_text())
    )
    (question,) = (one for one in check(folder).questions if one.key.endswith(".unit"))
    assert f'instrument = "{tag}", unit = {unit}' in question.try_
    assert question.line is not None


def test_a_second_signature_keeps_the_first(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path)
    given = {"signed_by": "A. Example", "at": AT, "campaign_date": AT.date(), "inputs": {}}
    names = {keep(folder, pdf=data, **given).sheet for data in (b"1", b"2")}  # type: ignore[arg-type]  # by name
    assert len(names) == 2
    assert {(folder / "signed" / name).read_bytes() for name in names} == {b"1", b"2"}


def test_a_signed_sheet_without_its_record_is_a_doubt(tmp_path: Path) -> None:
    """A cut between the sheet and its record, or a copy put there by hand."""
    folder = golden_folder.write(tmp_path)
    sheet = keep(folder, pdf=b"1", signed_by="A", at=AT, campaign_date=AT.date(), inputs={}).sheet
    assert "signed-without-record" not in {one.code for one in check(folder).notices}
    (folder / "signed" / sheet).with_suffix(".json").unlink()
    (told,) = (one for one in check(folder).notices if one.code == "signed-without-record")
    assert told.severity is Severity.DOUBT
    assert sheet in told.text


def test_a_signature_carries_the_moment_and_apart_from_it_the_date_of_the_campaign(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path)
    zone = datetime.timezone(datetime.timedelta(hours=-5))
    day = datetime.date(2026, 3, 14)
    name = "../../etc/A. Example\\" + "x" * 300
    sheet = keep(folder, pdf=b"1", signed_by=name, at=AT.astimezone(zone), campaign_date=day, inputs={})
    assert sheet.sheet.startswith("2026-11-25-1740Z-etc-A-Example-x")
    assert len(sheet.sheet) < 100
    assert {path.parent for path in tmp_path.rglob("*Example*")} == {folder / "signed"}
    record = json.loads((folder / "signed" / sheet.sheet).with_suffix(".json").read_text())
    assert record["signed_at"] == "2026-11-25T12:40:09-05:00"
    assert record["campaign_date"] == "2026-03-14"
    (read,), problems = signed_sheets(folder)
    assert not problems
    assert read == sheet


@pytest.mark.parametrize("wrong", ['"soon"', "[1]"])
def test_a_moment_that_is_none_is_a_problem(tmp_path: Path, wrong: str) -> None:
    folder = golden_folder.write(tmp_path)
    keep(folder, pdf=b"1", signed_by="A", at=AT, campaign_date=AT.date(), inputs={})
    (path,) = (folder / "signed").glob("*.json")
    path.write_text(path.read_text().replace('"2026-11-25T17:40:09+00:00"', wrong))
    assert len(check(folder).problems) == 1


def test_a_mangled_record_of_a_signature_is_a_problem(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path)
    (folder / "signed").mkdir()
    (folder / "signed/x.json").write_text("{")
    (problem,) = check(folder).problems
    assert problem.file == "signed/x.json"


def test_results_carry_version_and_inputs(tmp_path: Path) -> None:
    import polars as pl

    from headrace import __version__

    inputs = {"bench.toml": "ab" * 32}
    path = write_json(tmp_path, "reduce", {"area_eff": 1.25e-5}, inputs=inputs)
    data = json.loads(path.read_text())
    assert data == {"area_eff": 1.25e-5, "made_from": {"headrace": __version__, "inputs": inputs}}
    table = write_table(tmp_path, "readings", {"t": [0.0, 1.0], "run": ["W07", "W07"]}, inputs=inputs)
    assert pl.read_parquet(table)["t"].to_list() == [0.0, 1.0]
    assert json.loads(pl.read_parquet_metadata(table)["made_from"])["inputs"] == inputs
    assert write_file(tmp_path, "sheet.pdf", b"%PDF").read_bytes() == b"%PDF"


def test_a_column_is_mapped_only_when_one_tag_and_one_column_fit(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path / "campaign")
    raw = tmp_path / "raw.csv"
    heads = [
        "t (s)",
        "PM-OX [bar(g)]",
        "old PM-OX [bar(g)]",
        "P1-A minus P-BACK [bar]",
        "pg tap (bar)",
        "PM [bar]",
    ]
    rows = "".join(f"{i / 10:.1f},1.5,1.6,1.7,1.8,1.9\n" for i in range(30))
    raw.write_text(",".join(heads) + "\n" + rows)
    brought = bring(folder, raw)
    assert brought.mapped == {"pg tap": "PG-TAP"}
    assert set(brought.unmapped) == {"PM-OX", "old PM-OX", "P1-A minus P-BACK", "PM"}
