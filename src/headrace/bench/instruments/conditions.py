"""What held while an instrument was read: the warmth of the day, the line pressure, which way the reading came."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from headrace.records.effects import Logger
from headrace.records.filmed import Filmed
from headrace.records.given import Stated

Array = NDArray[np.float64]

REVERSAL = 0.05
"""Share of span that a reading has to come back before its mechanism is on the other branch. Our choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """Conditions of a run, at nominal. What is None is not known; the effect that needs it says how it does without.

    body_temp: temperature of the instrument's body [K]. p_line: gauge pressure on both sides of a differential cell at
    each value [Pa]. travel: -1 for a value reached from below, +1 from above (`travel`). noise: standard deviation of
    one sample about its course, SI; sweep: how far the values ran in one slice, SI; rest: samples of which its zero was
    taken, SI. moments: names of readings made one by one. film: how it was read off film. loggers: by id.
    """

    body_temp: Stated | None = None
    p_line: Array | None = None
    travel: Array | None = None
    noise: float | None = None
    sweep: float = 0.0
    rest: Array | None = None
    moments: tuple[str, ...] = ()
    film: Filmed | None = None
    loggers: Mapping[str, Logger] = field(default_factory=dict)


PLAIN = Conditions()


def travel(values: Array, *, span: float, peak: float = 0.0) -> Array:
    """Which branch each value of a course lies on: -1 rising from rest, +1 falling from the greatest so far.

    Args:
        values: in the order of time, SI; NaN is passed over.
        span: of the instrument, SI.
        peak: the greatest before them, SI.
    Returns:
        Between -1 and +1; it turns over the first `REVERSAL` of span on the way back.
    """
    reach = np.abs(values)
    greatest = np.fmax.accumulate(np.fmax(reach, abs(peak)))
    back = np.nan_to_num(greatest - reach) / (REVERSAL * span)
    return np.asarray(2 * np.minimum(back, 1.0) - 1)
