"""200 small invented campaigns by the real road: doubts are as large as the errors, intervals hold what they say.

Nothing published is checked here: truths are drawn by the simulator, each from the doubt that the folder states for it.
Once with the step from water to propellant known exactly, once with it drawn from the usual doubt of the element.
"""

from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import binom

from support.recovery import recover

CAMPAIGNS = 200
RMS = (0.85, 1.10)
MEAN = 0.2
HITS = binom.interval(0.999, CAMPAIGNS, 0.95)

METHODS: tuple[tuple[str, ...], ...] = (
    ("metered",),
    ("metered", "weighed"),
    ("metered", "by-hand"),
    ("weighed",),
    ("by-hand",),
    ("metered",),
)


def kind(number: int) -> dict[str, Any]:
    """What the campaign of a number is like: every mixture turns up."""
    methods = METHODS[(number // 6) % 6]
    lines = 1 + (number // 3) % 2
    return {
        "runs": 1 + number % 3,
        "lines": lines,
        "joined": lines == 2 and methods == ("metered",) and number % 2 == 0,
        "certified": (number // 2) % 4 != 0,
        "shared": (number // 5) % 2 == 0,
        "measured_density": (number // 7) % 2 == 0,
        "basis": ("static", "total")[(number // 4) % 2],
        "methods": methods,
        "rate": 25.0,
        "flowing": 5.0,
        "draws": 1000,
    }


@pytest.mark.parametrize("step", [0.0, None], ids=["step-known", "step-drawn"])
def test_errors_are_as_large_as_their_doubts(step: float | None, tmp_path: Path) -> None:
    pulls: dict[str, list[float]] = {}
    hits: Counter[str] = Counter()
    for number in range(CAMPAIGNS):
        found = recover(tmp_path / f"{number}", number, step=step, **kind(number))
        for name in found.truths:
            pulls.setdefault(name, []).append(found.pull(name))
            hits[name] += found.inside(name)
    rms = {name: float(np.sqrt(np.mean(np.square(values)))) for name, values in pulls.items()}
    mean = {name: float(np.mean(values)) for name, values in pulls.items()}
    assert len(rms) == 6
    assert {name: value for name, value in rms.items() if not RMS[0] <= value <= RMS[1]} == {}
    assert {name: value for name, value in mean.items() if abs(value) > MEAN} == {}
    assert {name: hits[name] for name in rms if not HITS[0] <= hits[name] <= HITS[1]} == {}
