"""Draws without an answer: a few are a doubt, more than one in a hundred leave no interval to trust."""

from types import SimpleNamespace
from typing import Any

import pytest

from headrace.jobs.balance.answer import honest
from headrace.notices import Severity


@pytest.mark.parametrize(
    ("lost", "severity"),
    [(0, None), (1, Severity.DOUBT), (100, Severity.DOUBT), (101, Severity.STOP), (9000, Severity.STOP)],
)
def test_a_hundredth_is_the_most_that_may_be_lost(lost: int, severity: Severity | None) -> None:
    first: Any = SimpleNamespace(outputs=())
    drawn: Any = SimpleNamespace(draws=10_000, summary={})
    assert [one.severity for one in honest(first, drawn, lost, 0.95)] == (
        [] if severity is None else [severity]
    )
