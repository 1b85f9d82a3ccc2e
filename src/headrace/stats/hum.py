"""Mains hum in a sampled signal: a narrow line at 50 or 60 Hz, or where slow sampling folds it to.

Start at `mains_hum`. Also `whole_periods`: where to end a stretch so that a sine averages out over it. Hum that folds
to nearly none cannot be told from the signal, and is not found.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

MAINS = (50.0, 60.0)

BAND = 0.3
"""Hz on either side of the line in which mains wander."""

NEAR = 5.0
"""Hz on either side whose spectrum says what the noise is there..."""

BINS = 40
"""... or so many bins, whichever is more."""

STANDS_OUT = 30.0
"""The line is above this many of the mean noise power of a bin: noise alone does that once in 1e13."""

OTHERS = 5.0
"""... and above this many of the strongest other bin nearby."""

CYCLES = 4.0
"""Cycles in the stretch below which a line cannot be told from the signal's own course."""

LEAST = 64
"""Samples that a spectrum needs."""

EVEN = 0.05
"""Share of steps of time that may differ from the usual one by more than a tenth."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hum:
    """frequency: of the mains [Hz]; seen: where it stands in the record, less when sampling is slow [Hz].

    amplitude: half from trough to crest, unit of the signal.
    """

    frequency: float
    seen: float
    amplitude: float


def mains_hum(time: ArrayLike, values: ArrayLike) -> Hum | None:
    """The stronger of the two mains lines in a signal; None where neither stands out.

    Args:
        time: (n,) [s], rising. values: (n,) any unit, NaN are bridged.
    Source: Hann window and periodogram, amplitude by the energy of the line: common practice.

    >>> import numpy as np
    >>> t = np.arange(4000) / 1000
    >>> hum = mains_hum(t, 5 + 0.2 * np.sin(2 * np.pi * 50 * t))
    >>> hum.frequency, hum.seen, round(hum.amplitude, 3)
    (50.0, 50.0, 0.2)
    """
    t, x = np.asarray(time, dtype=np.float64), np.asarray(values, dtype=np.float64)
    known = np.isfinite(x)
    if np.count_nonzero(known) < LEAST:
        return None
    steps = np.diff(t)
    step = float(np.median(steps))
    if not step > 0 or np.mean(np.abs(steps - step) > 0.1 * step) > EVEN:
        return None
    x = np.interp(t, t[known], x[known])
    at = np.linspace(-1.0, 1.0, x.size)
    x = x - np.polynomial.polynomial.polyval(at, np.polynomial.polynomial.polyfit(at, x, 3))
    window = np.hanning(x.size)
    power = np.abs(np.fft.rfft(window * x)) ** 2
    grid: Array = np.arange(power.size, dtype=np.float64) / (x.size * step)
    energy = 4 / (x.size * float(np.sum(window**2)))
    scaled: Array = power * energy
    found = [hum for mains in MAINS if (hum := _line(grid, scaled, mains, 1 / step)) is not None]
    return max(found, key=lambda hum: hum.amplitude) if found else None


def folded(frequency: float, rate: float) -> float:
    """Where a frequency stands in a record of so many samples per second [Hz].

    >>> folded(50.0, 40.0), folded(60.0, 1000.0)
    (10.0, 60.0)
    """
    return abs(frequency - round(frequency / rate) * rate)


def _line(grid: Array, power: Array, mains: float, rate: float) -> Hum | None:
    seen, bin_width = folded(mains, rate), float(grid[1])
    if seen < CYCLES * bin_width or seen > grid[-1] - 2 * bin_width:
        return None
    off = np.abs(grid - seen)
    line = off <= max(BAND, 2 * bin_width)
    noise = (off <= max(NEAR, BINS * bin_width)) & (off > max(BAND, 2 * bin_width) + 2 * bin_width)
    noise &= grid >= CYCLES * bin_width
    if np.count_nonzero(noise) < BINS // 2:
        return None
    level = float(np.median(power[noise])) / np.log(2)
    peak = float(np.max(power[line]))
    if peak <= STANDS_OUT * level or peak <= OTHERS * float(np.max(power[noise])):
        return None
    square = float(np.sum(power[line] - level))
    return Hum(frequency=mains, seen=seen, amplitude=float(np.sqrt(square)))


def whole_periods(time: Array, frequency: float, *, most: float = 0.2) -> int:
    """How many of these samples, from the first, hold a sine of that frequency in whole periods best.

    Args:
        time: (n,) of the samples [s]. frequency: above 0 [Hz]. most: share of the samples that may be left away.
    """
    turning = np.cumsum(np.exp(2j * np.pi * frequency * (time - time[0])))
    least = max(int(np.ceil((1 - most) * time.size)), 1)
    left = np.abs(turning[least - 1 :]) / np.arange(least, time.size + 1)
    return least + int(np.argmin(left))
