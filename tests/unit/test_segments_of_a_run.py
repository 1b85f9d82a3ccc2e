"""A file in which the logger began anew: which of its runs is meant is asked, and no two are laid over each other."""

from pathlib import Path

import numpy as np
import pytest

from headrace.errors import InputError
from headrace.files.bring import bring, look
from headrace.files.folder import gather
from headrace.files.loggers import read
from headrace.files.loggers.base import Answers
from support import golden_folder

HEAD = "t (s),p (bar)\n"
FIRST = "".join(f"{n / 10:.1f},{n}\n" for n in range(21))
SECOND = "".join(f"{n / 10:.1f},{100 + n}\n" for n in range(31))
TWICE = HEAD + FIRST + HEAD + SECOND


def asked(text: str, tmp_path: Path) -> list[tuple[str, ...]]:
    path = tmp_path / "log.csv"
    path.write_text(text)
    return [one.candidates for one in look(path).questions if one.code == "segments"]


def test_the_same_time_twice_is_asked(tmp_path: Path) -> None:
    assert asked(TWICE, tmp_path) == [("1", "2")]
    (question,) = look(tmp_path / "log.csv").questions
    assert "1: lines 2 to 22, 2 s; 2: lines 24 to 54, 3 s" in question.text


def test_a_clock_that_goes_on_is_not_asked(tmp_path: Path) -> None:
    later = "".join(f"{5 + n / 10:.1f},{100 + n}\n" for n in range(31))
    assert asked(HEAD + FIRST + HEAD + later, tmp_path) == []
    assert asked(HEAD + FIRST, tmp_path) == []


def test_the_answer_gives_that_run_alone() -> None:
    first, second = (read(TWICE.encode(), Answers(segment=number)) for number in (1, 2))
    assert first.columns["p"].tolist() == list(range(21))
    assert second.columns["p"].tolist() == list(range(100, 131))
    np.testing.assert_allclose(second.time, np.arange(31) / 10, atol=1e-12)
    assert second.lines.tolist() == list(range(24, 55))
    assert (first.breaks, second.breaks) == ((), ())
    with pytest.raises(InputError, match="from 1 to 2"):
        read(TWICE.encode(), Answers(segment=3))


def test_time_counts_from_the_first_row_of_that_run() -> None:
    text = (
        HEAD + "".join(f"{n},{n}\n" for n in range(20)) + HEAD + "".join(f"{5 + n},{n}\n" for n in range(9))
    )
    assert read(text.encode(), Answers(segment=2)).time.tolist() == list(range(9))


def test_a_run_waits_for_its_answer(tmp_path: Path) -> None:
    folder = golden_folder.write(tmp_path)
    (tmp_path / "two.csv").write_text(TWICE)
    brought = bring(folder, tmp_path / "two.csv", run="W90")
    assert '# segment = "?"   # one of 1, 2' in brought.draft
    path = folder / "runs/W90/run.toml"
    text = (
        'kind = "water"\nmethod = "metered"\ndate = 2026-03-12\nambient = "1009 mbar(a)"\nfile = "two.csv"\n'
        'water_temperature = "17 degC"\n[[flow]]\ncircuits = ["ox"]\nlines = ["A"]\np_tap = "PM-OX"\n'
        '[channels]\n"p" = { instrument = "PM-OX", unit = "bar(g)" }\n'
    )
    path.write_text(text)
    assert [one.key for one in gather(folder).questions if one.file == "runs/W90/run.toml"] == [
        "logger.segment"
    ]
    path.write_text(text + "[logger]\nsegment = 2\n")
    assert [one.key for one in gather(folder).questions if one.file == "runs/W90/run.toml"] == []
    path.write_text(text + "[logger]\nsegment = 3\n")
    assert ("logger.segment", "3") in [(one.key, one.found) for one in gather(folder).problems]
