"""What the invented crew writes down, and what is true behind it.

A `Said` is a number with the doubt that stands beside it. `Draws` makes the truth: every source of error is drawn
once under its name, from the distribution that the text promises (a bare ± is a rectangular limit, ± with k a normal
one), whatever the order of asking. Promises are broken, or errors switched off, by a factor on names.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from math import exp, sqrt
from zlib import crc32

import numpy as np

SIZE = {
    "Pa": 1.0, "mbar": 1e2, "kPa": 1e3, "bar": 1e5, "m": 1.0, "mm": 1e-3, "mm2": 1e-6, "m2": 1.0, "m3": 1.0, "L": 1e-3,
    "kg": 1.0, "s": 1.0, "ms": 1e-3, "K": 1.0, "kg/m3": 1.0, "m/s": 1.0, "": 1.0, "%": 1e-2, "mA": 1e-3,
}  # fmt: skip
"""One of each unit that the invented folders use, in SI."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A number as written: `value` and `half` in `unit`; k None for limits; `mark` is "(g)", "(a)" or "".

    share: the doubt is written in % of the value, and `half` is that share (0.01 is 1 %).
    """

    value: float
    unit: str = ""
    half: float = 0.0
    k: float | None = None
    share: bool = False
    mark: str = ""
    doubt_unit: str | None = None

    @property
    def si(self) -> float:
        """The number in SI (a temperature in K)."""
        return self.value + 273.15 if self.unit == "degC" else self.value * SIZE[self.unit]

    @property
    def half_si(self) -> float:
        """Half width in SI; of the logarithm where the doubt is a share."""
        if self.share:
            return self.half
        return self.half * SIZE[self.doubt_unit or self.unit]

    @property
    def u(self) -> float:
        """Standard uncertainty in SI (of the logarithm for a share)."""
        return self.half_si / (sqrt(3) if self.k is None else self.k)

    def text(self) -> str:
        """As the crew would type it."""
        unit = f" {self.unit}{self.mark}" if self.unit else ""
        if self.half == 0:
            return f"{self.value:.10g}{unit}"
        size = (
            f"{100 * self.half:.6g} %"
            if self.share
            else f"{self.half:.6g} {self.doubt_unit or self.unit}".strip()
        )
        return f"{self.value:.10g}{unit} ± {size}" + (f" (k={self.k:g})" if self.k is not None else "")


class Draws:
    """The dice of one campaign: same seed and name, same number, in any order of asking.

    factors: pattern of names -> factor on the error drawn there; the last pattern that fits counts. {"*": 0.0} makes
    everything as written, {"DP-A.gain": 5.0} breaks one promise.
    """

    def __init__(self, seed: int, factors: Mapping[str, float] | None = None) -> None:
        self.seed = seed
        self.factors = dict(factors or {})
        self.made: dict[str, float] = {}

    def factor(self, name: str) -> float:
        """By how much the promise of this name is stretched."""
        found = 1.0
        for pattern, size in self.factors.items():
            if fnmatchcase(name, pattern):
                found = size
        return found

    def dice(self, name: str) -> np.random.Generator:
        """A generator of its own for this name."""
        return np.random.Generator(np.random.PCG64([self.seed, crc32(name.encode())]))

    def normal(self, name: str, u: float) -> float:
        """An error of standard deviation u."""
        if name not in self.made:
            self.made[name] = float(self.dice(name).normal(0.0, 1.0)) * u * self.factor(name)
        return self.made[name]

    def within(self, name: str, half: float) -> float:
        """An error anywhere between -half and half."""
        if name not in self.made:
            self.made[name] = float(self.dice(name).uniform(-1.0, 1.0)) * half * self.factor(name)
        return self.made[name]

    def true(self, name: str, said: Said) -> float:
        """The true value behind what was written, SI."""
        limits = said.k is None
        error = self.within(name, said.half_si) if limits else self.normal(name, said.u)
        return said.si * exp(error) if said.share else said.si + error
