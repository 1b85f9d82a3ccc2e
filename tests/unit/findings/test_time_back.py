"""Events out of order are told once each; a new day is no step back."""

from pathlib import Path

from support.bench_ledger import codes, event, state


def test_a_step_back_is_told(tmp_path: Path) -> None:
    late, early = state("09:10", p={"AV-A": "30 bar(g)"}), event("08:50", "note", note="late")
    assert codes(tmp_path, late, early) == ["time-back"]


def test_the_next_day_is_no_step_back(tmp_path: Path) -> None:
    assert (
        codes(
            tmp_path,
            event("17:00", "note", note="home"),
            event("08:00", "note", date="2026-03-13", note="in"),
        )
        == []
    )
