"""A table of catch-and-weigh points: every row a catch, E = m / (t sqrt(2 rho dp)); all rows one set-up.

What repeats of a group scatter beyond what their timing, weighing and reading explain is carried as the rows' noise.
Start at `prepare`.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from headrace.bench.instruments import reading_by_eye
from headrace.chain.streams import CaughtStream
from headrace.errors import NoAnswer
from headrace.jobs.reduce.context import (
    WATER,
    Context,
    Prepared,
    SliceNominal,
    Water,
    stream_circuit,
    stream_of,
)
from headrace.jobs.reduce.samples import at_zero
from headrace.jobs.reduce.totals import NET
from headrace.physics.fluids import fluid
from headrace.physics.hydraulics.cavitation import cavitation_number
from headrace.physics.hydraulics.injector import element_re_ideal
from headrace.physics.hydraulics.weighing import weighed_mass
from headrace.records.given import Catches, Flow
from headrace.records.readings import Window
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

SURE = 1.959964
"""Standard deviations of a normal error that hold 95 %: by how much more few repeats are widened."""


def prepare(context: Context, flow: Flow) -> Prepared:
    """Freeze the catches of a run."""
    run, campaign = context.run, context.campaign
    catches = run.catches
    if catches is None:
        raise ValueError(f"run {run.id} by bucket has no catches")  # files demands them
    if flow.p_back is not None:
        raise NoAnswer("a run by bucket against back-pressure is not reduced; read the drop itself")
    circuit, name = stream_circuit(campaign, flow), stream_of(flow)
    instrument = campaign.bench.instruments[flow.p_tap]
    moments = tuple(f"catch {k + 1}" for k in range(catches.mass.size))
    shown = context.corrected(flow.p_tap, catches.indicated)
    over = shown - run.ambient.value if instrument.measures == "abs" else shown
    p_typical = run.ambient.value + max(float(np.median(over)), 0.0)
    water = context.water(catches.temp, catches.thermometer, p_abs=p_typical)
    rho, mu, p_vap = _by_row(water, catches, p_typical)
    density = Doubted(
        base=rho, terms=tuple((key, np.full_like(rho, shape[0])) for key, shape in water.density.terms)
    )
    p_tap = context.tap_pressure(flow, circuit, shown, None, {}, moments)
    eye = [reading_by_eye(instrument, run=run.id, moment=one, division=None) for one in moments]
    p_tap = p_tap.plus(_own(context, [one for one in eye if one is not None], rho.size))
    drop = context.drop(p_tap, water, circuit, np.zeros_like(rho), on_total=False)
    frozen = CaughtStream(
        mass=_mass(context, catches, rho),
        time=_timing(context, catches, moments),
        rho=density,
        drop=drop,
        shared=context.shared(name),
        area_tap=context.area_tap(circuit),
    )
    zero = at_zero(frozen.names)
    dp = frozen.drop.dp(zero, np.zeros((rho.size, 1)))[:, 0]
    if not np.all(dp > 0):
        raise NoAnswer("a catch has no drop: its pressure is not above that of the outlet")
    ends = np.cumsum(catches.duration)
    flows = frozen.mass.base / catches.duration
    re = np.asarray(element_re_ideal(dp=dp, rho=rho, mu=mu, d_element=circuit.bore.value))
    cav = np.asarray(
        cavitation_number(
            p_abs_up=run.ambient.value + dp, p_abs_down=np.full_like(dp, run.ambient.value), p_vapour=p_vap
        )
    )
    noise = scatter_of_repeats(
        frozen.ln_area(zero)[:, 0], catches.group, explained=_explained(context, frozen, dp, moments)
    )
    slices = tuple(
        SliceNominal(
            t=float(ends[k] - catches.duration[k] / 2),
            re=float(re[k]),
            cav=float(cav[k]),
            dp=float(dp[k]),
            m_dot=float(flows[k]),
            noise=noise,
            rows=(k, k),
        )
        for k in range(rho.size)
    )
    return Prepared(
        name=f"{run.id}:{name}",
        run=run.id,
        stream=name,
        state=context.state(flow),
        lines=flow.lines,
        circuit=circuit,
        frozen=frozen,
        slices=slices,
        window=Window(start=0.0, end=float(ends[-1]), chosen="by stopwatch"),
        series=None,
        evidence=None,
    )


def scatter_of_repeats(ln_area: Array, group: NDArray[np.int64], *, explained: float) -> float:
    """Relative standard uncertainty of one catch from the scatter of repeats, without what is accounted for elsewhere.

    Args:
        ln_area: ln E of every catch. group: number of its group of repeats.
        explained: mean variance of one catch by its own timing, weighing and reading.
    Returns:
        The pooled standard deviation within groups beyond what is explained, widened by Student's factor for few
        repeats; 0 without repeats.
    """
    square, dof = 0.0, 0
    for one in np.unique(group):
        values = ln_area[group == one]
        square += float(np.sum((values - values.mean()) ** 2))
        dof += values.size - 1
    if dof == 0:
        return 0.0
    beyond = max(square / dof - explained, 0.0)
    return float(np.sqrt(beyond) * stdtrit(dof, 0.975) / SURE)


def _by_row(water: Water, catches: Catches, p_abs: float) -> tuple[Array, Array, Array]:
    """Density, viscosity and vapour pressure of the water of each catch."""
    if catches.temp is None:
        ones = np.ones_like(catches.mass)
        return water.rho * ones, water.mu * ones, water.p_vap * ones
    one = fluid("water")
    return tuple(  # type: ignore[return-value]  # three of them
        np.array([float(of(temp)) for temp in catches.temp])
        for of in (lambda t: one.rho(t, p_abs), lambda t: one.mu(t, p_abs), one.p_vap)
    )


def _mass(context: Context, catches: Catches, rho: Array) -> Doubted:
    """True masses [kg]: buoyancy of the air, the scale's own error (shared by all catches), its step in weighings."""
    net = Doubted(base=catches.mass)
    if catches.scale is not None:
        scale = context.campaign.bench.instruments[catches.scale]
        net = context.instrument(catches.scale, catches.mass, NET)
        if scale.division is not None:
            net = net.plus(_own(context, [
                Source(name=f"{context.run.id}.{scale.tag}.catch {k + 1}.step", u=scale.division / np.sqrt(6),
                       dist="triangular", scope="run", group=WATER,
                       origin="half a step of the scale in each of two weighings (common practice)")
                for k in range(rho.size)
            ], rho.size))  # fmt: skip
    return net.times(np.asarray(weighed_mass(shown=np.ones_like(rho), rho=rho)))


def _timing(context: Context, catches: Catches, moments: tuple[str, ...]) -> Doubted:
    """Durations [s]: each with its own error of starting and stopping, and what all have in common."""
    run, ones = context.run.id, np.ones_like(catches.duration)
    time = Doubted(base=catches.duration)
    if catches.u_timing > 0:
        time = time.plus(_own(context, [
            Source(name=f"{run}.{one}.timing", u=catches.u_timing, dist="rectangular", scope="run", group=WATER,
                   origin="start and stop of one catch")
            for one in moments
        ], ones.size))  # fmt: skip
    if catches.u_timing_shared > 0:
        common = Source(name=f"{run}.timing", u=catches.u_timing_shared, dist="rectangular", scope="run", group=WATER,
                        origin="what all timings of the run have in common")  # fmt: skip
        context.declare(common)
        time = time.plus(Doubted(base=0 * ones, terms=((common.name, ones),)))
    return time


def _own(context: Context, sources: list[Source], size: int) -> Doubted:
    """Errors of which each acts on one row."""
    context.declare(*sources)
    unit = np.eye(size)
    return Doubted(
        base=np.zeros(size), terms=tuple((source.name, unit[k]) for k, source in enumerate(sources))
    )


def _explained(context: Context, frozen: CaughtStream, dp: Array, moments: tuple[str, ...]) -> float:
    """Mean variance of ln E of one catch by the sources that act on it alone."""
    marks = tuple(f".{one}." for one in moments)
    parts = (
        (frozen.mass, 1 / frozen.mass.base),
        (frozen.time, 1 / frozen.time.base),
        (frozen.drop.p_tap, 0.5 / dp),
    )
    variance = np.zeros(len(moments))
    for doubted, slope in parts:
        for name, shape in doubted.terms:
            if any(mark in name for mark in marks):
                variance += (slope * shape * context.sources[name].u) ** 2
    return float(np.mean(variance))
