"""Cd of drilled holes: 0.95 doubtful, 1 impossible; other elements have no ceiling of this kind."""

import pytest

from headrace.findings.cd_too_high import find
from headrace.notices import Severity
from support.run_evidence import Scene, only, reading


def of(*cds: float | None, element: str = "plain-sharp") -> Scene:
    return Scene(element=element, readings=tuple(reading(cd=cd) for cd in cds))


def test_clean() -> None:
    assert find(of(0.72, 0.73).evidence()) == ()
    assert find(of(None).evidence()) == ()


@pytest.mark.parametrize(
    ("cd", "severity"),
    [(0.945, None), (0.955, Severity.DOUBT), (0.995, Severity.DOUBT), (1.005, Severity.STOP)],
)
def test_limits(cd: float, severity: Severity | None) -> None:
    found = find(of(cd - 0.01, cd + 0.01).evidence())
    assert [one.severity for one in found] == ([] if severity is None else [severity])


def test_public_student_data_of_2025() -> None:
    """20 drilled holes per circuit, caught and weighed: Cd 0.94 to 0.99, recomputed from a public data set of 2025."""
    notice = only(find(of(0.94, 0.99, 0.97).evidence()))
    assert notice.severity is Severity.DOUBT
    assert "Cd = 0.967" in notice.text
    assert "common practice" in notice.limit


def test_a_swirler_has_no_such_ceiling() -> None:
    assert find(of(1.2, element="pressure-swirl").evidence()) == ()
