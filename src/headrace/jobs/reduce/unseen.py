"""Water that passes the article and not the meter, as sources of error. Start at `gas_seen`, `unseen`."""

import numpy as np
from numpy.typing import NDArray

from headrace.bench.timing import in_turn, timing_sources
from headrace.findings.evidence import GasSeen
from headrace.jobs.reduce.context import WATER, Context, Water
from headrace.jobs.reduce.pocket import Sides, bound
from headrace.jobs.reduce.samples import Metered, Sampled
from headrace.jobs.reduce.signals import Signals
from headrace.jobs.reduce.slices import means
from headrace.records.given import Flow
from headrace.records.readings import Window
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.source import Source

Cuts = tuple[NDArray[np.intp], ...]

U_AREA = 0.01
"""How well E in the window holds while the valve opens and closes, relative. Common practice."""


def gas_seen(
    context: Context,
    flow: Flow,
    metered: Metered,
    signals: Signals,
    water: Water,
    at: Sampled,
    window: Window,
) -> GasSeen | None:
    """The gas that the record leaves room for; None where it tells none, or where the owner stated what there is."""
    if any(line.trapped_gas is not None for line in metered.lines):
        return None
    inside = (signals.time >= window.start) & (signals.time <= window.end) & np.isfinite(at.area)
    if not np.any(inside):
        return None
    with np.errstate(invalid="ignore"):
        m_dot = np.nan_to_num(at.m_dot)
        level = np.where(at.p_tap > 0, np.maximum(at.dp, 0.0), 0.0)
        through = float(np.median(at.area[inside])) * np.sqrt(2 * water.rho * level)
    share = context.campaign.defaults.lag
    instruments = context.campaign.bench.instruments
    skews = {} if context.run.trace is None else context.run.trace.skews
    times = [
        source.u
        for tag in (*metered.tags, flow.p_tap)
        for part in instruments[tag].parts or (tag,)
        for source in timing_sources(in_turn(instruments[part], skews), share=share)
    ]
    sides = Sides(
        time=signals.time,
        p_abs=at.p_out + at.p_tap,
        m_dot=m_dot,
        through=np.where(np.isfinite(through), through, 0.0),
        p_ambient=context.run.ambient.value,
        rho=water.rho,
        u_time=float(np.linalg.norm(times)) if times else 0.0,
        u_rel=U_AREA,
    )
    return bound(sides, pushed=at.pushed, on=signals.on, window=(window.start, window.end))


def unseen(
    context: Context, metered: Metered, at: Sampled, cuts: Cuts, gas: GasSeen | None, stream: str
) -> Doubted | None:
    """Terms of gas behind the meters, in ln E: as stated with its doubt, or within the bound that the record sets.

    A bound is one-sided: the gas pushes water out while the pressure falls and never in, so E is not below what was
    found, and above it by no more than the bound. Nothing is corrected; limits of plus and minus the whole bound have
    the mean square about the printed value that one-sided limits have.
    """
    if not cuts:
        return None
    pushed = means(np.nan_to_num(at.pushed), cuts)
    flow = means(np.nan_to_num(at.m_dot), cuts)
    stated = sum(line.trapped_gas.value for line in metered.lines if line.trapped_gas is not None)
    shape = pushed / (flow + stated * pushed)
    terms = []
    for line in metered.lines:
        if line.trapped_gas is not None and line.trapped_gas.u > 0:
            source = Source(
                name=f"{line.id}.trapped_gas",
                u=line.trapped_gas.u,
                dist=line.trapped_gas.dist,
                scope="instrument",
                origin=line.trapped_gas.origin or "trapped gas as stated",
                group=WATER,
            )
            terms.append((source, shape))
    if gas is not None:
        source = Source(
            name=f"{context.run.id}.{stream}.gas_pocket",
            u=gas.volume / float(np.sqrt(3)),
            dist="rectangular",
            scope="run",
            origin=f"gas between meter and injector, within what the {gas.seen} leaves room for",
            group=WATER,
        )
        terms.append((source, shape))
    context.declare(*(source for source, _ in terms))
    found = tuple((source.name, values) for source, values in terms)
    return Doubted(base=np.zeros(len(cuts)), terms=found) if found else None
