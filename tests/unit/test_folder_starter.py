"""What `new` writes is a campaign; with every example made live it is one still, and it shows every key there is."""

import datetime
import re
from pathlib import Path

import pytest

from headrace.errors import InputError
from headrace.files.check import check
from headrace.files.new import FILES, new, starter, uncommented
from headrace.files.schema import FILES as SCHEMAS
from headrace.files.schema import json_schema
from headrace.physics.fluids import fluid

DAY = datetime.date(2026, 11, 25)


def test_a_new_folder_passes_check(tmp_path: Path) -> None:
    assert new(tmp_path / "mine", date=DAY) == FILES
    checked = check(tmp_path / "mine")
    assert (checked.problems, checked.questions, checked.notices) == ((), (), ())
    assert checked.campaign is not None
    assert checked.campaign.runs == {}
    assert checked.campaign.date == DAY


def test_every_example_made_live_passes_check(tmp_path: Path) -> None:
    new(tmp_path, date=DAY)
    for name in FILES:
        (tmp_path / name).write_text(
            uncommented((tmp_path / name).read_text(encoding="utf-8")), encoding="utf-8"
        )
    for run, example in (("W01", "logged"), ("H01", "by-hand")):
        (tmp_path / "runs" / run).mkdir()
        text = uncommented(starter(f"runs/EXAMPLE-{example}.toml.txt"))
        (tmp_path / "runs" / run / "run.toml").write_text(text, encoding="utf-8")
    rows = "".join(f"{i / 10:.1f},{4 + i % 7},{10 + i % 3}\n" for i in range(200))
    (tmp_path / "runs/W01/W01.csv").write_text("t (s),dp,p_ox\n" + rows)
    checked = check(tmp_path)
    assert (checked.problems, checked.questions) == ((), ())
    campaign = checked.campaign
    assert campaign is not None
    assert sorted(campaign.runs) == ["H01", "W01"]
    assert campaign.engine is not None
    assert campaign.bench.meters
    assert campaign.certificates


@pytest.mark.parametrize("kind", SCHEMAS)
def test_every_key_of_the_format_is_explained(kind: str) -> None:
    names = [name for name in FILES if kind in name or (kind == "run" and name.startswith("runs/"))]
    text = "\n".join(starter(name) for name in names)
    schema = json_schema(kind)
    tables = [schema, *schema.get("$defs", {}).values()]
    keys = {key for table in tables for key in table.get("properties", {})}
    if kind == "engine":  # instruments are explained in bench.toml
        text += starter("bench.toml")
    assert {key for key in keys if not re.search(rf"\b{key}\b", text)} == set()


def test_a_folder_with_something_in_it_is_refused(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(InputError, match=r"notes\.txt"):
        new(tmp_path, date=DAY)
    assert [one.name for one in tmp_path.iterdir()] == ["notes.txt"]
    with pytest.raises(InputError, match="a file"):
        new(tmp_path / "notes.txt", date=DAY)


def test_a_folder_under_version_control_is_empty_enough(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    new(tmp_path, date=DAY)
    assert check(tmp_path).problems == ()


def test_the_starter_names_propellants_that_there_are() -> None:
    (line,) = (one for one in starter("engine.toml").splitlines() if one.startswith("## Oxidiser side."))
    named = re.search(r"propellant: (.*), or \"(.*?)\"", line)
    assert named is not None
    for name in (*named[1].split(" | "), named[2]):
        assert fluid(name) is not None
