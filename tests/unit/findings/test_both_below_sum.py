"""Circuits together against the sum of each alone."""

from math import log

import pytest

from headrace.findings.both_below_sum import find
from headrace.notices import Notice, Severity
from support.run_evidence import campaign_evidence, contrast, only


def of(share: float, u: float = 0.005, kind: str = "sum") -> tuple[Notice, ...]:
    return find(campaign_evidence(contrasts=(contrast(kind, log(share), u),)))


@pytest.mark.parametrize(
    ("share", "severity"),
    [
        (1.0, None),
        (1.2, None),
        (0.975, None),
        (0.965, Severity.DOUBT),
        (0.905, Severity.DOUBT),
        (0.895, Severity.STOP),
    ],
)
def test_limits(share: float, severity: Severity | None) -> None:
    assert [one.severity for one in of(share)] == ([] if severity is None else [severity])


def test_published_case_of_73_per_cent() -> None:
    """A public student data set of 2025 (20 drilled holes per circuit): both together gave 73 % of the sum."""
    notice = only(of(0.73))
    assert notice.severity is Severity.STOP
    assert "73.0 % of the sum" in notice.text
    assert notice.try_.startswith("likely first: pressure is read upstream of a loss")


def test_chance_is_no_finding() -> None:
    assert of(0.93, u=0.04) == ()
    assert len(of(0.93, u=0.03)) == 1


def test_only_sums() -> None:
    assert of(0.73, kind="lines") == ()
