"""A characteristic on one run, one run above all, or one day."""

import pytest

from headrace.findings.one_run_carries_all import find
from headrace.notices import Notice, Severity
from headrace.records.readings import Characteristic
from support.run_evidence import campaign_evidence, characteristic, only


def judge(one: Characteristic) -> tuple[Notice, ...]:
    return find(campaign_evidence(characteristics=(one,)))


def test_clean() -> None:
    assert judge(characteristic()) == ()


def test_a_single_run() -> None:
    notice = only(judge(characteristic(runs=("W01",), weights={"W01": 1.0}, days=1)))
    assert notice.severity is Severity.DOUBT
    assert "run W01 alone" in notice.text
    assert notice.run == "W01"


@pytest.mark.parametrize(("weight", "found"), [(0.79, 0), (0.81, 1)])
def test_weight(weight: float, found: int) -> None:
    notices = judge(characteristic(weights={"W01": 1 - weight, "W03": weight}))
    assert len(notices) == found
    assert all(one.severity is Severity.DOUBT and "run W03 for 81 %" in one.text for one in notices)


def test_a_single_day_is_information() -> None:
    notice = only(judge(characteristic(days=1)))
    assert notice.severity is Severity.INFO
    assert "one day" in notice.text
