"""The demo's chain in blocks of draws, against the same chain draw by draw with brentq for the chamber pressure."""

import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from math import sqrt
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

import numpy as np
from scipy.optimize import brentq

from headrace.chain.engine import Backward, State
from headrace.demo import scenario
from headrace.files.folder import read
from headrace.jobs.balance import freeze_setpoints, setpoints
from headrace.jobs.reduce import reduce
from headrace.uncertainty.draws import block_errors
from headrace.uncertainty.errors_map import Errors, evaluate
from headrace.uncertainty.monte_carlo import BLOCK, monte_carlo
from headrace.uncertainty.source import Source

DRAWS = 100_000
SINGLY = 200
"""Draws that are made one at a time."""

ROUNDS = 5
LEAST_RATIO = 25.0
OUTPUTS = ("tanks.ox", "tanks.fuel", "as_set.p_chamber", "as_set.of_ratio")


@dataclass(frozen=True, kw_only=True)
class Demo:
    """The demo's set points, frozen; and how long it took to get there [s]."""

    model: Backward
    sources: tuple[Source, ...]
    seconds: dict[str, float]


def demo() -> Demo:
    """Write, read, reduce, answer (once, whole) and freeze."""
    seconds: dict[str, float] = {}
    with TemporaryDirectory() as folder:
        scenario.write(Path(folder))
        start = time.perf_counter()
        campaign = read(Path(folder))
        seconds["read"] = time.perf_counter() - start
    start = time.perf_counter()
    reduced = reduce(campaign)
    seconds["reduce"] = time.perf_counter() - start
    if campaign.engine is None or campaign.engine.design.of_ratio is None:
        raise ValueError("the demo has an engine with a design point")
    design = campaign.engine.design
    point = {"p_chamber": design.p_chamber, "m_dot": design.m_dot, "of_ratio": design.of_ratio}
    start = time.perf_counter()
    setpoints(campaign, reduced, **point)
    seconds["set points, whole answer"] = time.perf_counter() - start
    model, builder = freeze_setpoints(campaign, reduced, **point)
    return Demo(model=model, sources=builder.all_sources(model.water), seconds=seconds)


def one_draw(model: Backward, errors: Errors) -> tuple[float, float, float, float]:
    """OUTPUTS for one draw: slices of numpy, plain numbers in the engine, brentq for the chamber pressure."""
    ln_re = {circuit.key: circuit.ln_re for side in model.balance.sides for circuit in side.circuits}
    state = model.balance.state(errors, model.water.ln_areas(errors, ln_re))
    p_ambient = float(np.asarray(model.ambient + errors["stand.barometer"]).item())
    _, _, tanks = state.backward(p_chamber=model.p_chamber, m_dot=model.m_dot, ratio=model.of_ratio)
    p, ratio = _chamber(model, state, errors, p_ambient)
    return tanks[0].item() - p_ambient, tanks[1].item() - p_ambient, p, ratio


def _chamber(model: Backward, state: State, errors: Errors, p_ambient: float) -> tuple[float, float]:
    p_tank = model.as_set.true_tanks(errors, np.array([p_ambient]))
    rho = state.rho(p_tank)
    push = [one.item() for one in state.push(p_tank, rho)]
    throat, stretch, table = state.chamber.throat.item(), state.chamber.stretch.item(), state.chamber.table
    sides = []
    for side, r in zip(state.sides, rho, strict=True):
        feed, area_feed = side.side.feed, side.feed_area
        if area_feed is None:
            raise ValueError("the demo's feeds have losses")
        at_one = feed.re_per / side.side.mu / feed.re_stated
        sides.append((side.area.item() ** -2, area_feed.item() ** -2, feed.friction, at_one, 2 * r.item()))
    flows = list(model.balance.m_start)

    def excess(p: float) -> float:
        for k, (injector, line, friction, at_one, two_rho) in enumerate(sides):
            for _ in range(4):  # from the flow at the pressure before
                loss = injector + line * (1 - friction + friction * (at_one * flows[k]) ** -0.25)
                flows[k] = sqrt((push[k] - p) * two_rho / loss)
        c_star = float(table.at(of_ratio=flows[0] / flows[1], p_chamber=p)) * stretch
        return p * throat - c_star * (flows[0] + flows[1])

    near = model.balance.p_start
    p = float(brentq(excess, 0.7 * near, min(1.3 * near, 0.98 * min(push)), xtol=1e-4, rtol=1e-12))
    excess(p)
    return p, flows[0] / flows[1]


def singles(model: Backward, drawn: dict[str, np.ndarray], count: int) -> Iterator[tuple[float, ...]]:
    """The first draws of a block, one at a time."""
    for k in range(count):
        yield one_draw(model, Errors({name: values[k : k + 1] for name, values in drawn.items()}))


def judged(chain: Demo) -> tuple[float, list[str]]:
    """Times per draw in turns, their ratio; and lines that tell. Refuses to time two chains that differ."""
    drawn = block_errors(chain.sources, 1, 0, BLOCK)
    together = evaluate(chain.model, drawn, BLOCK, OUTPUTS)
    by_block, by_draw = [], []
    for number in range(ROUNDS):
        start = time.perf_counter()
        evaluate(chain.model, block_errors(chain.sources, 1, number, BLOCK), BLOCK, OUTPUTS)
        by_block.append((time.perf_counter() - start) / BLOCK)
        start = time.perf_counter()
        apart = list(singles(chain.model, drawn, SINGLY))
        by_draw.append((time.perf_counter() - start) / SINGLY)
        for name, column in zip(OUTPUTS, np.array(apart).T, strict=True):
            np.testing.assert_allclose(column, together[name][:SINGLY], rtol=1e-8, err_msg=name)
    ratio = median(by_draw) / median(by_block)
    return ratio, [
        f"  a draw in blocks of {BLOCK}, drawing included: {1e6 * median(by_block):9.2f} us",
        f"  a draw alone, brentq, drawing not counted:  {1e6 * median(by_draw):9.2f} us",
    ]


def whole_runs(chain: Demo) -> list[str]:
    """Seconds for all draws, here and in two processes (started before)."""
    start = time.perf_counter()
    alone = monte_carlo(chain.model, chain.sources, draws=DRAWS, outputs=OUTPUTS)
    one = time.perf_counter() - start
    with ProcessPoolExecutor(2) as pool:
        monte_carlo(
            chain.model, chain.sources, draws=4 * BLOCK, executor=pool, outputs=OUTPUTS
        )  # workers import
        start = time.perf_counter()
        shared = monte_carlo(chain.model, chain.sources, draws=DRAWS, executor=pool, outputs=OUTPUTS)
        two = time.perf_counter() - start
    for name in OUTPUTS:
        np.testing.assert_array_equal(alone.samples[name], shared.samples[name])
    return [
        f"  {DRAWS} draws of the set points, one process:    {one:7.3f} s",
        f"  {DRAWS} draws of the set points, two processes:  {two:7.3f} s",
    ]
