"""Findings on whole invented campaigns: silent on clean ones, and what is planted reaches the notices of `reduce`."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from headrace.demo.simulator.campaign import write_campaign
from headrace.demo.simulator.plan import Faults
from headrace.files import folder
from headrace.jobs.reduce import reduce
from headrace.notices import Notice, Severity
from headrace.records.given import Campaign, Instrument, RunGiven, WindowGiven
from support.mini import mini_plan, write_mini

Channels = dict[str, np.ndarray[Any, Any]]

VARIANTS: tuple[dict[str, Any], ...] = (
    {},
    {"lines": 2},
    {"certified": False},
    {"runs": 4},
    {"days": 1, "rate": 20.0},
    {"rate": 100.0, "flowing": 8.0},
)


@pytest.mark.parametrize("seed", range(6))
def test_clean_campaigns_raise_neither_stop_nor_doubt(seed: int, tmp_path: Path) -> None:
    write_mini(tmp_path / "c", 300 + seed, **VARIANTS[seed])
    reduced = reduce(folder.read(tmp_path / "c"))
    loud = [n for n in reduced.notices if n.severity is not Severity.INFO and n.code != "meter-out-of-scope"]
    assert loud == []


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Campaign:
    """Two runs of each circuit, every tap logged in every run."""
    target = tmp_path_factory.mktemp("campaign") / "c"
    write_campaign(target, replace(mini_plan(), log_all=True), 11)
    return folder.read(target)


def with_channels(campaign: Campaign, change: Callable[[Channels], None], **changes: Any) -> Campaign:
    """The campaign with run W01's channels changed."""
    run = campaign.runs["W01"]
    assert run.trace is not None
    channels = {tag: np.array(values) for tag, values in run.trace.channels.items()}
    change(channels)
    run = replace(run, trace=replace(run.trace, channels=channels), **changes)
    return with_run(campaign, run)


def with_run(campaign: Campaign, run: RunGiven) -> Campaign:
    return replace(campaign, runs={**campaign.runs, run.id: run})


def with_instrument(campaign: Campaign, instrument: Instrument) -> Campaign:
    instruments = {**campaign.bench.instruments, instrument.tag: instrument}
    return replace(campaign, bench=replace(campaign.bench, instruments=instruments))


def found(campaign: Campaign, code: str) -> list[Notice]:
    return [one for one in reduce(campaign).notices if one.code == code and one.run in ("W01", None)]


def planted(tmp_path: Path, faults: Faults) -> Campaign:
    plan = mini_plan(rate=100.0)
    first = replace(plan.runs[0], faults=faults)
    write_campaign(tmp_path / "c", replace(plan, log_all=True, runs=(first, *plan.runs[1:])), 12)
    return folder.read(tmp_path / "c")


@pytest.mark.parametrize(
    ("faults", "code", "severity"),
    [
        (Faults(leak=2.6e-5), "neighbour-leak", Severity.STOP),
        (Faults(air_leg=("DP-A", 0.45)), "impulse-leg-air", Severity.DOUBT),
        (Faults(breakthrough=5.0), "gas-breakthrough", Severity.INFO),
        (Faults(clock_jump=(3.0, 2.0)), "clock-jump", Severity.DOUBT),
    ],
)
def test_faults_of_the_simulator(faults: Faults, code: str, severity: Severity, tmp_path: Path) -> None:
    campaign = planted(tmp_path, faults)
    assert [one.severity for one in found(campaign, code)] == [severity]
    excluded = with_run(campaign, replace(campaign.runs["W01"], excluded="spoilt"))
    assert [one.severity for one in found(excluded, code)] == [Severity.INFO]


def test_gas_inside_a_typed_window(tmp_path: Path) -> None:
    campaign = planted(tmp_path, Faults(breakthrough=3.5))
    typed = WindowGiven(start=2.5, end=7.0, reason="all of it")
    campaign = with_run(campaign, replace(campaign.runs["W01"], window=typed))
    assert [one.severity for one in found(campaign, "gas-breakthrough")] == [Severity.DOUBT]


def _crossed(channels: Channels) -> None:
    channels["DP-A"] *= -1


def _absolute(channels: Channels) -> None:
    channels["PM-OX"] += 1.007e5


def _jammed(channels: Channels) -> None:
    channels["PM-OX"][100:180] = channels["PM-OX"][100]


def _drifted(channels: Channels) -> None:
    channels["PM-OX"] += np.linspace(0, 0.05e5, channels["PM-OX"].size)


def _below_outlet(channels: Channels) -> None:
    channels["PM-OX"] -= 1.1 * channels["PM-OX"].max() * (channels["PM-OX"] > 0.3 * channels["PM-OX"].max())


@pytest.mark.parametrize(
    ("change", "code", "severity"),
    [
        (_crossed, "drop-negative", Severity.STOP),
        (_absolute, "gauge-taken-for-absolute", Severity.STOP),
        (_jammed, "channel-stuck", Severity.STOP),
        (_drifted, "tare-drift", Severity.DOUBT),
        (_below_outlet, "drop-negative", Severity.STOP),
    ],
)
def test_faults_in_a_channel(
    change: Callable[[Channels], None], code: str, severity: Severity, clean: Campaign
) -> None:
    assert found(clean, code) == []
    window = WindowGiven(start=2.5, end=7.0, reason="test") if change is _jammed else None
    assert severity in [one.severity for one in found(with_channels(clean, change, window=window), code)]


def test_saturated_transmitter(clean: Campaign) -> None:
    cell = clean.bench.instruments["DP-A"]
    low = replace(cell, high=0.5 * cell.high)
    top = low.high

    def clip(channels: Channels) -> None:
        channels["DP-A"] = np.minimum(channels["DP-A"], top)

    campaign = with_channels(
        with_instrument(clean, low), clip, window=WindowGiven(start=2.5, end=7.0, reason="test")
    )
    assert Severity.STOP in [one.severity for one in found(campaign, "channel-stuck")]


def test_plain_holes_with_a_wrong_area_cavitate_and_have_too_high_a_cd(clean: Campaign) -> None:
    ox = clean.article.circuits["ox"]
    small = replace(ox, element="plain-sharp", area=replace(ox.bore, value=2.2e-4, u=0.0))
    article = replace(clean.article, circuits={**clean.article.circuits, "ox": small})
    campaign = replace(clean, article=article)
    assert [one.severity for one in found(campaign, "cd-too-high")] == [Severity.STOP]
    assert Severity.DOUBT in [one.severity for one in found(campaign, "article-cavitates")]


def test_short_window(clean: Campaign) -> None:
    run = replace(clean.runs["W01"], window=WindowGiven(start=3.0, end=4.5, reason="test"))
    assert len(found(with_run(clean, run), "window-short")) == 1


def test_one_run_alone(clean: Campaign) -> None:
    runs = {name: run for name, run in clean.runs.items() if name in ("W01", "W02")}
    notices = found(replace(clean, runs=runs), "one-run-carries-all")
    assert any(one.severity is Severity.DOUBT and one.run == "W01" for one in notices)


@pytest.mark.parametrize(
    ("tag", "value", "word"),
    [
        ("DP-A", np.nan, "DP-A has no values"),
        ("PM-OX", np.nan, "PM-OX has no values"),
        ("TW-A", np.nan, "TW-A has no values"),
        ("TW-A", 900.0, "temp"),
    ],
)
def test_a_dead_channel_leaves_a_stop_and_the_other_runs(
    tag: str, value: float, word: str, clean: Campaign
) -> None:
    def kill(channels: Channels) -> None:
        channels[tag][:] = value

    campaign = with_channels(clean, kill)
    stops = [one for one in found(campaign, "run-not-reduced") if one.severity is Severity.STOP]
    assert len(stops) == 1
    assert word in stops[0].text
    assert reduce(campaign).characteristics["ox"].runs == ("W03",)
