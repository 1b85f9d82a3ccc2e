"""What rounding to steps leaves in the mean of many samples, in steps. Start at `resting`.

Source: rounding to a step q errs by q/sqrt(12) (JCGM 100:2008, F.2.2.1). Noise makes the mean of many samples err
less: the error of rounding is a sawtooth, of which normal noise sigma leaves exp(-2 (pi k sigma/q)^2) of each harmonic
k; in a signal that runs over many steps only the ends of the run are left (both closed forms: the Fourier series of a
sawtooth, and of its integral at two ends).
"""

from math import exp, hypot, pi, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

Array = NDArray[np.float64]

NOISES = np.linspace(0.02, 1.0, 50)
"""Noise that a rest on several codes may have had, in steps, each with a weight in proportion to itself. Our choice:
over drawn rests of 50 to 200 samples error over u has a root mean square of 1 without noise and from 0.4 of a step on,
1.25 at worst at 0.05 to 0.1 of a step, 0.8 at 0.2 to 0.3."""

AROUND = np.linspace(-0.6, 0.6, 121)
"""How far from their mean the true value of rounded samples may lie, in steps."""

HARMONICS = 60
"""Harmonics of the error of rounding that are counted one by one."""


def resting(noise: float) -> float:
    """Root of the mean square error of a mean of rounded samples, in steps, for noise in steps.

    >>> round(resting(0.0), 4)
    0.2887
    """
    kept = sum(exp(-((2 * pi * k * noise) ** 2)) / k**2 for k in range(1, HARMONICS))
    rest = exp(-((2 * pi * HARMONICS * noise) ** 2)) / (HARMONICS - 0.5)
    return sqrt((kept + rest) / 2) / pi


def running(noise: float) -> float:
    """The same of a signal that runs over one step; of one that runs over more, divided by their number."""
    return sqrt(sum(exp(-((2 * pi * k * noise) ** 2)) / k**4 for k in range(1, HARMONICS))) / (2 * pi**2)


def at_rest(samples: Array) -> float:
    """Standard uncertainty that rounding adds to the mean of these samples of one still value, all in steps.

    On one code the value may lie anywhere in its step. Where several codes show, how often each does tells where
    among them it lies, and for how much noise: the mean square over all that may have shown them so (the likelihood of
    the counts), less the scatter that the mean has anyway.

    >>> round(at_rest(np.full(50, 7.2)), 4)
    0.2887
    """
    known = samples[np.isfinite(samples)]
    if known.size == 0:
        return resting(0.0)
    codes, counts = np.unique(np.round(known - np.sort(known)[known.size // 2]), return_counts=True)
    if codes.size == 1:
        return resting(0.0)
    mean = float(np.average(codes, weights=counts))
    scatter = float(np.average((codes - mean) ** 2, weights=counts))
    if scatter > 1:
        return resting(sqrt(scatter))
    off = codes - (mean + AROUND)[:, None, None]
    share = ndtr((off + 0.5) / NOISES[:, None]) - ndtr((off - 0.5) / NOISES[:, None])
    log = np.sum(counts * np.log(np.maximum(share, np.finfo(float).tiny)), axis=-1)
    weight = np.exp(log - np.max(log)) * NOISES
    square = float(np.sum(weight * AROUND[:, None] ** 2) / np.sum(weight))
    return sqrt(min(max(square - scatter / known.size, 0.0), 1 / 12))


def left(step: float, *, noise: float, sweep: float, tared: bool, rest: Array | None) -> float:
    """What rounding to a step leaves in the mean of a signal, and in the zero where one was taken off, SI.

    noise, sweep: of the signal while it counts; rest: samples of which the zero was taken, None when not known.
    """
    still = resting(noise / step)
    flowing = min(running(noise / step) / (sweep / step), still) if sweep > 0 else still
    if not tared:
        return step * flowing
    return step * hypot(flowing, still if rest is None else at_rest(rest / step))
