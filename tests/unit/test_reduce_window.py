"""The window finder stays inside the clean part of a run, and says what the rest was."""

import datetime
from dataclasses import replace

import numpy as np
import pytest

from headrace.jobs.reduce import window as windows
from headrace.records.given import Origin, RunGiven, Stated, WindowGiven
from headrace.records.readings import Window

ON = (1.0, 11.0)
RATE = 100.0


def trace(
    *, seed: int = 3, settle: float = 0.8, gas: float | None = None, slope: float = 0.0
) -> tuple[np.ndarray, np.ndarray]:
    """Time and ln E: priming fades out over `settle` seconds, gas makes E wobble from `gas` on."""
    time = np.arange(0.0, 13.0, 1 / RATE)
    ln_area = -8.4 + slope * (time - 6.0) + np.random.default_rng(seed).normal(0, 2e-3, time.size)
    ln_area = ln_area + 0.4 * np.exp(-(time - ON[0]) / (settle / 5))
    if gas is not None:
        wobble = np.random.default_rng(seed + 1).normal(0, 0.15, time.size)
        ln_area = ln_area + np.where(time > gas, wobble + 0.1, 0.0)
    ln_area[(time < ON[0]) | (time > ON[1])] = np.nan
    return time, ln_area


def test_the_window_leaves_out_priming_and_closing() -> None:
    time, ln_area = trace()
    found = windows.find(time, ln_area, on=ON, lag=0.0)
    assert 1.6 < found.start < 2.6
    assert 10.5 < found.end < 11.0
    assert [name for name, *_ in found.phases] == ["opening", "settling", "sweep", "closing"]


def test_the_window_ends_before_gas_comes_through() -> None:
    time, ln_area = trace(gas=8.3)
    found = windows.find(time, ln_area, on=ON, lag=0.0)
    assert 7.5 < found.end <= 8.3
    assert "breakthrough" in {name for name, *_ in found.phases}


def test_a_steady_slope_is_no_reason_to_cut() -> None:
    time, ln_area = trace(slope=0.004)
    found = windows.find(time, ln_area, on=ON, lag=0.0)
    assert found.end - found.start > 7.5


def test_a_slow_channel_moves_the_start() -> None:
    time, ln_area = trace()
    quick = windows.find(time, ln_area, on=ON, lag=0.0)
    slow = windows.find(time, ln_area, on=ON, lag=0.3)
    assert slow.start - quick.start == pytest.approx(5 * 0.3 - windows.MARGIN)


def test_a_record_too_short_to_judge_is_taken_whole() -> None:
    time = np.linspace(0, 0.1, 6)
    found = windows.find(time, np.zeros(6), on=(0.0, 0.1), lag=0.0)
    assert (found.start, found.end) == (0.0, 0.1)


def test_the_doubt_is_half_of_what_moving_an_end_does() -> None:
    time = np.arange(0.0, 10.0, 0.01)
    ln_area = 0.01 * time
    # start moved by 2 s: the mean moves by half of that, 1 s * 0.01 / s
    assert windows.doubt(time, ln_area, Window(start=0.0, end=10.0, chosen="found")) == pytest.approx(
        0.5 * 0.01, rel=2e-3
    )
    assert windows.doubt(time, 0 * time, Window(start=0.0, end=10.0, chosen="found")) == 0.0


def test_a_typed_window_wins_and_keeps_its_reason() -> None:
    run = RunGiven(
        id="W01", kind="water", method="metered", date=datetime.date(2026, 1, 2), flows=(), trace=None,
        ambient=Stated(value=1e5), water_temperature=None, origin=Origin(file="runs/W01/run.toml", sha256=""),
    )  # fmt: skip
    time, ln_area = trace()
    typed = replace(run, window=WindowGiven(start=4.0, end=7.0, reason="valve bounced"))
    found = windows.chosen(typed, time, ln_area, on=ON, lag=0.0)
    assert (found.start, found.end, found.chosen) == (4.0, 7.0, "typed: valve bounced")
    assert found.phases == windows.chosen(run, time, ln_area, on=ON, lag=0.0).phases


@pytest.mark.parametrize("gas", [4.6, 5.5, 7.0])
def test_gas_that_comes_early_spoils_the_end_and_not_the_window(gas: float) -> None:
    time, ln_area = trace(gas=gas)
    found = windows.find(time, ln_area, on=ON, lag=0.0)
    assert 1.4 < found.start < 2.6
    assert gas - 0.8 < found.end <= gas
