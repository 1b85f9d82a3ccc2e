"""Runs of one circuit through one line that do not agree."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from headrace.files import folder
from headrace.findings.run_against_run import find
from headrace.jobs.reduce import reduce
from headrace.notices import Notice, Severity
from headrace.records.given import Campaign
from support.mini import write_mini
from support.run_evidence import campaign_evidence, contrast, only


@pytest.mark.parametrize(
    ("ln_ratio", "severity"),
    [
        (0.0, None),
        (0.0149, None),
        (-0.0151, Severity.DOUBT),
        (0.0199, Severity.DOUBT),
        (0.0201, Severity.STOP),
        (-0.0201, Severity.STOP),
    ],
)
def test_limits(ln_ratio: float, severity: Severity | None) -> None:
    found = find(campaign_evidence(contrasts=(contrast("runs", ln_ratio, 0.005),)))
    assert [one.severity for one in found] == ([] if severity is None else [severity])


def test_one_notice_for_a_circuit_about_the_run_furthest_apart() -> None:
    near, far = contrast("runs", 0.016, 0.005), replace(contrast("runs", -0.02, 0.005), a="W03", b="W01+W02")
    notice = only(find(campaign_evidence(contrasts=(near, far))))
    assert "run W03" in notice.text
    assert "-1.98 %" in notice.text
    assert "the mean of runs W01, W02" in notice.text
    assert dict(notice.facts) == {"ln_ratio": -0.02, "u": 0.005}


@pytest.mark.parametrize(("ratio", "named"), [(1000.0, True), (1.0 / 900.0, True), (100.0, False)])
def test_a_thousandfold_is_the_unit_of_the_mass(ratio: float, named: bool) -> None:
    notice = only(find(campaign_evidence(contrasts=(contrast("runs", float(np.log(ratio)), 0.005),))))
    assert ("g for kg" in notice.try_) is named


def test_other_comparisons_are_not_runs() -> None:
    others = (contrast("lines", 0.3, 0.005), contrast("sum", 0.3, 0.005), contrast("witness", 0.3, 0.005))
    assert find(campaign_evidence(contrasts=others)) == ()


def stretched(campaign: Campaign, factor: float) -> list[Notice]:
    """What is told once the tap gauge of the first run reads too much by a factor."""
    first = next(iter(campaign.runs.values()))
    assert first.trace is not None
    channels = dict(first.trace.channels)
    channels[first.flows[0].p_tap] = np.asarray(factor * channels[first.flows[0].p_tap])
    runs = {**campaign.runs, first.id: replace(first, trace=replace(first.trace, channels=channels))}
    return [one for one in reduce(replace(campaign, runs=runs)).notices if one.code == "run-against-run"]


def test_two_runs_apart_are_told(tmp_path: Path) -> None:
    """What they differ by widens their mean, but never what they may differ by: the notice must speak."""
    write_mini(tmp_path / "c", 311, days=1)
    campaign = folder.read(tmp_path / "c")
    assert stretched(campaign, 1.0) == []
    notice = only(stretched(campaign, 1.10))
    ln_ratio, u = (dict(notice.facts)[name] for name in ("ln_ratio", "u"))
    assert ln_ratio == pytest.approx(
        -np.log(1.10) / 2, abs=0.012
    )  # E goes with one over the root of the drop
    assert u == pytest.approx(
        0.003 * np.sqrt(2), rel=0.05
    )  # two set-ups of 0.3 %: all that they share has cancelled
    assert notice.severity is Severity.STOP


def test_of_four_runs_the_one_apart_is_named(tmp_path: Path) -> None:
    write_mini(tmp_path / "c", 311, runs=4)
    campaign = folder.read(tmp_path / "c")
    assert stretched(campaign, 1.0) == []
    notice = only(stretched(campaign, 1.10))
    assert notice.about == f"circuit ox, run {next(iter(campaign.runs))}"
