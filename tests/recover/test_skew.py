"""Known truth: a second logger whose clock is off by what its stated doubt says scatters E by the u that is printed."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.files.joined import resampled
from headrace.jobs.reduce.collect import reduce
from headrace.records.given import Campaign, TimeShift
from support.hand_made import BAR, campaign, metered

E = 2.3e-4
U = 0.08  # s


def late(skew: float, tags: tuple[str, ...] = ("PM-OX",), shared: str = "W01.slow.skew") -> Campaign:
    """The hand-made run with these channels from a logger whose clock is `skew` seconds off the stated offset."""
    run = metered("W01", E, p=(6 * BAR, 2 * BAR))
    trace = run.trace
    assert trace is not None
    channels = dict(trace.channels)
    for tag in tags:
        fine = np.arange(-1.0, 14.0, 0.01)
        stored = np.interp(fine + skew, trace.time, trace.channels[tag])
        channels[tag] = np.nan_to_num(resampled(trace.time, fine, stored, 0.05))
    shift = TimeShift(name=shared, u=U, dist="normal", origin="invented")
    shifted = replace(trace, channels=channels, shifts=dict.fromkeys(tags, (shift,)))
    return campaign(replace(run, trace=shifted, window=None))


def test_the_scatter_of_e_is_the_u_that_is_printed() -> None:
    dice = np.random.default_rng(5)
    plain = reduce(late(0.0))
    area = plain.characteristics["ox"].area_eff
    (line,) = [one for one in plain.characteristics["ox"].budget if one.source == "W01.slow.skew"]
    # E is nearly linear in the skew: few runs over its normal quantiles tell the spread of many
    skews = dice.normal(0, U, 12)
    values = [reduce(late(skew)).characteristics["ox"].area_eff.value for skew in skews]
    slope, level = np.polyfit(skews, values, 1)
    spread = abs(slope) * U
    assert level == pytest.approx(E, rel=2e-3)
    assert np.ptp(np.array(values) - level - slope * skews) < 0.1 * spread
    assert spread / E > 3e-3  # it matters
    assert abs(line.contribution) == pytest.approx(spread, rel=0.1)
    assert area.u > spread


def test_channels_of_one_file_move_together() -> None:
    """Meter and tap on the same late clock: the ratio of their roots hardly moves, and the budget knows."""
    both = reduce(late(0.0, ("PM-OX", "DP-A"))).characteristics["ox"]
    one = reduce(late(0.0)).characteristics["ox"]
    share = {line.source: abs(line.contribution) for line in both.budget}
    alone = {line.source: abs(line.contribution) for line in one.budget}
    assert share.get("W01.slow.skew", 0.0) < 0.1 * alone["W01.slow.skew"]
    moved = reduce(late(2 * U, ("PM-OX", "DP-A"))).characteristics["ox"].area_eff.value
    assert moved == pytest.approx(E, rel=3e-4)


def test_a_channel_of_the_runs_own_file_has_no_such_source() -> None:
    run = metered("W01", E)
    names = {line.source for line in reduce(campaign(run)).characteristics["ox"].budget}
    assert not any(name.endswith(".skew") for name in names)
