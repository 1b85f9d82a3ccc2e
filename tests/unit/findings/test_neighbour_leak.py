"""A shut circuit that shows pressure while its neighbour flows."""

from dataclasses import replace
from math import sqrt

import pytest

from headrace.bench.instruments import Zero
from headrace.findings.neighbour_leak import find
from headrace.notices import Severity
from headrace.records.given import Limits
from support.run_evidence import Scene, only


def leaking(share: float, **changes: Limits) -> Scene:
    scene = Scene(**changes)  # type: ignore[arg-type]
    scene.p_fuel = scene.p_fuel + share * scene.p_tap
    return scene


def test_clean() -> None:
    assert find(Scene().evidence()) == ()


@pytest.mark.parametrize(
    ("share", "severity"),
    [(0.0022, None), (0.0028, Severity.DOUBT), (0.0195, Severity.DOUBT), (0.0205, Severity.STOP)],
)
def test_limits(share: float, severity: Severity | None) -> None:
    # the allowed zero shift, 0.1 % of 10 bar, is 0.0024 of the mean 4.2 bar at the tap
    assert [one.severity for one in find(leaking(share).evidence())] == (
        [] if severity is None else [severity]
    )


@pytest.mark.parametrize(("share", "found"), [(0.0019, 0), (0.0021, 1)])
def test_share_of_the_tap_pressure(share: float, found: int) -> None:
    assert len(find(leaking(share, limits=Limits(tare_shift=1e-4)).evidence())) == found


def test_parts_of_a_feed_are_no_shut_neighbours() -> None:
    scene = leaking(0.04)
    evidence = scene.evidence()
    assert len(find(evidence)) == 1
    circuits = dict(evidence.campaign.article.circuits)
    for name in ("fuel", "ox"):
        valve = circuits | {name: replace(circuits[name], element="valve")}
        article = replace(evidence.campaign.article, circuits=valve)
        assert find(replace(evidence, campaign=replace(evidence.campaign, article=article))) == ()


def test_equivalent_flow_by_the_size_of_the_holes() -> None:
    notice = only(find(leaking(0.04).evidence()))
    assert dict(notice.facts)["flow_share"] == pytest.approx(sqrt(0.04) * (1.3 / 2.6) ** 2, rel=0.01)
    assert notice.about == "circuit fuel"
    assert "5.0 % of the metered water" in notice.text


def test_a_zero_that_is_not_known_well_enough_tells_nothing() -> None:
    scene = leaking(0.01)  # 4.1 kPa
    scene.zeros["PM-FUEL"] = Zero(before=0.0, after=0.0, u=1250.0)
    assert len(find(scene.evidence())) == 1
    scene.zeros["PM-FUEL"] = Zero(before=0.0, after=0.0, u=1500.0)
    assert find(scene.evidence()) == ()
    del scene.zeros["PM-FUEL"]
    assert find(scene.evidence()) == ()
