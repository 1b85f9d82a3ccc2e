"""Meter against scale or level: value and doubt in closed form; what both share cancels."""

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest

from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.closure import ClosureModel
from headrace.jobs.reduce.context import Context
from headrace.jobs.reduce.methods import METHODS
from headrace.records.given import Campaign, RunGiven, Stated, Total
from headrace.records.readings import Closure
from headrace.uncertainty.doubted import constant
from headrace.uncertainty.errors_map import Errors
from support import hand_made as made

E, BAR = 2.31e-4, made.BAR
RHO = made.rho_of(made.WARM, made.AMBIENT + 4.5 * BAR)
BUOYANCY = (1 - 1.2 / 8000) / (1 - 1.2 / RHO)
MASS = float(np.trapezoid(made.flow_of(E, made.p_fall(6 * BAR, 3 * BAR), RHO), made.TIME))


def with_total(run: RunGiven, **total: object) -> RunGiven:
    return replace(run, total=Total(**total))  # type: ignore[arg-type]  # by name


def closure(*runs: RunGiven, **changes: object) -> Closure:
    found = reduce(made.campaign(*runs, **changes)).runs[runs[0].id].closure
    assert found is not None
    return found


def joined() -> RunGiven:
    """Three tenths of the water by line A, the rest by B."""
    run = made.metered("W01", E)
    assert run.trace is not None
    whole = run.trace.channels["DP-A"]
    channels = {"PM-OX": run.trace.channels["PM-OX"], "DP-A": 0.09 * whole, "DP-B": 0.49 * whole}
    return replace(run, trace=made.trace(channels), flows=(replace(run.flows[0], lines=("A", "B")),))


def test_the_meter_over_the_scale_less_one() -> None:
    shown = 1.01 * MASS / BUOYANCY
    found = closure(with_total(made.metered("W01", E), mass=Stated(value=shown, u=0.1)))
    assert found.metered == pytest.approx(MASS, rel=1e-5)
    assert found.witnessed == pytest.approx(1.01 * MASS, rel=1e-6)
    assert found.ratio.value == pytest.approx(1 / 1.01 - 1, rel=1e-3)
    assert found.witness == "scale"


def test_noise_at_rest_is_no_water() -> None:
    plain = made.metered("W01", E)
    assert plain.trace is not None
    found = []
    for seed in range(12):
        noise = np.random.default_rng(seed).normal(0.0, 100.0, made.TIME.size)  # of a cell of 1.6 bar
        channels = plain.trace.channels | {"DP-A": plain.trace.channels["DP-A"] + noise}
        run = with_total(
            replace(plain, trace=made.trace(channels)), mass=Stated(value=MASS / BUOYANCY, u=0.1)
        )
        found.append(closure(run).ratio.value)
    # as water it would be 1 s of the flow at 100 Pa in 6 s of flow: more than 2e-3
    assert float(np.mean(found)) == pytest.approx(0.0, abs=6e-4)


def test_its_doubt_is_meter_and_scale_together() -> None:
    run = with_total(made.metered("W01", E), mass=Stated(value=MASS / BUOYANCY, u=0.1, dist="normal"))
    bench = made.bench()
    exact = {"d_pipe": Stated(value=made.D_PIPE), "d_throat": Stated(value=made.D_THROAT)}
    bench.meters["FV-A"] = made.meter("A", values={**exact, "c": Stated(value=made.C, u=0.004 * made.C)})  # type: ignore[index]  # a plain dict here
    bench.instruments["DP-A"] = made.instrument(
        "DP-A", "drop", 1.6 * BAR, accuracy=made.Accuracy(of_reading=0.002)
    )  # type: ignore[index]  # a plain dict here
    defaults = replace(made.campaign().defaults, water_density=0.0)
    found = closure(run, bench=bench, defaults=defaults)
    expected = sqrt(0.004**2 + (0.5 * 0.002) ** 2 + (0.1 / MASS) ** 2)
    assert found.ratio.u == pytest.approx(expected, rel=2e-3)
    assert found.ratio.high - found.ratio.low == pytest.approx(2 * 1.96 * expected, rel=5e-3)


def test_what_meter_and_level_share_cancels() -> None:
    """Density: all of it in a volume, half in the meter; half is left."""
    run = with_total(made.metered("W01", E), volume=Stated(value=MASS / RHO))
    wide = replace(made.campaign().defaults, water_density=0.05)
    narrow = replace(made.campaign().defaults, water_density=0.0)
    u_density = sqrt(closure(run, defaults=wide).ratio.u ** 2 - closure(run, defaults=narrow).ratio.u ** 2)
    assert u_density == pytest.approx(0.025, rel=1e-2)
    assert closure(run).witness == "level or volume"


def test_a_reference_behind_meter_and_scale_cancels() -> None:
    run = with_total(made.metered("W01", E), mass=Stated(value=MASS / BUOYANCY), instrument="SCALE")
    given = made.certified(made.campaign(run), ["DP-A", "SCALE"])
    given.references["REF"] = replace(given.references["REF"], of_reading=0.05)  # type: ignore[index]  # a plain dict here
    given.bench.meters["FV-A"] = made.meter("A", certificate="C-DP-A")  # type: ignore[index]  # a plain dict here

    def u(campaign: Campaign) -> float:
        found = reduce(campaign).runs["W01"].closure
        assert found is not None
        return found.ratio.u

    # relative: meter 1, its drop 1/2, scale -1: a half is left of 5 %, and nothing else is near it
    assert u(given) == pytest.approx(0.025, rel=2e-2)


def test_the_total_of_one_line_witnesses_that_line_alone() -> None:
    run = with_total(joined(), mass=Stated(value=0.3 * MASS / BUOYANCY, u=0.01), line="A")
    found = closure(run)
    assert found.metered == pytest.approx(0.3 * MASS, rel=1e-5)
    assert found.ratio.value == pytest.approx(0.0, abs=2e-5)
    other = closure(with_total(joined(), mass=Stated(value=0.7 * MASS / BUOYANCY, u=0.01), line="B"))
    assert other.ratio.value == pytest.approx(0.0, abs=2e-5)
    both = closure(with_total(joined(), mass=Stated(value=MASS / BUOYANCY, u=0.01)))
    assert both.ratio.value == pytest.approx(0.0, abs=2e-5)


def test_a_total_that_may_be_of_either_stream_witnesses_neither() -> None:
    run = made.metered("W01", E)
    assert run.trace is not None
    dp, tap = run.trace.channels["DP-A"], run.trace.channels["PM-OX"]
    second = replace(run.flows[0], circuits=("fuel",), lines=("B",), p_tap="PM-FUEL")
    two = replace(
        run,
        trace=made.trace({"DP-A": dp, "PM-OX": tap, "DP-B": dp, "PM-FUEL": tap}),
        flows=(*run.flows, second),
    )
    unsaid = with_total(two, mass=Stated(value=2 * MASS, u=0.1))
    assert reduce(made.campaign(unsaid)).runs["W01"].closure is None
    said = closure(with_total(two, mass=Stated(value=MASS / BUOYANCY, u=0.1), line="B"))
    assert said.ratio.value == pytest.approx(0.0, abs=2e-5)
    elsewhere = with_total(made.metered("W01", E), mass=Stated(value=MASS, u=0.1), line="B")
    assert reduce(made.campaign(elsewhere)).runs["W01"].closure is None
    assert reduce(made.campaign(made.metered("W01", E))).runs["W01"].closure is None


@pytest.mark.parametrize("method", ["weighed", "by-hand"])
def test_a_total_without_its_stream_gives_no_area(method: str) -> None:
    total = Total(volume=Stated(value=0.06, u=1e-4), duration=Stated(value=9.5, u=0.1))
    if method == "weighed":
        run = made.run(
            "W01", "weighed", trace=made.trace({"PM-OX": made.p_fall(6 * BAR, 3 * BAR)}), total=total
        )
    else:
        run = made.by_hand("W01", start=8 * BAR, end=6 * BAR, volume=0.06, time=9.5)
    second = replace(run.flows[0], circuits=("fuel",), lines=("B",))
    stops = reduce(made.campaign(replace(run, flows=(*run.flows, second)))).notices
    assert sum(one.code == "run-not-reduced" and "no line" in one.text for one in stops) >= 1
    wrong = replace(run, total=replace(total, line="B"))
    (stop,) = [one for one in reduce(made.campaign(wrong)).notices if one.code == "run-not-reduced"]
    assert "line B" in stop.text


def test_the_model_scales_the_metered_mass_by_what_the_errors_do_to_the_slices() -> None:
    run = made.metered("W01", E)
    frozen = METHODS["metered"](Context(campaign=made.campaign(run), run=run), run.flows[0]).frozen
    model = ClosureModel(meters=frozen.meters, scale=50.0, mass=constant(49.0, (("m", 1.0),)))  # type: ignore[attr-defined]  # metered
    zero = dict.fromkeys((*frozen.names, "m"), 0.0)
    meter = np.ravel(model(Errors({**zero, "FV-A.c": 0.02}))["closure"])
    np.testing.assert_allclose(meter, 50 * 1.02 / 49 - 1, rtol=1e-12)
    scale = np.ravel(model(Errors({**zero, "m": 1.0}))["closure"])
    np.testing.assert_allclose(scale, 0.0, atol=1e-12)


def test_a_neighbour_that_only_flows_along_makes_the_weighed_area_one_of_both_together() -> None:
    total = Total(mass=Stated(value=MASS / BUOYANCY, u=0.02), line="A")
    run = made.run("W01", "weighed", trace=made.trace({"PM-OX": made.p_fall(6 * BAR, 3 * BAR)}), total=total)
    second = replace(run.flows[0], circuits=("fuel",), lines=("B",), p_tap="PM-FUEL")
    reduced = reduce(made.campaign(replace(run, flows=(*run.flows, second))))
    assert reduced.characteristics["ox (together)"].area_eff.value == pytest.approx(E, rel=1e-5)
    assert set(reduced.characteristics) == {"ox (together)"}
    told = {one.code: one.severity for one in reduced.notices}
    assert told["stream-not-measured"] == "info"
    assert "run-not-reduced" not in told
