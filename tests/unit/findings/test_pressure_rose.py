"""A pressure that rises with all shut is a supply that weeps, unless it is cold gas that warms."""

from pathlib import Path

from support.bench_ledger import codes, event, state

BEFORE = state("09:00", p={"AV-A": "30.00 bar(g)"}, level={"WV-A": "1.200 m"})
RUN = event("09:10", "run", run="W01", p={"AV-A": "21.00 bar(g)"}, level={"WV-A": "0.200 m"})


def test_cold_gas_after_a_run_warms(tmp_path: Path) -> None:
    """From 31 to 22 bar(a): at most 22 * (31/22)^(0.4/1.4) = 24.26 bar(a) and what 15 min add, common practice."""
    assert codes(tmp_path, BEFORE, RUN, state("09:25", p={"AV-A": "23.35 bar(g)"})) == []


def test_beyond_that_a_supply_weeps(tmp_path: Path) -> None:
    assert codes(tmp_path, BEFORE, RUN, state("09:25", p={"AV-A": "23.45 bar(g)"})) == ["pressure-rose"]


def test_with_nothing_done(tmp_path: Path) -> None:
    assert codes(tmp_path, BEFORE, state("09:20", p={"AV-A": "30.20 bar(g)"})) == []
    assert codes(tmp_path, BEFORE, state("09:20", p={"AV-A": "30.30 bar(g)"})) == ["pressure-rose"]


def test_a_fill_explains_it(tmp_path: Path) -> None:
    assert codes(tmp_path, BEFORE, event("09:20", "fill", vessel="AV-A", p={"AV-A": "36.00 bar(g)"})) == []
