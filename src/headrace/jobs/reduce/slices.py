"""Cut a window into slices, take means over them, and know how sure those means are."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from headrace.records.readings import Channels, Series, Window
from headrace.stats.hum import mains_hum, whole_periods
from headrace.stats.series import series_mean

Array = NDArray[np.float64]
Index = NDArray[np.intp]

SLICE = 0.75
"""Seconds of a slice, about: long enough that its scatter is known, short enough that pressure hardly falls."""

MOST = 8
"""Slices of a run, at most: they share the run's errors, so more of them tell nothing more."""

SETTLED = 0.5
"""Seconds after opening and before closing in which nothing is shown as a reading."""

LEAST_SAMPLES = 8
BUCKETS = 200
"""Stretches of a record from each of which a channel keeps its least and its most."""

THINNED = 1500
"""Points of a figure's trace, at most."""


def cut(time: Array, window: Window, good: NDArray[np.bool_]) -> tuple[Index, ...]:
    """Indices of the samples of each slice: of equal numbers, in order; none when the window holds too few."""
    inside = np.flatnonzero((time >= window.start) & (time <= window.end) & good)
    if inside.size < LEAST_SAMPLES:
        return ()
    by_time = int((window.end - window.start) / SLICE)
    count = int(min(max(by_time, 1), MOST, inside.size // LEAST_SAMPLES))
    return tuple(np.array_split(inside, count))


def over_whole_periods(time: Array, cuts: tuple[Index, ...], frequency: float | None) -> tuple[Index, ...]:
    """Slices without the few last samples that hold a broken period of hum; as they are where nothing hums."""
    if frequency is None:
        return cuts
    return tuple(index[: whole_periods(time[index], frequency)] for index in cuts)


def hum_in(time: Array, channels: tuple[Array, ...], window: Window) -> float | None:
    """Frequency of the strongest mains hum, of its channel's mean, on any of these channels in the window [Hz]."""
    within = (time >= window.start) & (time <= window.end)
    found = []
    for values in channels:
        hum = mains_hum(time[within], values[within])
        if hum is not None:
            found.append((hum.amplitude / max(abs(float(np.nanmean(values[within]))), 1e-12), hum.frequency))
    return max(found)[1] if found else None


def cut_outside(
    time: Array, window: Window, these: NDArray[np.bool_], *, on: tuple[float, float]
) -> tuple[Index, ...]:
    """Slices of flow outside the window, kept to be seen: what cavitates, beside a clear window."""
    out: list[Index] = []
    for begin, end in ((on[0] + SETTLED, window.start), (window.end, on[1] - SETTLED)):
        if end - begin >= SLICE:
            out.extend(cut(time, Window(start=begin, end=end, chosen="outside"), these))
    return tuple(out)


def in_order(cuts: tuple[Index, ...]) -> tuple[Index, ...]:
    """Slices in the order of time."""
    return tuple(sorted(cuts, key=lambda index: int(index[0])))


def means(values: Array, cuts: tuple[Index, ...]) -> Array:
    """Mean of each slice."""
    return np.array([float(np.mean(values[index])) for index in cuts])


def noise_of(ln_area: Array) -> float:
    """Relative standard uncertainty of a slice's mean E from its scatter about its own straight line."""
    if ln_area.size < LEAST_SAMPLES:
        return 0.0
    at = np.linspace(-0.5, 0.5, ln_area.size)
    slope = float(np.sum(at * (ln_area - ln_area.mean())) / np.sum(at**2))
    return series_mean(ln_area - slope * at).u


def thinned(time: Array, dp: Array, m_dot: Array, area: Array, cav: Array) -> Series:
    """Every so-many-th sample, for figures."""
    step = max(int(np.ceil(time.size / THINNED)), 1)
    time, dp, m_dot, area, cav = (
        one[::step].copy() for one in (time, dp, m_dot, area, cav)
    )  # no view of the record
    return Series(time=time, dp=dp, m_dot=m_dot, area_eff=area, cav=cav)


def extremes(time: Array, channels: Mapping[str, Array]) -> Channels | None:
    """Every channel by least and most of each stretch, in the order they came: no spike is lost. None of no record."""
    if time.size == 0:
        return None
    if time.size <= 2 * BUCKETS:
        return Channels(time=time, values=dict(channels))
    width = -(-time.size // BUCKETS)
    first = np.arange(0, time.size, width)
    at = np.stack([first, np.minimum(first + width // 2, time.size - 1)], axis=1).ravel()
    return Channels(time=time[at], values={tag: _ends(values, width) for tag, values in channels.items()})


def _ends(values: Array, width: int) -> Array:
    rows = -(-values.size // width)
    padded = np.full(rows * width, np.nan)
    padded[: values.size] = values
    table = padded.reshape(rows, width)
    known = np.isfinite(table)
    low = np.argmin(np.where(known, table, np.inf), axis=1)
    high = np.argmax(np.where(known, table, -np.inf), axis=1)
    ends = np.sort(np.stack([low, high], axis=1), axis=1)
    out: Array = np.take_along_axis(table, ends, axis=1)
    return np.where(np.any(known, axis=1)[:, None], out, np.nan).ravel()
