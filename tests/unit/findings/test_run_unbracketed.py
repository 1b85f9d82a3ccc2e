"""A run without a reading before or after it is told; one with both is not, be the second at the run or later."""

from pathlib import Path

import pytest

from support.bench_ledger import codes, event, state, walked

BEFORE, AFTER = state("09:00", p={"AV-A": "30 bar(g)"}), state("09:20", level={"WV-A": "0.9 m"})
RUN = event("09:10", "run", run="W01")


@pytest.mark.parametrize(
    ("events", "words"),
    [((RUN,), "before and none after"), ((RUN, AFTER), "before it"), ((BEFORE, RUN), "after it")],
)
def test_what_is_lacking(tmp_path: Path, events: tuple[str, ...], words: str) -> None:
    found = [one for one in walked(tmp_path, *events).notices if one.code == "run-unbracketed"]
    assert len(found) == 1
    assert words in found[0].text


def test_both_are_there(tmp_path: Path) -> None:
    assert codes(tmp_path, BEFORE, RUN, AFTER) == []
    assert codes(tmp_path, BEFORE, event("09:10", "run", run="W01", level={"WV-A": "0.9 m"})) == []


def test_a_second_run_right_after_it_hides_what_stood(tmp_path: Path) -> None:
    second = event("09:15", "run", run="W02", level={"WV-A": "0.8 m"})
    assert codes(tmp_path, BEFORE, RUN, second) == ["run-unbracketed", "run-unbracketed"]
