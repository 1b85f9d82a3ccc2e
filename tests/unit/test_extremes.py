"""A thinned record keeps the least and the most of every stretch, in the order in which they came."""

import numpy as np

from headrace.jobs.reduce.slices import BUCKETS, extremes, thinned


def test_no_spike_is_lost() -> None:
    time = np.arange(10 * BUCKETS + 3) / 100
    signal = np.sin(time)
    signal[1234], signal[77], signal[78] = 9.0, -9.0, np.nan
    rest = np.full_like(time, np.nan)
    kept = extremes(time, {"p": signal, "none": rest})
    assert kept is not None
    shown = kept.values["p"]
    assert (np.nanmax(shown), np.nanmin(shown)) == (9.0, -9.0)
    assert kept.time.size == shown.size <= 2 * BUCKETS
    assert np.all(np.diff(kept.time) >= 0)
    assert np.all(np.isnan(kept.values["none"]))
    place = int(np.nanargmax(shown))
    assert abs(kept.time[place] - 12.34) < 0.11
    rising = extremes(time, {"p": time})
    assert rising is not None
    assert np.all(np.diff(rising.values["p"]) >= 0)


def test_a_short_record_stays_whole() -> None:
    time = np.arange(50.0)
    kept = extremes(time, {"p": time**2})
    assert kept is not None
    np.testing.assert_array_equal(kept.values["p"], time**2)
    assert extremes(np.empty(0), {}) is None


def test_a_thinned_record_does_not_hold_the_whole_one() -> None:
    time = np.arange(60_000.0)
    one = thinned(time, time, time, time, time)
    for kept in (one.time, one.dp, one.m_dot, one.area_eff, one.cav):
        assert kept.base is None
        assert kept.size < 2_000
