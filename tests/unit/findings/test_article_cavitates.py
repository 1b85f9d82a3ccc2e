"""K of the article: which slices are left out, and what K cannot judge."""

from dataclasses import replace

import pytest

from headrace.findings.article_cavitates import find
from headrace.notices import Severity
from support.run_evidence import Scene, campaign_evidence, only, reading


def test_clean() -> None:
    assert find(campaign_evidence(readings=(reading(cav=2.6), reading(cav=2.05)))) == ()


@pytest.mark.parametrize(("cav", "found"), [(2.01, 0), (1.99, 1)])
def test_owner_limit(cav: float, found: int) -> None:
    assert len(find(campaign_evidence(readings=(reading(cav=cav),)))) == found


def test_slices_left_out_are_named() -> None:
    readings = (reading(cav=2.6), reading(cav=1.8), reading(cav=1.3, t=3.1, used=False, why="cavitating"))
    notice = only(find(campaign_evidence(readings=readings)))
    assert notice.severity is Severity.DOUBT
    assert "1 of 3 slices have K below 1.5 and are left out" in notice.text
    assert "W01 at 3.1 s" in notice.text
    assert notice.run == "W01"


def test_only_runs_in_which_k_falls_are_named_each_with_its_least() -> None:
    readings = (
        reading(cav=1.8),
        reading(cav=1.72, run="W03"),
        reading(cav=1.9, run="W03"),
        reading(cav=2.4, run="W05"),
    )
    notice = only(find(campaign_evidence(readings=readings)))
    assert "K falls below 2 in runs W01 (to 1.80), W03 (to 1.72);" in notice.text
    assert "W05" not in notice.text
    assert notice.run is None


def test_the_short_run_of_a_pair_is_not_judged_by_itself() -> None:
    evidence = campaign_evidence(readings=(reading(cav=1.2, used=False),))
    long = replace(evidence.campaign.runs["W02"], minus="W01")
    pair = replace(evidence.campaign, runs={**evidence.campaign.runs, "W02": long})
    assert find(replace(evidence, campaign=pair)) == ()


def test_all_cavitate_and_are_carried_all_the_same() -> None:
    notice = only(find(campaign_evidence(readings=(reading(cav=1.3), reading(cav=1.2)))))
    assert "none clear of it" in notice.text


def test_above_the_stop_all_stay() -> None:
    assert "all 1 slices stay" in only(find(campaign_evidence(readings=(reading(cav=1.6),)))).text


def test_gas_cored_is_told_where_to_judge() -> None:
    swirl = Scene(element="pressure-swirl")
    notice = only(find(campaign_evidence(scene=swirl, readings=(reading(cav=1.2),))))
    assert notice.severity is Severity.INFO
    assert "tangential ports" in notice.text


def test_excluded_runs_do_not_count() -> None:
    assert find(campaign_evidence(readings=(reading(cav=1.2),), excluded="spoilt")) == ()
