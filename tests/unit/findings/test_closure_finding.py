"""The meter against scale or level: a doubt beyond the owner's limit, a stop beyond twice that."""

from dataclasses import replace

import pytest

from headrace.findings.closure import find
from headrace.notices import Severity
from headrace.records.given import Limits
from headrace.records.readings import Closure
from support.run_evidence import Scene, estimate, only


def of(value: float, u: float = 0.005) -> Scene:
    return Scene(
        closure=Closure(ratio=estimate(value, u), metered=60.0, witnessed=60.0 / (1 + value), witness="scale")
    )


@pytest.mark.parametrize(
    ("value", "severity"),
    [
        (0.0, None),
        (0.0099, None),
        (0.0101, Severity.DOUBT),
        (-0.0199, Severity.DOUBT),
        (-0.0201, Severity.STOP),
    ],
)
def test_limits(value: float, severity: Severity | None) -> None:
    assert [one.severity for one in find(of(value).evidence())] == ([] if severity is None else [severity])


def test_no_witness() -> None:
    assert find(Scene().evidence()) == ()


def test_causes_follow_the_sign() -> None:
    more, less = only(find(of(0.03).evidence())), only(find(of(-0.03).evidence()))
    assert "meter says more" in more.try_
    assert "meter says less" in less.try_
    assert "60.00 kg" in more.text
    assert "+3.00 %" in more.text


def test_owner_may_widen_it() -> None:
    scene = of(0.0149)
    assert len(find(scene.evidence())) == 1
    scene.limits = replace(Limits(), closure=3.0)
    assert find(scene.evidence()) == ()
