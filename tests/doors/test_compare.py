"""`compare`: what changed between two campaigns, each change with its doubt; the same folder twice changes nothing."""

import datetime
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from headrace import app
from headrace.files.differences import keys_changed
from headrace.jobs.compare import Half, compare
from headrace.jobs.reduce import reduce
from headrace.records.given import Origin, Stated
from support import hand_made
from support import json_shapes as shapes
from support.commands import headrace

AREA = 2.3e-4


def half(*runs: object, **changes: object) -> Half:
    """Runs reduced by themselves."""
    campaign = hand_made.campaign(*runs, **changes)  # type: ignore[arg-type]
    files = {f"runs/{run.id}/run.toml": run.origin.sha256 for run in campaign.runs.values()}
    campaign = replace(campaign, inputs=files)
    return Half(campaign=campaign, reduced=reduce(campaign), answer=None)


def run(name: str, area: float, digest: str, **changes: object) -> object:
    """A metered run whose bytes have this hash."""
    return hand_made.metered(
        name, area, origin=Origin(file=f"runs/{name}/run.toml", sha256=digest), **changes
    )


def test_the_same_folder_twice_has_changed_in_nothing(small: Path, tmp_path: Path) -> None:
    other = shutil.copytree(small, tmp_path / "other")
    done = app.compare(small, other).compared
    assert (done.files, done.keys, done.runs, done.notices_new, done.notices_gone) == ((), (), (), (), ())
    assert {one.path for one in done.areas} == {"area_eff.ox", "area_eff.fuel"}
    assert {"tanks.ox", "of_ratio"} <= {one.path for one in done.points}
    for one in (*done.areas, *done.points):
        assert one.before == one.after
        assert one.change == 0
        assert one.before is not None
        if one.path.startswith("area_eff"):
            assert one.u == pytest.approx(0.0, abs=1e-9 * one.before.u)  # every source is one and the same
        else:
            assert one.u is not None
            assert one.u < 0.5 * one.before.u  # a gauge is read anew each time a tank is set


def test_a_value_a_run_and_a_reason_that_changed_are_told(small: Path, tmp_path: Path) -> None:
    """One key, one run left out, one added: each is named; the set points move the way they must."""
    other = Path(shutil.copytree(small, tmp_path / "other"))
    engine = other / "engine.toml"
    text = engine.read_text(encoding="utf-8")
    assert 'd_throat = "' in text
    line = next(one for one in text.split("\n") if one.startswith("d_throat"))
    number = line.split('"')[1].split(" ")[0]
    wide = text.replace(line, line.replace(number, f"{float(number) * 1.01:.6g}"), 1)
    engine.write_text(wide, encoding="utf-8")
    toml = other / "runs/W14/run.toml"
    toml.write_text(toml.read_text(encoding="utf-8") + '\n[exclude]\nreason = "spilled"\n', encoding="utf-8")
    shutil.copytree(other / "runs/W15", other / "runs/W25")
    done = app.compare(small, other).compared
    assert {one.file for one in done.files} == {"engine.toml", "runs/W14/run.toml", "runs/W25/run.toml"}
    keys = {(one.file, one.key): (one.before, one.after) for one in done.keys}
    before, after = keys["engine.toml", "chamber.d_throat"]
    assert number in str(before)
    assert number not in str(after)
    assert keys["runs/W14/run.toml", "exclude.reason"] == (None, "spilled")
    assert {(one.run, one.what, one.before, one.after) for one in done.runs} >= {
        ("W14", "left out", 1, 0),
        ("W25", "added", 0, 1),
    }
    tank = next(one for one in done.points if one.path == "tanks.ox")
    assert tank.change is not None
    assert tank.change > 0  # a wider throat takes more flow at the same chamber pressure
    ended = headrace("compare", small, other, "--json")
    document = ended.json(shapes.COMPARE)
    assert document["points"]["tanks.ox"]["change"] == pytest.approx(tank.change)
    told = headrace("compare", small, other).out
    for word in ("chamber.d_throat", "spilled", "W25", "oxidiser"):
        assert word in told


def test_the_doubt_of_a_change_is_that_of_what_is_not_shared() -> None:
    """Two runs on the same bench: the meter's coefficient cancels; what is each run's own adds."""
    old, new = half(run("W1", AREA, "a")), half(run("W2", 1.01 * AREA, "b"))
    found = compare(old, new).areas[0]
    assert found.change == pytest.approx(0.01 * AREA, rel=1e-3)
    first = {line.source: line for line in old.reduced.characteristics["ox"].budget}
    second = {line.source: line for line in new.reduced.characteristics["ox"].budget}
    assert "FV-A.c" in found.shared
    assert "W1.ox.setup" not in found.shared
    expected = 0.0
    for name in {*first, *second}:
        a, b = (one[name].contribution if name in one else 0.0 for one in (first, second))
        apart = name.split(".")[0] in ("W1", "W2") or name.endswith((".day", ".noise"))
        expected += a**2 + b**2 if apart else (b - a) ** 2
    assert found.u == pytest.approx(np.sqrt(expected), rel=1e-9)
    assert found.before is not None
    assert found.u < 0.9 * np.hypot(found.before.u, found.after.u if found.after else 0.0)


def test_the_same_run_on_both_sides_carries_the_same_error_only_if_its_bytes_are_the_same() -> None:
    old = half(run("W1", AREA, "a"))
    same, other = half(run("W1", AREA, "a")), half(run("W1", AREA, "b"))
    assert "W1.ox.setup" in compare(old, same).areas[0].shared
    apart = compare(old, other).areas[0]
    assert "W1.ox.setup" not in apart.shared
    assert apart.u is not None
    assert apart.u > (compare(old, same).areas[0].u or 0.0)


def test_scatter_is_one_error_only_where_all_runs_of_a_circuit_are_the_same() -> None:
    both = half(run("W1", AREA, "a"), run("W2", AREA, "b"))
    alone = compare(half(run("W1", AREA, "a")), both).areas[0]
    assert {"W1.ox.setup", f"{hand_made.DAY.isoformat()}.ox.day"} <= set(alone.shared)
    assert "ox.noise" not in alone.shared
    assert "W2.ox.setup" not in alone.shared
    again = compare(both, half(run("W1", AREA, "a"), run("W2", AREA, "b"))).areas[0]
    assert {line.source for line in both.reduced.characteristics["ox"].budget} == set(again.shared)


def test_another_injector_shares_no_step_and_says_so(small: Path, tmp_path: Path) -> None:
    other = Path(shutil.copytree(small, tmp_path / "other"))
    article = other / "article.toml"
    article.write_text(article.read_text(encoding="utf-8").replace('"H-03"', '"H-04"'), encoding="utf-8")
    done = app.compare(small, other).compared
    tank = next(one for one in done.points if one.path == "tanks.ox")
    assert "ox.step" not in tank.shared
    assert any("H-03" in text for text in done.assumed)
    same = app.compare(small, small).compared
    assert "ox.step" in next(one for one in same.points if one.path == "tanks.ox").shared


def test_two_dates_of_one_campaign(small: Path) -> None:
    """Before the second day there were the runs of the first alone."""
    done = app.compare(small, before=datetime.date(2026, 3, 13))
    assert set(done.before.runs) == {"W01", "W03"}
    assert {(one.run, one.what) for one in done.compared.runs} == {("W14", "added"), ("W15", "added")}
    assert all(one.file.startswith(("runs/W14/", "runs/W15/")) for one in done.compared.files)
    ended = headrace("compare", small, "--before", "2026-03-13", "--json")
    assert {one["run"] for one in ended.json(shapes.COMPARE)["runs"]} == {"W14", "W15"}
    assert headrace("compare", small).code == 2
    assert headrace("compare", small, small, "--before", "2026-03-13").code == 2
    assert "a date" in headrace("compare", small, "--before", "yesterday").err


def test_keys_of_named_tables_go_by_their_name(tmp_path: Path) -> None:
    """A table put in before others is one change, not a change of all."""
    for name, text in (
        ("a", '[[instrument]]\ntag = "P"\nhigh = "1"\n'),
        (
            "b",
            '[[instrument]]\ntag = "N"\nhigh = "2"\n[[instrument]]\ntag = "P"\nhigh = "3"\nlist = [1, 2]\n',
        ),
    ):
        (tmp_path / name).mkdir()
        (tmp_path / name / "bench.toml").write_text(text, encoding="utf-8")
    changed = keys_changed(
        tmp_path / "a", tmp_path / "b", {"bench.toml": None, "x.csv": None, "gone.toml": None}
    )
    assert [(one.key, one.before, one.after) for one in changed] == [
        ("instrument[P].high", "1", "3"),
        ("instrument[N].tag", None, "N"),
        ("instrument[N].high", None, "2"),
        ("instrument[P].list", None, "[1, 2]"),
    ]


def test_a_changed_certificate_is_no_shared_error() -> None:
    """What comes from another paper is another error."""
    runs = run("W1", AREA, "a"), run("W2", AREA, "b")
    old = half(runs[0])
    moved = replace(
        hand_made.bench(),
        meters={"FV-A": hand_made.meter("A", values={
            "d_pipe": Stated(value=hand_made.D_PIPE, u=2e-5), "d_throat": Stated(value=hand_made.D_THROAT, u=5e-6),
            "c": Stated(value=hand_made.C, u=0.003 * hand_made.C, dist="normal", origin="another certificate"),
        })},
    )  # fmt: skip
    found = compare(old, half(runs[1], bench=moved)).areas[0]
    assert "FV-A.c" not in found.shared
