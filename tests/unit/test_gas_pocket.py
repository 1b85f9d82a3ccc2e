"""Gas between meter and article: a small model of its own says what it does; the record bounds it, or it is corrected.

The model here is written apart from the code: mass balance of a gas volume between a valve and an orifice, walked
through in small steps.
"""

from dataclasses import replace

import numpy as np
import pytest

from headrace.findings.evidence import GasSeen
from headrace.findings.gas_pocket import find
from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.context import Context, Prepared
from headrace.jobs.reduce.methods import METHODS
from headrace.jobs.reduce.pocket import push
from headrace.jobs.reduce.samples import at_zero
from headrace.notices import Severity
from headrace.records.given import Campaign, RunGiven, Stated, Trace
from headrace.uncertainty.errors_map import Errors
from support import hand_made as made
from support.run_evidence import Scene, only

E = 2.31e-4
BAR = made.BAR
RHO = made.rho_of()
HEAD = RHO * made.G * made.RISE
STEP = 1e-3


def blowdown(volume: float, *, n: float = 1.2, fill: float = 0.0) -> RunGiven:
    """A run with so much gas (at open air) before the article [m3]; fill: empty manifold that fills first [m3].

    The supply falls from 7 to 3.4 bar in 6 s; the valve opens and shuts in 0.1 s.
    """
    time = np.arange(0.0, 13.0, STEP)
    supply = 7 * BAR * np.exp(-0.12 * np.clip(time - 3.0, 0, 6.1))
    valve = np.clip((time - 3.0) / 0.1, 0, 1) * np.clip((9.1 - time) / 0.1, 0, 1) * 6e-4
    gas, p, left = max(volume, 1e-6), made.AMBIENT, fill
    constant = p * gas**n
    into, tap = np.zeros_like(time), np.zeros_like(time)
    for k in range(time.size):
        into[k] = valve[k] * np.sqrt(2 * RHO * max(supply[k] - (p - made.AMBIENT), 0.0))
        if left > 0:  # air goes out through the holes
            left -= into[k] / RHO * STEP
            continue
        tap[k] = p - made.AMBIENT
        out = E * np.sqrt(2 * RHO * (tap[k] + HEAD)) if tap[k] > 0 and time[k] > 3.0 else 0.0
        stiff = n * p / gas * STEP / RHO  # pressure per flow left over in a step
        if volume == 0:  # no gas: in equals out
            drop = (valve[k] ** 2 * supply[k] - E**2 * HEAD) / (valve[k] ** 2 + E**2)
            tap[k] = max(drop, 0.0)
            into[k] = E * np.sqrt(2 * RHO * (tap[k] + HEAD)) if tap[k] > 0 else 0.0
            continue
        p = max(p + stiff * (into[k] - out), made.AMBIENT)
        gas = (constant / p) ** (1 / n)
    every = slice(None, None, 10)
    channels = {"DP-A": made.meter_dp(into, RHO)[every], "PM-OX": tap[every]}
    run = made.metered("W01", E)
    trace = Trace(
        time=time[every], channels=channels, lines=np.arange(time[every].size) + 2, origin=made.ORIGIN
    )
    return replace(run, trace=trace)


def prepared(run: RunGiven, **line: object) -> tuple[Prepared, Context, Campaign]:
    bench = made.bench()
    wide = replace(bench.instruments["DP-A"], high=3 * BAR)
    bench.instruments["DP-A"] = wide  # type: ignore[index]  # a plain dict here
    bench.lines["A"] = replace(bench.lines["A"], **line)  # type: ignore[index, arg-type]  # a plain dict here
    campaign = made.campaign(run, bench=bench)
    context = Context(campaign=campaign, run=run)
    return METHODS[run.method](context, run.flows[0]), context, campaign


def gas_of(one: Prepared) -> GasSeen | None:
    assert one.evidence is not None
    return one.evidence.gas


def off(one: Prepared) -> np.ndarray:
    return one.frozen.ln_area(at_zero(one.frozen.names))[:, 0] - np.log(E)


def test_without_gas_nothing_is_seen_and_nothing_enters() -> None:
    one, _, campaign = prepared(blowdown(0.0))
    assert gas_of(one) is None
    np.testing.assert_allclose(off(one), 0, atol=2e-4)
    assert not [name for name in one.frozen.names if "gas" in name]
    assert not [notice for notice in reduce(campaign).notices if notice.code == "gas-pocket"]


@pytest.mark.parametrize("n", [1.0, 1.2, 1.4])
def test_a_pocket_makes_e_too_small_by_no_more_than_the_bound(n: float) -> None:
    run = blowdown(2e-3, n=n)
    one, context, campaign = prepared(run)
    gas = gas_of(one)
    assert gas is not None
    assert gas.volume == pytest.approx(2e-3, rel=0.35)
    bias = -float(np.mean(off(one)))
    assert bias > 3e-3
    assert gas.bias == pytest.approx(bias, rel=0.35)
    source = context.sources["W01.ox.gas_pocket"]
    assert source.dist == "rectangular"
    assert source.u == pytest.approx(gas.volume / np.sqrt(3))
    notice = only(tuple(one for one in reduce(campaign).notices if one.code == "gas-pocket"))
    assert notice.severity is Severity.DOUBT


def test_one_sided_volumes_spread_as_printed() -> None:
    """Volumes spread evenly from none to the bound: the error of E has the printed u, about the printed value."""
    bound = 2.4e-3
    volumes = bound * (np.arange(10) + 0.5) / 10
    errors = [float(np.mean(off(prepared(blowdown(volume))[0]))) for volume in volumes]
    one, context, _ = prepared(blowdown(bound))
    zero = dict(at_zero(one.frozen.names))
    name = "W01.ox.gas_pocket"
    gas = gas_of(one)
    assert gas is not None
    shape = one.frozen.ln_area(Errors(zero | {name: bound / np.sqrt(3)})) - one.frozen.ln_area(Errors(zero))
    assert np.sqrt(np.mean(np.square(errors))) == pytest.approx(float(np.mean(shape)), rel=0.3)
    assert context.sources[name].u == pytest.approx(bound / np.sqrt(3), rel=0.35)


def test_a_manifold_that_fills_first_is_told_from_gas_by_the_closing() -> None:
    gas = gas_of(prepared(blowdown(2e-3, fill=3e-3))[0])
    assert gas is not None
    assert gas.seen == "closing"
    assert gas.volume == pytest.approx(2e-3, rel=0.35)


def test_stated_gas_is_corrected_and_its_rest_is_a_source() -> None:
    stated = Stated(value=2e-3, u=3e-4, dist="normal", text="2 L ± 0.6 L, k=2")
    run = blowdown(2e-3)
    one, context, campaign = prepared(run, trapped_gas=stated)
    np.testing.assert_allclose(off(one)[1:-1], 0, atol=6e-4)
    assert gas_of(one) is None
    assert "W01.ox.gas_pocket" not in context.sources
    assert context.sources["A.trapped_gas"].scope == "instrument"
    zero = dict(at_zero(one.frozen.names))
    moved = one.frozen.ln_area(Errors(zero | {"A.trapped_gas": 3e-4})) - one.frozen.ln_area(Errors(zero))
    more, _, _ = prepared(run, trapped_gas=replace(stated, value=2.3e-3))
    np.testing.assert_allclose(moved[:, 0], off(more) - off(one), rtol=0.05)
    assert not [notice for notice in reduce(campaign).notices if notice.code == "gas-pocket"]


def test_what_a_pocket_pushes() -> None:
    """p V^n constant: dV/dt by a small step."""
    p, fall, n = 5e5, -4e4, 1.2
    volume = (1e5 / np.array([p, p + fall * 1e-4])) ** (1 / n)
    pushed = push(p_abs=np.array([p]), p_abs_rate=np.array([fall]), p_ambient=1e5, rho=998.0)
    assert pushed[0] == pytest.approx(998.0 * (volume[1] - volume[0]) / 1e-4, rel=1e-4)


def test_the_finding_tells_its_size() -> None:
    assert find(Scene().evidence()) == ()
    scene = Scene().evidence()
    gas = GasSeen(volume=2e-4, u=2e-5, bias=2e-3, bias_most=3e-3, seen="opening")
    stream = replace(scene.streams["ox"], gas=gas)
    small = only(find(replace(scene, streams={"ox": stream})))
    assert small.severity is Severity.INFO
    large = replace(stream, gas=replace(gas, bias=4e-3))
    assert only(find(replace(scene, streams={"ox": large}))).severity is Severity.DOUBT
