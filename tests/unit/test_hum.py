"""Mains hum is found at its frequency and amplitude, also folded, and never in what has none."""

import numpy as np
import pytest

from headrace.stats.hum import folded, mains_hum, whole_periods


def course(rate: float, seconds: float = 6.0, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    time = np.arange(round(seconds * rate)) / rate
    dice = np.random.default_rng(seed)
    slow = 0.02 * np.cumsum(dice.normal(0, np.sqrt(1 / rate), time.size))
    return time, 3.0 * np.exp(-time / 8) + slow + dice.normal(0, 0.01, time.size)


@pytest.mark.parametrize("mains", [50.0, 60.0])
@pytest.mark.parametrize("rate", [1000.0, 500.0, 99.0, 101.0])
def test_frequency_and_amplitude(rate: float, mains: float) -> None:
    time, values = course(rate)
    off = mains + 0.06  # mains wander
    hum = mains_hum(time, values + 0.03 * np.sin(2 * np.pi * off * time + 1))
    assert hum is not None
    assert hum.frequency == mains
    assert hum.seen == pytest.approx(folded(mains, rate))
    assert hum.amplitude == pytest.approx(0.03, rel=0.1)


def test_folding() -> None:
    assert folded(50.0, 99.0) == pytest.approx(49.0)
    assert folded(60.0, 99.0) == pytest.approx(39.0)


def test_none_in_noise_and_falling_drops() -> None:
    found = [
        mains_hum(*course(rate, seconds, seed))
        for seed in range(20)
        for rate, seconds in ((1000.0, 3.0), (200.0, 6.0), (99.0, 8.0), (40.0, 10.0))
    ]
    assert found == [None] * 80


def test_broad_pulsation_around_the_mains_is_no_hum() -> None:
    time, values = course(1000.0)
    dice = np.random.default_rng(3)
    phase = 2 * np.pi * np.cumsum(50 + 2.0 * dice.normal(0, 1, time.size)) / 1000 + np.cumsum(
        dice.normal(0, 0.15, time.size)
    )
    assert mains_hum(time, values + 0.03 * np.sin(phase)) is None


def test_what_cannot_be_told_is_not_said() -> None:
    time, values = course(50.0)  # 50 Hz folds to none
    assert mains_hum(time, values + 0.5 * np.sin(2 * np.pi * 50 * time + 1)) is None
    assert mains_hum(time[:60], values[:60]) is None
    uneven = time + np.where(np.arange(time.size) % 3 == 0, 0.006, 0.0)
    assert mains_hum(uneven, values + 0.5 * np.sin(2 * np.pi * 60 * time)) is None


def test_holes_are_bridged() -> None:
    time, values = course(1000.0)
    values = values + 0.03 * np.sin(2 * np.pi * 50 * time)
    values[500:504] = np.nan
    hum = mains_hum(time, values)
    assert hum is not None
    assert hum.amplitude == pytest.approx(0.03, rel=0.05)


@pytest.mark.parametrize(
    ("rate", "size", "most"), [(1000.0, 747, 1e-4), (250.0, 188, 1e-4), (333.0, 250, 6e-4)]
)
def test_a_sine_averages_out_over_whole_periods(rate: float, size: int, most: float) -> None:
    time = np.arange(size) / rate
    count = whole_periods(time, 50.0)
    assert 0.8 * size <= count <= size
    phases = np.arange(0, 3.2, 0.1)
    left = max(abs(np.mean(np.sin(2 * np.pi * 50 * time[:count] + phase))) for phase in phases)
    whole = max(abs(np.mean(np.sin(2 * np.pi * 50 * time + phase))) for phase in phases)
    assert left < most
    assert left < 0.2 * whole
