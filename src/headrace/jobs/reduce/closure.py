"""Does the meter agree with the level or the scale? The water of a whole run by two witnesses.

Start at `closure_of`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from headrace.chain.streams import MeterAtWork, MeteredStream
from headrace.jobs.reduce.context import Context, Water
from headrace.jobs.reduce.samples import Sampled
from headrace.jobs.reduce.signals import Signals
from headrace.jobs.reduce.totals import total_mass
from headrace.records.answers import Estimate
from headrace.records.given import Flow
from headrace.records.readings import Closure
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.errors_map import Errors, Values
from headrace.uncertainty.gum import gum

Array = NDArray[np.float64]

AROUND = 0.5
"""Seconds before and after the flow that are counted too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureModel:
    """Metered over witnessed mass, less 1, under errors: sources that both share cancel by themselves."""

    meters: tuple[MeterAtWork, ...]
    scale: float  # metered mass at nominal [kg]
    mass: Doubted

    def __call__(self, errors: Errors) -> dict[str, Values]:
        """ "closure": metered / witnessed - 1."""
        flow = sum(np.sum(meter.m_dot(errors), axis=0) for meter in self.meters)
        nought = Errors(dict.fromkeys(errors, 0.0))
        reference = sum(np.sum(meter.m_dot(nought), axis=0) for meter in self.meters)
        return {"closure": self.scale * flow / reference / self.mass.at(errors)[0] - 1}


def closure_of(
    context: Context, flow: Flow, frozen: MeteredStream, signals: Signals, at: Sampled, water: Water
) -> Closure | None:
    """Closure of a metered stream, or of one line of it, with the run's total.

    None when the run has no second witness for these lines, or does not say of which of its streams it is.
    """
    total = context.run.total
    model = closing(context, flow, frozen, signals, at, water)
    if model is None or total is None:
        return None
    result = gum(model, tuple(context.sources.values()))
    low, high = result.interval("closure")
    return Closure(
        ratio=Estimate(
            value=result.nominal["closure"],
            u=result.u["closure"],
            low=low,
            high=high,
            unit="1",
            dof=result.dof["closure"],
        ),
        metered=model.scale,
        witnessed=float(model.mass.base[0]),
        witness="scale" if total.mass is not None else "level or volume",
    )


def closing(
    context: Context, flow: Flow, frozen: MeteredStream, signals: Signals, at: Sampled, water: Water
) -> ClosureModel | None:
    """The model behind `closure_of`; None as there."""
    total = context.run.total
    if total is None or (total.line is None and len(context.run.flows) > 1):
        return None
    if total.line is not None and total.line not in flow.lines:
        return None
    lines = flow.lines if total.line is None else (total.line,)
    meters = tuple(meter for line, meter in zip(flow.lines, frozen.meters, strict=True) if line in lines)
    m_dot = np.sum([at.signed_by_line[line] for line in lines], axis=0)  # noise at rest is no water
    around = (signals.time >= signals.on[0] - AROUND) & (signals.time <= signals.on[1] + AROUND)
    good = around & np.isfinite(m_dot)
    metered = float(np.trapezoid(m_dot[good], signals.time[good]))
    mass = total_mass(context, total, water)
    return ClosureModel(meters=meters, scale=metered, mass=mass)
