"""A vessel above its rating or its relief stops; below both it does not."""

from pathlib import Path

import pytest

from headrace.notices import Severity
from support.bench_ledger import codes, event, state, walked


@pytest.mark.parametrize(
    ("vessel", "p", "what"),
    [("AV-A", "40.5 bar(g)", "rating"), ("WV-A", "39 bar(g)", "relief"), ("AV-B", "61 bar(g)", "rating")],
)
def test_it_stops(tmp_path: Path, vessel: str, p: str, what: str) -> None:
    done = walked(tmp_path, state("09:00", p={vessel: p}))
    (found,) = done.notices
    assert (found.code, found.severity, found.facts[1][0]) == ("vessel-over-rating", Severity.STOP, what)
    assert done.stopped


def test_a_leak_check_counts_too(tmp_path: Path) -> None:
    check = event(
        "09:30", "leak-check", vessel="AV-A", p_before="40.5 bar(g)", p_after="40.5 bar(g)", duration="10 min"
    )
    assert set(codes(tmp_path, check)) == {"vessel-over-rating"}


def test_below_both(tmp_path: Path) -> None:
    assert codes(tmp_path, state("09:00", p={"AV-A": "39.5 bar(g)", "WV-A": "37.5 bar(g)"})) == []
