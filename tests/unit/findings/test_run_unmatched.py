"""A run that stands on one side only is told; one that stands on both is not. Runs by the golden folder."""

from pathlib import Path

from headrace import app
from headrace.notices import Severity
from support import golden_folder
from support.bench_ledger import HEAD, event

HEAD_, DAY = HEAD.replace("2026-03-12", "{day}"), "2026-03-12"


def told(folder: Path, *events: str, day: str = DAY) -> list[tuple[str, Severity]]:
    ledger = HEAD_.format(day=day) + "".join(f"[[event]]\n{one}\n" for one in events)
    golden_folder.write(folder, {"ledger.toml": ledger})
    found = app.day(folder).notices
    return [(one.about, one.severity) for one in found if one.code == "run-unmatched"]


def test_both_sides_know_both_runs(tmp_path: Path) -> None:  # H02 is of another day
    assert told(tmp_path, event("09:10", "run", run="W07"), event("09:40", "run", run="H01")) == []


def test_a_run_that_nobody_brought_in(tmp_path: Path) -> None:
    events = [event(f"09:{at}0", "run", run=run) for at, run in enumerate(("W07", "H01", "W08"))]
    assert told(tmp_path, *events) == [("run W08", Severity.DOUBT)]


def test_a_run_that_nobody_wrote_down(tmp_path: Path) -> None:
    assert told(tmp_path, event("09:10", "run", run="W07")) == [("run H01", Severity.INFO)]
    assert told(tmp_path, event("09:10", "note", note="cold"), day="2026-03-10") == []


def test_a_run_that_stands_there_twice(tmp_path: Path) -> None:
    events = (
        event("09:10", "run", run="W07"),
        event("09:20", "run", run="H01"),
        event("09:30", "run", run="H01"),
    )
    assert told(tmp_path, *events) == [("run H01", Severity.DOUBT)]


def test_a_run_that_waits_for_an_answer_is_there(tmp_path: Path) -> None:
    asking = golden_folder.METERED.replace('method = "metered"', 'method = "?"')
    ledger = HEAD_.format(day=DAY) + f"[[event]]\n{event('09:10', 'run', run='W07')}\n"
    golden_folder.write(tmp_path, {"ledger.toml": ledger, "runs/W07/run.toml": asking})
    assert "run W07" not in [one.about for one in app.day(tmp_path).notices if one.code == "run-unmatched"]
