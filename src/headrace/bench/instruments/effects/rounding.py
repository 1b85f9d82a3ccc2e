"""What rounding to steps leaves in the mean of many samples, in steps. Start at `resting`.

Source: rounding to a step q errs by q/sqrt(12) (JCGM 100:2008, F.2.2.1). Noise makes the mean of many samples err
less: the error of rounding is a sawtooth, of which normal noise sigma leaves exp(-2 (pi k sigma/q)^2) of each harmonic
k; in a signal that runs over many steps only the ends of the run are left (both closed forms: the Fourier series of a
sawtooth, and of its integral at two ends).
"""

from math import exp, pi, sqrt

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
