"""Every finding is registered once, under the name of its file."""

import pkgutil

from headrace import findings
from headrace.findings import CAMPAIGN_FINDINGS, DAY_FINDINGS, RUN_FINDINGS


def test_names_are_those_of_the_files() -> None:
    both = {**RUN_FINDINGS, **CAMPAIGN_FINDINGS, **DAY_FINDINGS}
    assert len(RUN_FINDINGS) + len(CAMPAIGN_FINDINGS) == 35
    assert len(DAY_FINDINGS) == len(both) - 35 == 11
    for code, find in both.items():
        assert find.__module__ == f"headrace.findings.{code.replace('-', '_')}"
    files = {module.name for module in pkgutil.iter_modules(findings.__path__)} - {
        "evidence",
        "channels",
        "pressures",
    }
    assert files == {code.replace("-", "_") for code in both}
