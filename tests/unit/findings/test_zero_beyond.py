"""A zero check is held to the largest of the owner's limit and the class; an absolute gauge to the barometer."""

from pathlib import Path

import pytest

from support.bench_ledger import codes, event


@pytest.mark.parametrize(
    ("tag", "shows", "expected"),
    [
        ("PM-OX", "0.03 bar(g)", []),  # 0.1 % of 40 bar: 0.04 bar
        ("PM-OX", "0.05 bar(g)", ["zero-beyond"]),
        ("PM-OX", "-0.05 bar(g)", ["zero-beyond"]),
        ("PB", "1.001 bar(a)", []),  # barometer 1000 mbar
        ("PB", "1.010 bar(a)", ["zero-beyond"]),
    ],
)
def test_it(tmp_path: Path, tag: str, shows: str, expected: list[str]) -> None:
    assert codes(tmp_path, event("09:00", "zero-check", instrument=tag, shows=shows)) == expected
