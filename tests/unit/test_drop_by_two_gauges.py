"""A drop as the difference of two gauges: what it costs, what a common zero saves, what cancels by its name."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from headrace.bench.pairs import pair_of, pair_tag
from headrace.findings import RUN_FINDINGS
from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.at_slices import _since
from headrace.jobs.reduce.context import Context, Prepared
from headrace.jobs.reduce.methods import METHODS
from headrace.jobs.reduce.samples import at_zero
from headrace.notices import Severity
from headrace.records.given import Accuracy, Bench, Campaign, RunGiven, Stated
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.errors_map import Errors
from support import hand_made as made

E = 2.31e-4
BAR = made.BAR
TAG = pair_tag("PH", "PL")
CLASS = Accuracy(of_span=2.5e-3 / 3**0.5, text="0.25 % FS")


def bench(*, high: str = "gauge", low: str = "gauge", **changes: Any) -> Bench:
    """Line A's meter read by two gauges of 0.25 % of 40 bar."""
    one = made.bench()
    parts = {
        "PH": made.instrument("PH", high, 40 * BAR, accuracy=CLASS, **changes),
        "PL": made.instrument("PL", low, 40 * BAR, accuracy=CLASS, **changes),
    }
    held = {**one.instruments, **parts, TAG: pair_of(parts["PH"], parts["PL"])}
    meter = replace(one.meters["FV-A"], instruments={"dp": TAG, "p_up": "PH"})
    return replace(one, instruments=held, meters={**one.meters, "FV-A": meter})


def run_of(
    *,
    at_rest: float = 0.0,
    falls: tuple[float, float] = (9 * BAR, 5 * BAR),
    zero: bool = True,
    **changes: Any,
) -> RunGiven:
    """A run whose line stands at `at_rest` before and after and falls while water flows."""
    run = made.metered("W01", E)
    assert run.trace is not None
    line = at_rest + made.p_fall(falls[0] - at_rest, falls[1] - at_rest)
    line = np.where(made.FLOWING, made.p_fall(*falls), at_rest)
    low = line - run.trace.channels["DP-A"]
    channels = {"PH": line, "PL": low, "PM-OX": run.trace.channels["PM-OX"]}
    if not zero:
        channels = {tag: np.where(made.TIME < 2.85, np.nan, values) for tag, values in channels.items()}
    return replace(run, trace=made.trace(channels), **changes)


def prepared(run: RunGiven, campaign: Campaign) -> tuple[Prepared, Context]:
    context = Context(campaign=campaign, run=run)
    return METHODS[run.method](context, run.flows[0]), context


def nominal(one: Prepared) -> np.ndarray:
    return np.exp(one.frozen.ln_area(at_zero(one.frozen.names))[:, 0])


def doubt(one: Prepared, context: Context, *tags: str) -> np.ndarray:
    """Of ln E, slice by slice, by the sources of these instruments alone."""
    zero = dict(at_zero(one.frozen.names))
    at = one.frozen.ln_area(Errors(zero))[:, 0]
    rows = [
        one.frozen.ln_area(Errors(zero | {name: context.sources[name].u}))[:, 0] - at
        for name in one.frozen.names
        if name.split(".")[0] in tags or name == f"W01.{TAG}.tare"
    ]
    return np.asarray(np.linalg.norm(rows, axis=0))


@pytest.mark.parametrize(
    ("high", "low"), [("gauge", "gauge"), ("abs", "abs"), ("abs", "gauge"), ("gauge", "abs")]
)
@pytest.mark.parametrize("zero", [True, False])
def test_it_gives_back_its_area_whatever_the_kinds(high: str, low: str, zero: bool) -> None:
    run = run_of(zero=zero)
    assert run.trace is not None
    channels = dict(run.trace.channels)
    for tag, kind in (("PH", high), ("PL", low)):
        channels[tag] = channels[tag] + (made.AMBIENT if kind == "abs" else 0.0)
    run = replace(run, trace=made.trace(channels))
    one, context = prepared(run, made.campaign(run, bench=bench(high=high, low=low)))
    np.testing.assert_allclose(nominal(one), E, rtol=1e-5)
    assert (TAG in one.zeros) is zero
    mixed = one.frozen.meters[0].signal.names.count("barometer")  # type: ignore[union-attr]  # a metered stream
    assert mixed == (1 if high != low and not zero else 0)
    assert context.sources


def test_two_of_a_quarter_per_cent_of_40_bar_on_0_9_bar_cost_4_5_per_cent_of_flow() -> None:
    """Identity: u = sqrt(2) 0.25 % 40 bar / sqrt(3) on 0.9 bar, half of it in flow (no common zero)."""
    run = run_of(zero=False)
    one, context = prepared(run, made.campaign(run, bench=bench()))
    signal = one.frozen.meters[0].signal  # type: ignore[union-attr]  # a metered stream
    size = np.sqrt(sum((shape * context.sources[name].u) ** 2 for name, shape in signal.terms))
    np.testing.assert_allclose(0.5 * size / (0.9 * BAR), 0.0454, atol=5e-5)
    np.testing.assert_allclose(doubt(one, context, "PH", "PL"), 0.0454 * 0.9 * BAR / signal.base, rtol=0.02)


def test_a_common_zero_under_pressure_leaves_what_changed_since() -> None:
    """Gain: class in proportion to the change of reading since the zero, once for each gauge."""
    falls = (9 * BAR, 8 * BAR)
    run = run_of(at_rest=9 * BAR, falls=falls)
    one, context = prepared(run, made.campaign(run, bench=bench()))
    np.testing.assert_allclose(nominal(one), E, rtol=1e-5)
    signal = one.frozen.meters[0].signal  # type: ignore[union-attr]  # a metered stream
    shapes = dict(signal.terms)
    high = np.interp([one.slices[0].t], made.TIME, np.where(made.FLOWING, made.p_fall(*falls), 9 * BAR))
    assert shapes["PH.gain"][0] == pytest.approx(high[0] - 9 * BAR, rel=1e-3)
    assert shapes["PL.gain"][0] == pytest.approx(-(high[0] - signal.base[0] - 9 * BAR), rel=1e-3)
    assert not [name for name in shapes if name in ("W01.PH.tare", "W01.PL.tare")]
    bare = run_of(at_rest=9 * BAR, falls=falls, zero=False)
    raw, other = prepared(bare, made.campaign(bare, bench=bench()))
    assert np.all(doubt(one, context, "PH", "PL") < 0.25 * doubt(raw, other, "PH", "PL"))


def test_the_printed_doubt_is_the_spread_after_a_common_zero() -> None:
    """Each gauge's gain and bow are drawn from its class; the zero is taken under pressure; E spreads as printed."""
    dice, found = np.random.default_rng(8), []
    falls, rest = (9 * BAR, 6 * BAR), 9 * BAR
    truth = run_of(at_rest=rest, falls=falls)
    assert truth.trace is not None
    for _ in range(60):
        channels = dict(truth.trace.channels)
        for tag in ("PH", "PL"):
            gain = dice.uniform(-2.5e-3, 2.5e-3)
            bow = dice.uniform(-1, 1) * 2.5e-3 * np.sqrt(3) / 2 * 40 * BAR
            reach = channels[tag] / (40 * BAR)
            channels[tag] = (
                channels[tag] * (1 - gain) - bow * 4 * reach * (1 - reach) + dice.uniform(-0.2, 0.2) * BAR
            )
        run = replace(truth, trace=made.trace(channels))
        one, context = prepared(run, made.campaign(run, bench=bench()))
        found.append(float(np.mean(np.log(nominal(one) / E))))
        printed = float(np.mean(doubt(one, context, "PH", "PL")))
    assert np.std(found) == pytest.approx(printed, rel=0.25)
    assert abs(np.mean(found)) < 3 * printed / np.sqrt(60)


def test_a_shared_reference_goes_out_but_for_the_drop_itself() -> None:
    run = run_of(zero=True)
    campaign = made.certified(made.campaign(run, bench=bench()), ["PH", "PL"])
    one, _ = prepared(run, campaign)
    signal = one.frozen.meters[0].signal  # type: ignore[union-attr]  # a metered stream
    shape = dict(signal.terms)["REF.gain"]
    np.testing.assert_allclose(shape, signal.base, rtol=1e-3)


def test_the_lower_of_two_gauges_shows_the_column_between_them() -> None:
    held = bench()
    for tag, height in (("PH", 0.2), ("PL", 0.5)):
        held.instruments[tag] = replace(held.instruments[tag], height=Stated(value=height, u=0.01))  # type: ignore[index]  # a plain dict here
    run = run_of(zero=False)
    assert run.trace is not None
    column = made.rho_of(293.15, 2e5) * made.G * 0.3
    high = run.trace.channels["PH"] + column
    run = replace(run, trace=made.trace(run.trace.channels | {"PH": high}))
    one, _ = prepared(run, made.campaign(run, bench=held))
    np.testing.assert_allclose(nominal(one), E, rtol=1e-5)
    signal = one.frozen.meters[0].signal  # type: ignore[union-attr]  # a metered stream
    shapes = dict(signal.terms)
    np.testing.assert_allclose(shapes["PH.height"], made.rho_of(293.15, 2e5) * made.G, rtol=1e-6)
    np.testing.assert_allclose(shapes["PL.height"], -shapes["PH.height"])


def test_lag_of_either_part_acts_by_its_own_rate() -> None:
    held = bench()
    held.instruments["PL"] = replace(held.instruments["PL"], lag=Stated(value=1e-9, u=0.01))  # type: ignore[index]  # a plain dict here
    run = run_of()
    one, _ = prepared(run, made.campaign(run, bench=held))
    shapes = dict(one.frozen.meters[0].signal.terms)  # type: ignore[union-attr]  # a metered stream
    assert run.trace is not None
    inside = (made.TIME > 5) & (made.TIME < 7)
    fall = np.polyfit(made.TIME[inside], run.trace.channels["PL"][inside], 1)[0]
    np.testing.assert_allclose(np.mean(shapes["PL.lag"]), -fall, rtol=0.05)


def test_what_it_costs_is_told_and_a_transmitter_for_the_drop_is_silent() -> None:
    run = run_of(zero=False)
    told = [
        one for one in reduce(made.campaign(run, bench=bench())).notices if one.code == "drop-by-two-gauges"
    ]
    assert [one.severity for one in told] == [Severity.DOUBT]
    facts = dict(told[0].facts)
    assert facts["u"] == pytest.approx(0.0454 * 0.9 * BAR / facts["dp"], rel=0.05)
    assert 0.9 < facts["share"] <= 1
    fine = Accuracy(of_span=1e-5, text="0.002 % FS")
    held = bench()
    for tag in ("PH", "PL"):
        held.instruments[tag] = replace(held.instruments[tag], accuracy=fine)  # type: ignore[index]  # a plain dict here
    good = run_of(at_rest=9 * BAR)
    told = [
        one for one in reduce(made.campaign(good, bench=held)).notices if one.code == "drop-by-two-gauges"
    ]
    assert [one.severity for one in told] == [Severity.INFO]
    plain = reduce(made.campaign(made.metered("W01", E)))
    assert not [one for one in plain.notices if one.code == "drop-by-two-gauges"]
    assert "drop-by-two-gauges" in RUN_FINDINGS


def bowed(one: RunGiven, size: float) -> RunGiven:
    """One gauge of the pair with a bow of so much of its span."""
    assert one.trace is not None
    high = one.trace.channels["PH"]
    reach = high / (40 * BAR)
    return replace(
        one, trace=made.trace(one.trace.channels | {"PH": high + size * 40 * BAR * 4 * reach * (1 - reach)})
    )


def test_a_pair_within_its_class_is_told_its_cost_and_nothing_else() -> None:
    """Rest under pressure, and a bow as large as the class: E has a trend that the class of the two explains."""
    run = bowed(run_of(at_rest=9 * BAR, falls=(9 * BAR, 5 * BAR)), 2.4e-3)
    notices = [one for one in reduce(made.campaign(run, bench=bench())).notices if one.run == "W01"]
    assert {one.code for one in notices} - {"one-run-carries-all", "article-cavitates"} == {
        "drop-by-two-gauges"
    }
    grave = bowed(run_of(at_rest=9 * BAR, falls=(9 * BAR, 5 * BAR)), 8e-3)
    codes = [one.code for one in reduce(made.campaign(grave, bench=bench())).notices]
    assert "window-short" in codes


def test_a_back_pressure_gauge_makes_a_drop_by_two_gauges_of_the_injector() -> None:
    run = made.metered("W01", E)
    assert run.trace is not None
    cap = np.where(made.FLOWING, 2 * BAR, 0.0)
    channels = run.trace.channels
    trace = made.trace({**channels, "PM-OX": channels["PM-OX"] + cap, "P-BACK": cap})
    behind = replace(run, trace=trace, flows=(replace(run.flows[0], p_back="P-BACK"),))
    told = [one for one in reduce(made.campaign(behind)).notices if one.code == "drop-by-two-gauges"]
    assert [(one.severity, one.about) for one in told] == []  # 0.1 % of 10 bar hardly costs anything
    coarse = made.bench()
    for tag in ("PM-OX", "P-BACK"):
        coarse.instruments[tag] = replace(
            coarse.instruments[tag], accuracy=Accuracy(of_span=1e-2, text="coarse")
        )  # type: ignore[index]  # a plain dict here
    told = [
        one for one in reduce(made.campaign(behind, bench=coarse)).notices if one.code == "drop-by-two-gauges"
    ]
    assert [(one.severity, one.about) for one in told] == [(Severity.DOUBT, "PM-OX and P-BACK")]
    assert dict(told[0].facts)["dp"] == pytest.approx(4.5 * BAR, rel=0.05)


def test_what_comes_anew_at_each_reading_does_not_go_out_with_the_zero() -> None:
    ones = np.ones(3)
    now = Doubted(
        base=5.0 * ones, terms=(("P.gain", 5.0 * ones), ("W01.P.repeatability", ones), ("W01.P.steps", ones))
    )
    then = Doubted(base=2.0 * ones, terms=(("P.gain", 2.0 * ones), ("W01.P.repeatability", ones)))
    since = _since(now, then)
    terms = dict(since.terms)
    np.testing.assert_allclose(since.base, 3.0)
    np.testing.assert_allclose(terms["P.gain"], 3.0)
    np.testing.assert_allclose(terms["W01.P.repeatability"], np.sqrt(2))
    np.testing.assert_allclose(terms["W01.P.steps"], 1.0)
