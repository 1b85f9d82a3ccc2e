"""Known truth: line noise that parses changes neither E nor its u; hum leaves only the bias of a root."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from headrace.jobs.reduce import aside
from headrace.jobs.reduce.collect import reduce
from headrace.jobs.reduce.slices import over_whole_periods
from headrace.notices import Severity
from headrace.records.given import Campaign, RunGiven, Trace
from support import hand_made
from support.hand_made import BAR, campaign, metered

Array = NDArray[np.float64]
E = 2.3e-4
RATE = 500.0
ON = (3.0, 9.0)


def fine(seed: int = 1, noise: float = 2e-3, rate: float = RATE) -> RunGiven:
    """The hand-made run, sampled finely and with noise of a transmitter."""
    run = metered("W01", E)
    assert run.trace is not None
    time = np.arange(0.0, 13.0, 1 / rate)
    flowing = (time >= ON[0]) & (time <= ON[1])
    p_tap = np.where(flowing, 6 * BAR - 3 * BAR * (time - ON[0]) / 6.0, 0.0)
    rho = hand_made.rho_of(hand_made.WARM, hand_made.AMBIENT + 4.5 * BAR)
    dp = np.where(flowing, p_tap + rho * hand_made.G * hand_made.RISE, 0.0)
    meter = hand_made.meter_dp(E * np.sqrt(2 * rho * dp), rho)
    dice = np.random.default_rng(seed)
    channels = {
        "DP-A": meter + noise * 0.5 * BAR * dice.normal(0, 1, time.size),
        "PM-OX": p_tap + noise * 5 * BAR * dice.normal(0, 1, time.size),
    }
    return replace(run, trace=traced(run.trace, time, channels))


def traced(base: Trace, time: Array, channels: dict[str, Array]) -> Trace:
    return replace(base, time=time, channels=channels, lines=np.arange(time.size) + 2)


def changed(run: RunGiven, **channels: Array) -> RunGiven:
    assert run.trace is not None
    held = {**run.trace.channels, **{tag.replace("_", "-"): values for tag, values in channels.items()}}
    return replace(run, trace=replace(run.trace, channels=held))


def found(run: RunGiven) -> tuple[float, float, dict[str, Severity]]:
    answer = reduce(campaign(run))
    area = answer.characteristics["ox"].area_eff
    return area.value, area.u, {one.code: one.severity for one in answer.notices}


def test_wild_values_change_neither_e_nor_its_u() -> None:
    run = fine()
    assert run.trace is not None
    plain, u, codes = found(run)
    assert plain == pytest.approx(E, rel=1e-3)
    assert "values-set-aside" not in codes
    meter, tap = run.trace.channels["DP-A"].copy(), run.trace.channels["PM-OX"].copy()
    meter[2000] *= 0.1  # a lost digit
    meter[2600] = 3e7
    tap[3100] = 0.0
    tap[3101] = 0.0
    tap[10] = 9e5  # in the zero
    tap[6400] = -5e5
    wild, u_wild, codes = found(changed(run, DP_A=meter, PM_OX=tap))
    assert codes["values-set-aside"] is Severity.INFO
    assert abs(wild - plain) < 0.02 * u
    assert u_wild == pytest.approx(u, rel=0.01)


def test_left_in_it_would_have_spoilt_its_reading(monkeypatch: pytest.MonkeyPatch) -> None:
    def worst(run: RunGiven) -> float:
        readings = reduce(campaign(run)).runs["W01"].readings
        return max(abs(one.area_eff / E - 1) for one in readings)

    run = fine()
    assert run.trace is not None
    meter = run.trace.channels["DP-A"].copy()
    meter[2600] = 3e7
    assert worst(changed(run, DP_A=meter)) < 1e-3
    monkeypatch.setattr(aside, "standing_alone", lambda values, **_: np.zeros(values.size, dtype=bool))
    assert worst(changed(run, DP_A=meter)) > 1e-2


def test_a_lagging_channel_is_not_pulled_beside_a_wild_value() -> None:
    def lagging(run: RunGiven) -> Campaign:
        given = campaign(run)
        held = dict(given.bench.instruments)
        held["PM-OX"] = replace(held["PM-OX"], lag=replace(run.ambient, value=0.05, u=0.005))
        return replace(given, bench=replace(given.bench, instruments=held))

    run = fine()
    assert run.trace is not None
    tap = run.trace.channels["PM-OX"].copy()
    tap[[2000, 2300, 2600, 2900]] = 9e6
    plain = reduce(lagging(run)).characteristics["ox"].area_eff
    wild = reduce(lagging(changed(run, PM_OX=tap))).characteristics["ox"].area_eff
    assert abs(wild.value - plain.value) < 0.02 * plain.u


def test_too_many_are_no_noise_and_nothing_is_left_out() -> None:
    run = fine()
    assert run.trace is not None
    tap = run.trace.channels["PM-OX"].copy()
    tap[1600:4400:25] *= 1.6
    _, _, codes = found(changed(run, PM_OX=tap))
    assert codes["values-set-aside"] is Severity.DOUBT
    few = run.trace.channels["PM-OX"].copy()
    few[1600:4400:200] *= 1.6
    moved, u, codes = found(changed(run, PM_OX=few))
    assert codes["values-set-aside"] is Severity.DOUBT  # 14 of 6500: told loudly, left out
    assert abs(moved - found(run)[0]) < 0.1 * u


def test_a_flat_top_enters_no_slice() -> None:
    run = fine()
    assert run.trace is not None
    plain, u, _ = found(run)
    top = 5.2 * BAR
    given = campaign(changed(run, PM_OX=np.minimum(run.trace.channels["PM-OX"], top)))
    held = dict(given.bench.instruments)
    held["PM-OX"] = replace(held["PM-OX"], high=top)
    answer = reduce(replace(given, bench=replace(given.bench, instruments=held)))
    codes = {one.code: one.severity for one in answer.notices}
    assert codes["channel-clipped"] is Severity.DOUBT
    assert "channel-stuck" not in codes
    assert answer.runs["W01"].windows["ox"].start > 4.5  # the drop comes off its end at 4.6 s
    assert answer.characteristics["ox"].area_eff.value == pytest.approx(plain, abs=0.3 * u)


@pytest.mark.parametrize("tag", ["DP-A", "PM-OX"])
def test_hum_leaves_the_bias_of_the_root_and_nothing_else(tag: str) -> None:
    run = fine(noise=1e-5)
    assert run.trace is not None
    plain, _, _ = found(run)
    part = 0.06
    time, values = run.trace.time, run.trace.channels[tag]
    humming = values * (1 + part * np.sin(2 * np.pi * 50 * time + 0.7))
    mains, _, codes = found(changed(run, **{tag: humming}))
    assert codes["mains-hum"] is Severity.INFO
    bias = {"DP-A": -1 / 16, "PM-OX": 3 / 16}[tag] * part**2  # of the mean of a root, and of one over a root
    assert mains / plain - 1 == pytest.approx(bias, rel=0.1)
    assert "mains-hum" not in found(run)[2]


def test_broken_periods_are_cut_off_the_slices() -> None:
    time = np.arange(747) / 1000.0
    cuts = (np.arange(747, dtype=np.intp),)
    drop = 1 + 0.3 * np.sin(2 * np.pi * 50 * time)
    (whole,) = over_whole_periods(time, cuts, 50.0)
    assert abs(np.mean(drop[whole]) - 1) < 0.05 * abs(np.mean(drop) - 1)
    assert over_whole_periods(time, cuts, None) is cuts


def test_hum_that_slow_sampling_hides_in_the_fall_is_a_doubt() -> None:
    run = fine(rate=101.0 / 2.02 + 1.2, noise=1e-5)  # 51.2 Hz: 50 Hz shows at 1.2 Hz
    assert run.trace is not None
    time, values = run.trace.time, run.trace.channels["DP-A"]
    humming = values * (1 + 0.02 * np.sin(2 * np.pi * 50 * time))
    answer = reduce(campaign(changed(run, DP_A=humming)))
    (notice,) = [one for one in answer.notices if one.code == "mains-hum"]
    assert notice.severity is Severity.DOUBT
    assert dict(notice.facts)["frequency_seen"] == pytest.approx(1.2, abs=0.01)
