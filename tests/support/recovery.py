"""One invented campaign by the real road, held against its truth: how far off, in standard uncertainties.

The road is folder, reader, reduction, balance; the truth comes from the simulator, which shares no physics with it.
"""

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from headrace.demo.simulator.campaign import Truth
from headrace.files.folder import read
from headrace.jobs.balance import predict, setpoints
from headrace.jobs.reduce import reduce
from headrace.records.answers import Answer, Estimate
from support.mini import write_mini

SIDES = ("ox", "fuel")


@dataclass(frozen=True, slots=True, kw_only=True)
class Recovered:
    """Estimates and truths by name: "area_eff.ox", "tanks.ox", "p_chamber", "of_ratio", ..."""

    estimates: Mapping[str, Estimate]
    truths: Mapping[str, float]

    def pull(self, name: str) -> float:
        """Estimate minus truth in standard uncertainties."""
        found = self.estimates[name]
        return (found.value - self.truths[name]) / found.u

    def off(self, name: str) -> float:
        """Estimate over truth, minus 1."""
        return self.estimates[name].value / self.truths[name] - 1

    def inside(self, name: str) -> bool:
        """Whether the stated interval holds the truth."""
        found = self.estimates[name]
        return found.low <= self.truths[name] <= found.high


def recover(directory: Path, seed: int, **knobs: Any) -> Recovered:
    """Write a small campaign, forget its truth, find it again, compare. The folder is gone afterwards."""
    truth = write_mini(directory, seed, **knobs)
    campaign = read(directory)
    reduced = reduce(campaign)
    assert campaign.engine is not None
    design = campaign.engine.design
    assert design.of_ratio is not None
    answer = setpoints(campaign, reduced, p_chamber=design.p_chamber, m_dot=None, of_ratio=design.of_ratio)
    estimates = {f"area_eff.{side}": reduced.characteristics[side].area_eff for side in SIDES}
    truths = {f"area_eff.{side}": truth.area_eff[side] for side in SIDES}
    _join(estimates, truths, answer, truth)
    shutil.rmtree(directory)
    return Recovered(estimates=estimates, truths=truths)


def _join(estimates: dict[str, Estimate], truths: dict[str, float], answer: Answer, truth: Truth) -> None:
    """Set points against those truly needed, and what comes of setting them on the stand's gauges."""
    pair = {side: answer.values[f"tanks.{side}"].value for side in SIDES}
    seen = truth.predicted(pair)
    estimates.update({f"tanks.{side}": answer.values[f"tanks.{side}"] for side in SIDES})
    truths.update({f"tanks.{side}": value for side, value in truth.setpoints().items()})
    for name in ("p_chamber", "of_ratio"):
        estimates[name], truths[name] = answer.values[name], seen[name]


def predicted(directory: Path, seed: int, tanks: Mapping[str, float], **knobs: Any) -> Recovered:
    """The same for given tank pressures [Pa gauge]: chamber pressure, O/F and flows."""
    truth = write_mini(directory, seed, **knobs)
    campaign = read(directory)
    answer = predict(campaign, reduce(campaign), tanks=tanks)
    seen = truth.predicted(tanks)
    shutil.rmtree(directory)
    return Recovered(estimates={name: answer.values[name] for name in seen}, truths=seen)
