"""What an effect is given and what it gives: values of an instrument under conditions; terms with their sources."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from headrace.bench.instruments.conditions import Conditions
from headrace.bench.instruments.promise import Promise
from headrace.bench.instruments.zero import Zero
from headrace.records.effects import Effects
from headrace.records.given import Instrument

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One instrument's values (nominal, corrected, zero taken off where there is one) on one occasion."""

    instrument: Instrument
    values: Array
    run: str
    zero: Zero | None
    promise: Promise
    conditions: Conditions

    @property
    def tag(self) -> str:
        """Tag of the instrument."""
        return self.instrument.tag

    @property
    def stated(self) -> Effects:
        """What its data sheet states beside the accuracy."""
        return self.instrument.effects

    @property
    def full(self) -> float:
        """The greater end of its range, SI."""
        return max(abs(self.instrument.low), abs(self.instrument.high))

    @property
    def tared(self) -> bool:
        """Whether a zero was taken off that a value can be in proportion to."""
        return self.zero is not None and self.proportional

    @property
    def nought(self) -> float:
        """What the instrument showed at the zero that was taken off, SI."""
        if self.zero is None:
            return 0.0
        return self.zero.before if self.zero.at_pressure is None else self.zero.at_pressure

    @property
    def proportional(self) -> bool:
        """No share of kelvins: it would depend on their zero."""
        return self.instrument.measures != "temperature"

    @property
    def ones(self) -> Array:
        """The shape of what is the same at every value."""
        return np.ones_like(self.values)

    @property
    def reach(self) -> Array:
        """Where each value lies, as a share of the greater end of the range."""
        return np.abs(self.values) / self.full

    @property
    def bow(self) -> Array:
        """1 at mid-range, 0 at either end."""
        return 4 * self.reach * (1 - self.reach)


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One source of error and what one unit of it does to each value."""

    name: str
    u: float
    dist: str
    scope: str
    origin: str
    shape: Array


class Effect(Protocol):
    """One way in which an instrument errs. It gives nothing where nothing is stated."""

    def __call__(self, case: Case, /) -> Iterator[Term]:
        """Its terms."""
        ...
