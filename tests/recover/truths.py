"""Small invented campaigns, reduced and balanced as a user would, beside what is true of them.

`truths_and_estimates` is what the recovery tests judge: for every quantity the truth, the estimate and its standard
uncertainty, one row per campaign. `judged` turns that into the mean and the rms of (estimate - truth)/u.
"""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from headrace.files import folder
from headrace.jobs.balance.solve import predict, setpoints
from headrace.jobs.reduce import reduce
from support.mini import write_mini

TANKS = {"ox": 23.9e5, "fuel": 24.4e5}
"""What the stand's gauges show for the forward balance, the same in every campaign [Pa gauge]."""

Rows = dict[str, NDArray[np.float64]]


def truths_and_estimates(
    directory: Path, seeds: Iterable[int], *, balance: bool = True, **knobs: Any
) -> Rows:
    """Per quantity an array (campaigns, 3): truth, estimate, standard uncertainty.

    Args:
        directory: a scratch folder. seeds: one campaign each. balance: False stops at the effective areas.
        knobs: as of `support.mini.mini_plan`.
    Returns:
        "area_eff.ox", "area_eff.fuel", and with `balance` "p_chamber", "of_ratio" at `TANKS`, and the required
        "tanks.ox", "tanks.fuel" at the design point.
    """
    rows: dict[str, list[tuple[float, float, float]]] = {}
    for seed in seeds:
        for name, row in _one(directory / f"{seed}", seed, balance, knobs).items():
            rows.setdefault(name, []).append(row)
    return {name: np.array(found) for name, found in rows.items()}


def _one(
    directory: Path, seed: int, balance: bool, knobs: Mapping[str, Any]
) -> dict[str, tuple[float, float, float]]:
    truth = write_mini(directory, seed, **knobs)
    campaign = folder.read(directory)
    reduced = reduce(campaign)
    out = {}
    for found in reduced.characteristics.values():
        area = found.area_eff
        out[f"area_eff.{found.stream}"] = (truth.area_eff[found.stream], area.value, area.u)
    if not balance:
        return out
    needed = setpoints(
        campaign, reduced, p_chamber=truth.p_chamber, m_dot=None, of_ratio=truth.of_ratio
    ).values
    for side, p_gauge in truth.setpoints().items():
        found_tank = needed[f"tanks.{side}"]
        out[f"tanks.{side}"] = (p_gauge, found_tank.value, found_tank.u)
    seen, comes = predict(campaign, reduced, tanks=TANKS).values, truth.predicted(TANKS)
    for name in ("p_chamber", "of_ratio"):
        out[name] = (comes[name], seen[name].value, seen[name].u)
    return out


def judged(rows: Rows) -> dict[str, tuple[float, float]]:
    """Mean and rms of (estimate - truth)/u, by quantity."""
    scores = {name: (found[:, 1] - found[:, 0]) / found[:, 2] for name, found in rows.items()}
    return {name: (float(z.mean()), float(np.sqrt(np.mean(z**2)))) for name, z in scores.items()}
