"""What `bring` and `bring --look` say of a file: what may be a tap, how long it is, answers as they are typed."""

import tomllib
from pathlib import Path

import pytest

from headrace.doors.spoken import record
from headrace.files import loggers
from headrace.files.bring import bring, look
from headrace.files.drafts import open_keys
from headrace.files.loggers.base import KEY, Question, Unreadable
from headrace.files.schema.run import LoggerTable
from headrace.files.traces import answers_of, typed
from support import golden_folder
from support.odd_logs import ODD


def log(path: Path, heading: str, *clocks: list[float]) -> Path:
    rows = [
        ",".join([f"{at:g}"] + [f"{3 + k / 7 + at:.3f}" for k in range(heading.count(","))])
        for clock in clocks
        for at in clock
    ]
    path.write_text("\n".join([heading, *rows]) + "\n")
    return path


@pytest.mark.parametrize(
    ("heading", "tap"), [("t [s],PG-AV [bar(g)]", "?"), ("t [s],PG-AV [bar(g)],PM-OX [bar(g)]", "PM-OX")]
)
def test_the_gauge_of_a_vessel_is_no_tap(heading: str, tap: str, tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path / "c")
    bench = folder / "bench.toml"
    bench.write_text(bench.read_text() + GAUGED)
    brought = bring(folder, log(tmp_path / "raw.csv", heading, [k / 10 for k in range(50)]))
    assert "PG-AV" in brought.mapped.values()
    assert tomllib.loads(brought.draft)["flow"][0]["p_tap"] == tap


GAUGED = """
[[instrument]]
tag = "PG-AV"
measures = "gauge"
range = ["0 bar(g)", "60 bar(g)"]
accuracy = "0.25 % of span"

[[vessel]]
id = "AV-Z"
content = "air"
volume = "0.4 m3"
gauge = "PG-AV"
"""


def test_the_length_is_that_of_all_segments(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    clock = [k / 10 for k in range(101)]
    record.understood(look(log(tmp_path / "raw.csv", "t [s],PM-OX [bar(g)]", clock, clock[:96])))
    said = capsys.readouterr().out
    assert "19.5 s long in 2 segments" in said


def test_a_table_of_catches_is_called_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    raw = tmp_path / "bucket.csv"
    raw.write_text("no,full [kg],empty [kg],time [s]\n" + "".join(
        f"{k % 3 + 1},{20 + k / 7:.2f},4.4,{30 - k / 9:.2f}\n" for k in range(9)))  # fmt: skip
    record.understood(look(raw))
    said = capsys.readouterr().out
    assert "looks like a table of catches" in said
    assert "no clock is needed" in said
    assert "rows a second" not in said


def test_every_answer_that_is_offered_is_taken_as_it_is_typed() -> None:
    codes = set()
    for name, case in ODD.items():
        try:
            questions = loggers.look(case.bytes).questions
        except Unreadable:
            continue
        for question in questions:
            codes.add(question.code)
            for one in typed(question):
                key = question.key.rpartition(".")[2]
                table = LoggerTable.model_validate(tomllib.loads(f"{key} = {one}"))
                answers = answers_of(table)
                assert getattr(answers, key) is not None, (name, one)
                try:
                    left = loggers.look(case.bytes, answers).questions
                except Unreadable:
                    continue
                assert question not in left, (name, one)
    assert {"decimal-mark", "date-order", "time-unit", "time-fraction"} <= codes, codes


def test_a_clock_that_may_wrap_is_answered_with_a_unit(tmp_path: Path) -> None:
    clock = [k / 10 for k in range(600)]
    (question,) = look(log(tmp_path / "raw.csv", "t [s],PM-OX [bar(g)]", clock, clock)).questions
    assert typed(question) == ('"60 s"', '"0 s"')
    for one in typed(question):
        assert LoggerTable.model_validate(tomllib.loads(f"time_wrap = {one}")).time_wrap in (60.0, 0.0)
    segments = Question(code="segments", text="", candidates=("1", "2"), key=KEY + "segment")
    assert typed(segments) == ("1", "2")


def test_what_to_answer_next_names_the_logger_and_the_columns(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = golden_folder.write(tmp_path / "c")
    clock = [k / 10 for k in range(600)]
    brought = bring(folder, log(tmp_path / "raw.csv", "t [s],PM-OX [bar(g)],X7 [bar]", clock, clock))
    record.brought(brought, open_keys(brought.draft))
    said = " ".join(capsys.readouterr().out.split())
    assert "under [logger]: time_wrap" in said
    assert "under [channels], where they are wanted: X7" in said
    assert "date" in said
