"""A zero that a person placed where water flowed."""

from dataclasses import replace

import pytest

from headrace.findings.evidence import RunEvidence
from headrace.findings.tare_in_flow import find
from headrace.notices import Severity
from support.run_evidence import Scene, only


def typed(**spans: tuple[float, float] | None) -> RunEvidence:
    """Water flows from 2 to 10 s."""
    evidence = Scene().evidence()
    return replace(evidence, run=replace(evidence.run, **spans))  # type: ignore[arg-type]  # by name


@pytest.mark.parametrize(
    ("before", "after"),
    [(None, None), ((0.0, 1.99), None), (None, (10.01, 12.0)), ((0.0, 1.9), (10.5, 12.0))],
)
def test_clean(before: tuple[float, float] | None, after: tuple[float, float] | None) -> None:
    assert find(typed(tare_before=before, tare_after=after)) == ()


@pytest.mark.parametrize(
    ("when", "span"),
    [
        ("before", (0.0, 2.01)),
        ("before", (4.0, 5.0)),
        ("after", (9.99, 12.0)),
        ("after", (4.0, 5.0)),
        ("at_pressure", (1.0, 2.5)),
    ],
)
def test_overlap_stops(when: str, span: tuple[float, float]) -> None:
    notice = only(find(typed(**{f"tare_{when}": span})))
    assert notice.severity is Severity.STOP
    assert notice.run == "W01"
    assert f"{span[0]:.2f} to {span[1]:.2f} s" in notice.text
    assert "2.00 to 10.00 s" in notice.text


def test_nothing_flowed_that_could_be_seen() -> None:
    evidence = replace(typed(tare_before=(4.0, 5.0)), streams={})
    assert find(evidence) == ()
