"""Zeros, lag and the stretch of flow, found from a record."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.jobs.reduce import signals, zeros
from headrace.jobs.reduce.signals import GUARD, _off, _spans, prepare
from headrace.records.given import Stated, TimeShift
from support import hand_made as made


def record(zero: float = 0.02, drift: float = 0.004, noise: float = 1e-3) -> tuple[np.ndarray, np.ndarray]:
    """A channel: rest, 8 s of a falling drop, rest with a moved zero."""
    time = np.arange(0.0, 14.0, 0.01)
    flow = np.where((time >= 2.0) & (time <= 10.0), 3.0 - 0.1 * (time - 2.0), 0.0)
    course = zero + drift * np.clip((time - 2.0) / 8.0, 0.0, 1.0)
    return time, flow + course + np.random.default_rng(5).normal(0, noise, time.size)


def test_the_stretch_of_flow_is_found() -> None:
    time, channel = record()
    start, end = signals.flowing(time, channel)
    assert start == pytest.approx(2.0, abs=0.02)
    assert end == pytest.approx(10.0, abs=0.02)


def test_a_short_gap_does_not_split_the_flow_and_a_long_one_does() -> None:
    time, channel = record()
    short, long = channel.copy(), channel.copy()
    short[(time > 5.0) & (time < 5.1)] = 0.0
    long[(time > 5.0) & (time < 5.6)] = 0.0
    assert signals.flowing(time, short)[0] == pytest.approx(2.0, abs=0.02)
    assert signals.flowing(time, long)[0] == pytest.approx(5.6, abs=0.02)


def test_a_zero_before_and_after_carries_what_lies_between() -> None:
    time, channel = record(noise=0.0)
    zero = zeros.take_zero(time, channel, before=(0.0, 1.7), after=(12.0, 14.0), shift=0.01)
    assert zero is not None
    assert (zero.before, zero.after) == pytest.approx((0.02, 0.024))
    assert zero.u == pytest.approx(0.004 / np.sqrt(12), rel=1e-6)


def test_a_zero_before_only_carries_the_allowed_shift() -> None:
    time, channel = record(noise=0.0)
    zero = zeros.take_zero(time, channel, before=(0.0, 1.7), after=(14.0, 15.0), shift=0.01)
    assert zero is not None
    assert zero.after is None
    assert zero.u == pytest.approx(0.01 / np.sqrt(3), rel=1e-6)
    assert zeros.take_zero(time, channel, before=(-2.0, -1.0), after=(12.0, 14.0), shift=0.01) is None


def test_the_zero_goes_straight_from_before_to_after_while_water_flows() -> None:
    time, channel = record(noise=0.0)
    zero = zeros.take_zero(time, channel, before=(0.0, 1.7), after=(12.0, 14.0), shift=0.01)
    assert zero is not None
    clean = channel - zeros.zero_course(time, zero, (2.0, 10.0))
    middle = (time > 2.1) & (time < 9.9)
    np.testing.assert_allclose(clean[middle], (3.0 - 0.1 * (time - 2.0))[middle], atol=1e-9)


def test_a_lagging_channel_catches_up() -> None:
    time = np.arange(0.0, 10.0, 0.01)
    lag, fall = 0.25, -0.4
    shown = 5.0 + fall * (time - lag)  # a first-order lag on a ramp trails by lag * rate
    caught = signals.caught_up(time, shown, lag)
    np.testing.assert_allclose(caught[50:-50], (5.0 + fall * time)[50:-50], atol=1e-9)
    assert signals.caught_up(time, shown, 0.0) is shown


@pytest.mark.parametrize(
    ("change", "apart"),
    [
        ({}, 0.0),
        ({"lag": Stated(value=0.6)}, 1.2),
        ({"skew": Stated(value=0.3)}, 0.6),
        ({"skew": Stated(value=-0.3)}, 0.6),
    ],
)
def test_a_zero_keeps_clear_of_what_a_channel_shows_early_or_late(
    change: dict[str, Stated], apart: float
) -> None:
    run = made.metered("W01", 2.3e-4)
    campaign = made.campaign(run)
    instruments = dict(campaign.bench.instruments)
    instruments["PM-OX"] = replace(instruments["PM-OX"], **change)
    assert run.trace is not None
    ends = made.ON[0] - GUARD - apart
    step = np.where((ends + 0.06 < made.TIME) & (made.ON[0] > made.TIME), 4e5, 0.0)  # whatever it shows there
    channels = run.trace.channels | {"PM-OX": run.trace.channels["PM-OX"] + (step if not change else 0.0)}
    trace = made.trace(channels)
    shifts = {"PM-OX": (TimeShift(name="W01.b.skew", u=0.1, dist="normal", origin="made"),)}
    bench = replace(campaign.bench, instruments=instruments)
    seen = prepare(replace(campaign, bench=bench), run, trace, lead="DP-A")
    assert seen.zeros["PM-OX"].before == pytest.approx(0.0, abs=2e-3 * 4e5)
    late = prepare(replace(campaign, bench=bench), run, replace(trace, shifts=shifts), lead="DP-A")
    assert _off(instruments["PM-OX"], replace(trace, shifts=shifts), "PM-OX") == pytest.approx(apart + 0.3)
    assert _off(instruments["PM-OX"], trace, "PM-OX") == pytest.approx(apart)
    assert late.zeros["PM-OX"].before == pytest.approx(0.0, abs=2e-3 * 4e5)
    spans = _spans(run, made.TIME, made.ON, apart=apart)
    assert spans["before"] == (0.0, pytest.approx(ends))
    assert spans["after"][0] >= made.ON[1] + apart  # type: ignore[index]  # there is one
