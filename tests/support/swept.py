"""Runs whose effective area goes with the drop in a known way, and single values of runs. All invented."""

from collections.abc import Callable
from typing import Any

import numpy as np

from headrace.jobs.reduce.context import Context
from headrace.jobs.reduce.methods import METHODS
from headrace.jobs.reduce.weights import Weighed
from headrace.physics.fluids import fluid
from headrace.records.given import RunGiven
from support import hand_made as made

E = 2.31e-4
WARM = 325.0
BAR = made.BAR


def weighed(name: str, value: float, variance: float, *, noise: float = 0.0) -> Weighed:
    """A run as one value of ln E, all of one day and line."""
    run = made.metered(name, E, line="A")
    one = METHODS[run.method](Context(campaign=made.campaign(run), run=run), run.flows[0])
    return Weighed(prepared=one, within=np.ones(1), value=value, variance=variance, noise=noise)


def re_of(dp: np.ndarray, temp: float) -> np.ndarray:
    """Ideal-velocity Reynolds number on the element's bore, 2 mm."""
    water = fluid("water")
    rho, mu = float(water.rho(temp, 5 * BAR)), float(water.mu(temp, 5 * BAR))
    return np.asarray(2e-3 * np.sqrt(2 * rho * np.maximum(dp, 1.0)) / mu)


def swept(name: str, temp: float, slope: float, **changes: Any) -> RunGiven:
    """E that goes with a power of Reynolds number, E at Re = 1e5."""
    return _run(name, lambda dp: E * (re_of(dp, temp) / 1e5) ** slope, (8.0, 2.0), temp, **changes)


def zeroed(name: str, zero: float, p: tuple[float, float], temp: float = made.WARM) -> RunGiven:
    """A tap that reads too high by `zero` [Pa], whatever its tare says. p [bar]."""
    return _run(name, lambda dp: E * np.sqrt(np.maximum(dp - zero, 0.0) / np.maximum(dp, 1.0)), p, temp)


def cavitating(name: str, onset: float, p: tuple[float, float], temp: float = made.WARM) -> RunGiven:
    """Holes whose E falls with the root of K below an onset; vapour pressure of 17 °C. p [bar]."""

    def area(dp: np.ndarray) -> np.ndarray:
        cav = (made.AMBIENT + dp - 1980.0) / np.maximum(dp, 1.0)
        return np.asarray(E * np.sqrt(np.minimum(cav, onset) / onset))

    return _run(name, area, p, temp)


def flipped(name: str, p: tuple[float, float], *, until: float) -> RunGiven:
    """Holes that run detached until the drop has fallen to `until` [Pa]. p [bar]."""
    return _run(name, lambda dp: np.where(dp > until, 0.75 * E, E), p, made.WARM)


def flat(name: str, p: tuple[float, float], temp: float = made.WARM) -> RunGiven:
    """A constant E. p [bar]."""
    return _run(name, lambda dp: np.full_like(dp, E), p, temp)


def _run(
    name: str,
    area: Callable[[np.ndarray], np.ndarray],
    p: tuple[float, float],
    temp: float,
    **changes: Any,
) -> RunGiven:
    return made.metered(name, area, p=(p[0] * BAR, p[1] * BAR), temp=temp, **changes)
