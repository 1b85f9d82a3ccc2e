"""Two lines, one circuit, two results."""

import pytest

from headrace.findings.line_against_line import find
from headrace.notices import Severity
from support.run_evidence import campaign_evidence, contrast, only


@pytest.mark.parametrize(
    ("ln_ratio", "severity"),
    [
        (0.0, None),
        (0.0099, None),
        (-0.0101, Severity.DOUBT),
        (0.0199, Severity.DOUBT),
        (0.0201, Severity.STOP),
    ],
)
def test_limits(ln_ratio: float, severity: Severity | None) -> None:
    found = find(campaign_evidence(contrasts=(contrast("lines", ln_ratio, 0.005),)))
    assert [one.severity for one in found] == ([] if severity is None else [severity])


def test_says_what_became_of_it() -> None:
    notice = only(find(campaign_evidence(contrasts=(contrast("lines", 0.015, 0.005),))))
    assert "line A" in notice.text
    assert "+1.51 %" in notice.text
    assert "added to the doubt" in notice.text
    witness = only(find(campaign_evidence(contrasts=(contrast("witness", 0.015, 0.005),))))
    assert "not added" in witness.text


def test_a_share_is_no_logarithm() -> None:
    """A tenth of the other area is 90 % less, not 230 %."""
    assert "-90.00 %" in only(find(campaign_evidence(contrasts=(contrast("lines", -2.302585, 0.005),)))).text


def test_other_comparisons_are_not_lines() -> None:
    assert (
        find(campaign_evidence(contrasts=(contrast("sum", -0.3, 0.005), contrast("neighbour", 0.3, 0.005))))
        == ()
    )
