"""The water of a whole run, by scale or level, as a mass with its terms. Start at `total_mass`."""

import numpy as np

from headrace.bench.instruments import Zero
from headrace.errors import NoAnswer
from headrace.jobs.reduce.context import WATER, Context, Water
from headrace.physics.hydraulics.weighing import weighed_mass
from headrace.records.given import Flow, Total
from headrace.uncertainty.doubted import Doubted, constant
from headrace.uncertainty.source import Source

NET = Zero(before=0.0, after=0.0, u=0.0)
"""A net weight is the difference of two readings: its zero is gone, its gain and linearity are not."""


def total_of(context: Context, flow: Flow) -> Total:
    """The run's total, where it is that of this stream.

    Raises:
        NoAnswer: several streams, or several lines into this one, and no telling whose water it is.
    """
    run = context.run
    if run.total is None:
        raise ValueError(f"run {run.id} lacks its total")  # files demands it
    if run.total.line is None and len(run.flows) > 1:
        raise NoAnswer("its total names no line, and it has several streams")
    if run.total.line is not None and flow.lines != (run.total.line,):
        raise NoAnswer(
            f"its total is the water of line {run.total.line}, and this stream came by {', '.join(flow.lines)}"
        )
    return run.total


def total_mass(context: Context, total: Total, water: Water) -> Doubted:
    """Mass of water [kg], shape (1,): a weighed mass with air buoyancy, or a volume times density."""
    if total.mass is not None:
        shown = total.mass
        factor = float(weighed_mass(shown=1.0, rho=water.rho))
        net = np.array([shown.value])
        if total.instrument is not None:
            net = context.corrected(total.instrument, net) - context.corrected(total.instrument, np.zeros(1))
        mass = constant(net, context.term(_name(context), shown, scope="run", origin="weighed"))
        if total.instrument is not None:
            mass = mass.plus(
                _without_base(context.instrument(total.instrument, np.array([shown.value]), NET))
            )
        return mass.times(factor)
    volume = total_volume(context, total)
    density = Doubted(base=water.density.base * 0, terms=water.density.terms).times(float(volume.base[0]))
    return volume.times(water.rho).plus(density)


def total_volume(context: Context, total: Total) -> Doubted:
    """Volume of water [m3], shape (1,), from level readings or as stated.

    A vessel's section is shared by all its runs.
    """
    stated = total.volume
    if stated is None:
        raise ValueError(f"run {context.run.id} has neither mass nor volume")  # files demands one
    volume = constant(
        stated.value, context.term(_name(context), stated, scope="run", origin="level or volume read")
    )
    if total.vessel is not None and total.section_u_rel > 0:
        source = Source(
            name=f"{total.vessel}.section",
            u=total.section_u_rel,
            dist="rectangular",
            scope="instrument",
            origin=f"cross-section of vessel {total.vessel}",
            group=WATER,
        )
        context.declare(source)
        volume = volume.plus(Doubted(base=np.zeros(1), terms=((source.name, volume.base),)))
    return volume


def volume_of(context: Context, total: Total, water: Water) -> Doubted:
    """Volume of water [m3], whichever way it was measured."""
    if total.volume is not None:
        return total_volume(context, total)
    mass = total_mass(context, total, water)
    density = Doubted(base=water.density.base * 0, terms=water.density.terms)
    return mass.times(1 / water.rho).plus(density.times(-float(mass.base[0]) / water.rho**2))


def _name(context: Context) -> str:
    return f"{context.run.id}.total"


def _without_base(doubted: Doubted) -> Doubted:
    return Doubted(base=np.zeros_like(doubted.base), terms=doubted.terms)
