"""Single invented campaigns whose truth is known: found again without errors, and honest about what went wrong.

Nothing published is checked here; truths are the simulator's.
"""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from headrace.demo.simulator.campaign import write_campaign
from headrace.files.folder import read
from headrace.jobs.balance import setpoints
from headrace.jobs.reduce import reduce
from support.mini import mini_plan, write_mini
from support.recovery import predicted, recover

PERFECT = {"*": 0.0}
"""No error anywhere: everything is as written."""


@pytest.mark.parametrize(
    "knobs",
    [
        {},
        {"lines": 2},
        {"lines": 2, "joined": True},
        {"basis": "total"},
        {"certified": False},
        {"measured_density": False},
        {"runs": 1},
    ],
    ids=str,
)
def test_without_errors_the_truth_is_found(knobs: dict[str, Any], tmp_path: Path) -> None:
    found = recover(tmp_path / "c", 1, factors=PERFECT, **knobs)
    for side in ("ox", "fuel"):
        assert found.off(f"area_eff.{side}") == pytest.approx(0, abs=1e-4)
        assert found.off(f"tanks.{side}") == pytest.approx(0, abs=1e-3)
    assert found.off("p_chamber") == pytest.approx(0, abs=1e-3)
    assert found.off("of_ratio") == pytest.approx(0, abs=1e-3)


def test_unequal_tanks_without_errors(tmp_path: Path) -> None:
    found = predicted(tmp_path / "c", 1, {"ox": 29e5, "fuel": 33e5}, factors=PERFECT)
    assert set(found.truths) == {"p_chamber", "of_ratio", "m_dot.ox", "m_dot.fuel"}
    for name in found.truths:
        assert found.off(name) == pytest.approx(0, abs=1e-3)


@pytest.mark.parametrize("method", ["weighed", "by-hand"])
@pytest.mark.parametrize("basis", ["static", "total"])
def test_without_errors_a_run_with_little_apparatus_is_close(method: str, basis: str, tmp_path: Path) -> None:
    """The ramps of the valve are seen at 100 Hz and at the ends only: 0.1 % of 12 s of flow."""
    found = recover(
        tmp_path / "c", 1, factors=PERFECT, methods=(method,), basis=basis, flowing=12.0, rate=100.0
    )
    for side in ("ox", "fuel"):
        assert found.off(f"area_eff.{side}") == pytest.approx(0, abs=1e-3)


@pytest.mark.parametrize("seed", [3, 4, 5])
def test_by_hand_is_wider_than_logged_and_holds_the_truth(seed: int, tmp_path: Path) -> None:
    logged, by_hand = (
        recover(tmp_path / method, seed, runs=1, methods=(method,), flowing=12.0)
        for method in ("metered", "by-hand")
    )
    for side in ("ox", "fuel"):
        name = f"area_eff.{side}"
        assert by_hand.truths[name] == logged.truths[name]
        narrow, wide = logged.estimates[name], by_hand.estimates[name]
        assert wide.high - wide.low > 1.3 * (narrow.high - narrow.low)
        assert by_hand.inside(name)


def _slow_thumb(text: str, late: float) -> str:
    """The same run with the stopwatch stopped too late [s]."""
    return re.sub(r'duration = "([\d.]+) s', lambda m: f'duration = "{float(m[1]) + late:.2f} s', text)


def test_long_minus_short_takes_out_what_both_share(tmp_path: Path) -> None:
    plan = mini_plan(runs=2, days=1, methods=("by-hand",), factors=PERFECT)
    flowing = {"W01": 16.0, "W03": 6.0}
    runs = tuple(replace(run, flowing=flowing.get(run.id, 6.0), p_start=6e5) for run in plan.runs)
    truth = write_campaign(tmp_path, replace(plan, runs=runs), 1)
    for name in flowing:
        file = tmp_path / "runs" / name / "run.toml"
        file.write_text(_slow_thumb(file.read_text(encoding="utf-8"), 0.5), encoding="utf-8")
    alone = reduce(read(tmp_path)).characteristics["ox"].area_eff
    assert alone.value / truth.area_eff["ox"] - 1 < -0.03

    file = tmp_path / "runs" / "W01" / "run.toml"
    text = file.read_text(encoding="utf-8").replace('"by-hand"', '"long-minus-short"')
    file.write_text(text.replace("[total]", '[total]\nminus = "W03"'), encoding="utf-8")
    pair = reduce(read(tmp_path)).characteristics["ox"].area_eff
    assert pair.value == pytest.approx(truth.area_eff["ox"], rel=0.01)
    assert pair.u > alone.u


def test_a_planted_slope_is_not_carried_but_counts(tmp_path: Path) -> None:
    truth = write_mini(tmp_path, 1, slope=0.12, runs=3, step=0.0, factors=PERFECT)
    campaign = read(tmp_path)
    reduced = reduce(campaign)
    ox = reduced.characteristics["ox"]
    assert ox.model == "constant"
    assert ox.slope_seen == pytest.approx(0.12 / (1 - 0.12), rel=0.05)  # by ln of the ideal Reynolds number
    assert reduced.water.fits["ox"].slope is None
    assert campaign.engine is not None
    answer = setpoints(campaign, reduced, p_chamber=20e5, m_dot=None, of_ratio=2.2)
    assert "slope-not-separated" in {notice.code for notice in answer.notices}
    rows = {row.source: row.contribution for row in answer.budgets["tanks.ox"]}
    found = answer.values["tanks.ox"]
    assert abs(rows["ox.model"]) > 0.5 * found.u
    assert found.low < truth.setpoints()["ox"] < found.high
