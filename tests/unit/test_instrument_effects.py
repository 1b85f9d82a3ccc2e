"""What a data sheet states beside the accuracy: sizes and shapes in closed form; errors drawn and pushed through."""

import datetime
from dataclasses import replace
from math import exp, pi, sqrt
from typing import Any

import numpy as np
import pytest

from headrace.bench.instruments import Conditions, Zero, at_work, travel
from headrace.records.effects import Effects, Logger
from headrace.records.given import Accuracy, Certificate, Instrument, Stated
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.draws import draw
from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.source import Source

DAY = datetime.date(2026, 3, 12)
SPAN = 2e5
VALUES = np.array([1.6e5, 1e5, 0.4e5])
ZERO = Zero(before=0.0, after=0.0, u=0.0)
NONE = Accuracy(text="as good as perfect")
EXACT = Instrument(tag="DP", measures="drop", low=0.0, high=SPAN, accuracy=NONE)
Made = tuple[Doubted, dict[str, Source]]


def span(limits: float, text: str = "as stated") -> Accuracy:
    return Accuracy(of_span=limits / sqrt(3), text=text)


def work(effects: Effects, *, zero: Zero | None = ZERO, base: Instrument = EXACT, **conditions: Any) -> Made:
    books = {"C": Certificate(id="C", date=DAY, accuracy=NONE, points=((0.0, 0.0), (SPAN, SPAN)))}
    doubted, sources = at_work(
        replace(base, effects=effects), VALUES, run="W01", zero=zero, certificates=books, references={}, on=DAY,
        conditions=Conditions(**conditions),
    )  # fmt: skip
    return doubted, {one.name: one for one in sources}


def effect(made: Made, name: str) -> np.ndarray:
    return dict(made[0].terms)[name] * made[1][name].u


def test_nothing_stated_is_nothing_added() -> None:
    warm = Stated(value=313.0, u=1.0)
    assert work(Effects(), body_temp=warm, p_line=VALUES, noise=0.0, travel=np.ones(3))[1] == {}


def test_stated_linearity_takes_the_place_of_the_bow_that_a_class_is_dealt_into() -> None:
    made = work(Effects(linearity=span(1e-3)))
    bow = np.array([4 * 0.8 * 0.2, 1.0, 4 * 0.2 * 0.8])
    np.testing.assert_allclose(effect(made, "DP.linearity"), 1e-3 / sqrt(3) * SPAN * bow, rtol=1e-12)
    classed = work(Effects(linearity=span(1e-3)), base=replace(EXACT, accuracy=span(5e-3)))
    np.testing.assert_allclose(effect(classed, "DP.linearity"), effect(made, "DP.linearity"), rtol=1e-12)
    assert effect(classed, "DP.gain")[1] == pytest.approx(5e-3 / sqrt(3) * 1e5)


def test_points_of_a_certificate_take_linearity_off() -> None:
    made = work(Effects(linearity=span(1e-3)), base=replace(EXACT, certificate="C", drift=0.0))
    assert "DP.linearity" not in made[1]


def test_hysteresis_has_the_sign_of_the_way_and_is_one_error_of_the_instrument() -> None:
    stated = Effects(hysteresis=span(2e-3))
    falling, rising = work(stated, travel=np.ones(3)), work(stated)
    half = 1e-3 / sqrt(3) * SPAN
    np.testing.assert_allclose(effect(falling, "DP.hysteresis")[1], half, rtol=1e-12)
    np.testing.assert_allclose(effect(rising, "DP.hysteresis"), -effect(falling, "DP.hysteresis"), rtol=1e-12)
    assert falling[1]["DP.hysteresis"].scope == "instrument"


def test_points_up_and_down_correct_hysteresis_instead() -> None:
    book = Certificate(id="C", date=DAY, accuracy=NONE, points=((0.0, 0.0),), falling=((0.0, 0.0),))
    doubted, _ = at_work(
        replace(EXACT, effects=Effects(hysteresis=span(2e-3)), certificate="C", drift=0.0), VALUES, run="W01",
        zero=ZERO, certificates={"C": book}, references={}, on=DAY,
    )  # fmt: skip
    assert "DP.hysteresis" not in doubted.names


def test_which_way_a_value_was_reached() -> None:
    """Rising to the greatest; falling from 5 % of span below it; halfway between."""
    course = np.array([0.0, 1e5, 2e5, 1.95e5, 1.9e5, 1e5])
    np.testing.assert_allclose(travel(course, span=SPAN), [-1, -1, -1, 0, 1, 1], atol=1e-9)
    np.testing.assert_allclose(travel(np.array([1e5]), span=SPAN, peak=1.02e5), [2 * 0.2 - 1], rtol=1e-9)
    np.testing.assert_allclose(travel(-course, span=SPAN), travel(course, span=SPAN))
    assert np.all(np.isfinite(travel(np.array([1e5, np.nan, 0.5e5]), span=SPAN)))


def test_repeatability_is_anew_in_every_run_and_in_every_reading_by_eye() -> None:
    stated = Effects(repeatability=Accuracy(of_span=3e-4, of_reading=4e-4))
    made = work(stated)
    np.testing.assert_allclose(
        effect(made, "W01.DP.repeatability"), np.hypot(3e-4 * SPAN, 4e-4 * VALUES), rtol=1e-12
    )
    assert made[1]["W01.DP.repeatability"].scope == "run"
    one_by_one = work(stated, moments=("start", "middle", "end"))
    assert effect(one_by_one, "W01.DP.end.repeatability")[2] == pytest.approx(np.hypot(60.0, 16.0))
    assert np.all(effect(one_by_one, "W01.DP.end.repeatability")[:2] == 0)


WARM = Effects(
    zero_per_kelvin=span(1e-4), span_per_kelvin=Accuracy(of_reading=2e-4), reference_temp=296.15,
    temp_span=(280.0, 310.0),
)  # fmt: skip


def test_warmth_acts_on_span_and_a_zero_of_the_day_takes_off_that_of_the_zero() -> None:
    made = work(WARM, body_temp=Stated(value=286.15))
    assert "DP.zero_per_kelvin" not in made[1]
    np.testing.assert_allclose(effect(made, "DP.span_per_kelvin"), -10 * 2e-4 * VALUES, rtol=1e-12)
    untared = work(WARM, zero=None, body_temp=Stated(value=306.15))
    np.testing.assert_allclose(effect(untared, "DP.zero_per_kelvin"), 10 * 1e-4 / sqrt(3) * SPAN, rtol=1e-12)


def test_a_day_that_nobody_wrote_down_has_the_whole_stated_range() -> None:
    """Root of the mean square of T - 296.15 over 280 to 310 K: middle -1.15, a twelfth of 30 squared."""
    made = work(WARM)
    size = sqrt(1.15**2 + 30.0**2 / 12)
    np.testing.assert_allclose(effect(made, "DP.span_per_kelvin"), size * 2e-4 * VALUES, rtol=1e-12)
    doubted = work(WARM, body_temp=Stated(value=299.15, u=4.0))
    np.testing.assert_allclose(effect(doubted, "DP.span_per_kelvin"), 5 * 2e-4 * VALUES, rtol=1e-12)


def test_line_pressure_moves_zero_and_span_of_a_cell() -> None:
    p_line = np.array([4e6, 3e6, 2e6])
    squeezed = Effects(zero_per_pascal=span(1e-3 / 7e6), span_per_pascal=Accuracy(of_span=2e-3 / 7e6))
    made = work(squeezed, p_line=p_line)
    np.testing.assert_allclose(
        effect(made, "DP.zero_per_pascal"), 1e-3 / sqrt(3) / 7e6 * SPAN * p_line, rtol=1e-12
    )
    np.testing.assert_allclose(effect(made, "DP.span_per_pascal"), 2e-3 / 7e6 * p_line * VALUES, rtol=1e-12)
    at_pressure = work(squeezed, zero=replace(ZERO, at_pressure=0.0), p_line=p_line)
    assert "DP.zero_per_pascal" not in at_pressure[1]
    assert "DP.span_per_pascal" in at_pressure[1]
    assert work(squeezed)[1] == {}


DAQ = {"DAQ": Logger(id="DAQ", bits=12, gain=3e-4, offset=2e-4, origin="bench.toml")}


def test_a_logger_s_gain_and_offset_are_one_source_for_all_its_channels() -> None:
    stored = Effects(logger="DAQ")
    loop = replace(EXACT, signal=(4e-3, 20e-3))
    tared = work(stored, base=loop, loggers=DAQ, noise=SPAN)
    np.testing.assert_allclose(effect(tared, "DAQ.gain"), 3e-4 * VALUES, rtol=1e-12)
    assert "DAQ.offset" not in tared[1]
    untared = work(stored, base=replace(loop, tag="PM"), zero=None, loggers=DAQ, noise=SPAN)
    # 4 mA of a 16 mA span: a quarter of the span is live at none
    np.testing.assert_allclose(effect(untared, "DAQ.gain"), 3e-4 * (VALUES + SPAN / 4), rtol=1e-12)
    np.testing.assert_allclose(effect(untared, "DAQ.offset"), 2e-4 * SPAN, rtol=1e-12)
    wider = work(replace(stored, raw_width=1.5 * SPAN), zero=None, loggers=DAQ, noise=SPAN)
    np.testing.assert_allclose(effect(wider, "DAQ.offset"), 3e-4 * SPAN, rtol=1e-12)
    assert untared[1]["DAQ.gain"].scope == "shared"


def test_steps_of_the_converter_are_whole_without_noise_and_gone_with_it() -> None:
    step = SPAN / 2**12
    still = work(Effects(logger="DAQ"), zero=None, loggers=DAQ, noise=0.0)
    np.testing.assert_allclose(effect(still, "W01.DP.steps"), step / sqrt(12), rtol=1e-5)
    both = work(Effects(logger="DAQ"), loggers=DAQ, noise=0.0)
    np.testing.assert_allclose(effect(both, "W01.DP.steps"), step / sqrt(6), rtol=1e-5)
    noisy = work(Effects(logger="DAQ"), zero=None, loggers=DAQ, noise=0.3 * step)
    # of a sawtooth's harmonics the first is left alone by so much noise: step / (pi sqrt 2)
    np.testing.assert_allclose(
        effect(noisy, "W01.DP.steps"), step / pi / sqrt(2) * exp(-2 * (0.3 * pi) ** 2), rtol=1e-4
    )
    running = work(Effects(logger="DAQ"), zero=None, loggers=DAQ, noise=0.0, sweep=8 * step)
    np.testing.assert_allclose(effect(running, "W01.DP.steps"), step / 8 / sqrt(360), rtol=1e-5)
    assert "W01.DP.steps" not in work(Effects(logger="DAQ"), loggers=DAQ, noise=9 * step)[1]


@pytest.mark.parametrize("noise", [0.0, 0.15, 0.3])
def test_what_rounding_leaves_in_a_mean_is_what_rounded_samples_show(noise: float) -> None:
    """Known truth: values anywhere between two steps, noise of this many steps, rounded, averaged."""
    dice = np.random.default_rng(5)
    true = dice.uniform(0, 1, 400)
    samples = np.round(true[:, None] + noise * dice.standard_normal((400, 4000)))
    seen = float(np.sqrt(np.mean((samples.mean(axis=1) - true) ** 2)))
    logger = {"DAQ": Logger(id="DAQ", bits=12)}
    claimed = effect(
        work(Effects(logger="DAQ"), zero=None, loggers=logger, noise=noise * SPAN / 2**12), "W01.DP.steps"
    )
    assert seen == pytest.approx(claimed[0] / (SPAN / 2**12), rel=0.05)


@pytest.mark.parametrize("sweep", [3.4, 12.7])
def test_what_rounding_leaves_in_the_mean_of_a_ramp(sweep: float) -> None:
    """Known truth: ramps over so many steps from anywhere, without noise, rounded, averaged."""
    dice = np.random.default_rng(6)
    width = sweep + dice.uniform(-0.5, 0.5, 2000)
    true = dice.uniform(0, 1, 2000)[:, None] + width[:, None] * (np.arange(4000) + 0.5) / 4000
    seen = float(np.sqrt(np.mean((np.round(true) - true).mean(axis=1) ** 2)))
    step, logger = SPAN / 2**12, {"DAQ": Logger(id="DAQ", bits=12)}
    claimed = effect(
        work(Effects(logger="DAQ"), zero=None, loggers=logger, sweep=sweep * step), "W01.DP.steps"
    )
    assert seen == pytest.approx(claimed[0] / step, rel=0.05)


@pytest.mark.parametrize("noise", [0.0, 0.25, 0.5, 1.0])
def test_a_moving_signal_does_not_vouch_for_its_still_zero(noise: float) -> None:
    """Known truth: falls over 200 steps, zero anywhere in its step, rounded; mean less zero against the claim."""
    dice, step = np.random.default_rng(8), SPAN / 2**12
    course = np.linspace(900.0, 700.0, 600)
    far, pooled = [], []
    for _ in range(300):
        offset = dice.uniform(-0.5, 0.5)
        rest = np.round(offset + noise * dice.standard_normal(85))
        flow = np.round(course + offset + noise * dice.standard_normal(course.size))
        claimed = effect(
            work(
                Effects(logger="DAQ"), loggers={"DAQ": Logger(id="DAQ", bits=12)}, rest=rest * step,
                noise=float(np.std(np.diff(flow)) / sqrt(2)) * step, sweep=200 * step,
            ),
            "W01.DP.steps",
        )[0] / step  # fmt: skip
        # the tare's own scatter is a term of its own
        u = np.hypot(claimed, np.hypot(np.std(rest, ddof=1) / sqrt(85), noise / sqrt(600)))
        far.append((flow.mean() - rest.mean() - course.mean()) / u)
        pooled.append(claimed)
    assert float(np.sqrt(np.mean(np.square(far)))) == pytest.approx(1.0, abs=0.15)
    if noise == 0:
        assert pooled == pytest.approx([1 / sqrt(12)] * 300, rel=1e-4)
    if noise >= 0.5:
        assert max(pooled) < 0.06


def test_errors_drawn_and_shown_spread_as_is_claimed() -> None:
    """Known truth: a cell with every effect, simulated in a few lines of its own, against the claim value by value."""
    effects = Effects(
        linearity=span(8e-4), hysteresis=span(2e-3), repeatability=span(5e-4), span_per_kelvin=span(1e-4),
        reference_temp=296.15, temp_span=(290.0, 300.0), zero_per_pascal=span(1e-3 / 7e6), logger="DAQ",
    )  # fmt: skip
    p_line, n = np.array([5e6, 4e6, 3e6]), 40_000
    doubted, sources = work(
        effects, body_temp=Stated(value=284.15), p_line=p_line, travel=np.array([-1.0, 1.0, 1.0]), loggers=DAQ,
        noise=SPAN,
    )  # fmt: skip
    claimed = doubted.at(Errors({name: draw(one, 3, 0, n) for name, one in sources.items()}))
    dice = np.random.default_rng(11)

    def limits(half: float) -> np.ndarray:
        return dice.uniform(-half, half, n)

    bow, hyst, again = limits(8e-4), limits(2e-3), limits(5e-4)
    warm, squeeze, logger = limits(1e-4), limits(1e-3 / 7e6), limits(3e-4 * sqrt(3))
    shown = []
    for value, line, way in zip(VALUES, p_line, (-1, 1, 1), strict=True):
        x = value / SPAN
        loop = bow * 4 * x * (1 - x) + way * hyst / 2 * 4 * x * (1 - x) + again + squeeze * line
        shown.append(value + SPAN * loop + value * (warm * (284.15 - 296.15) + logger))
    np.testing.assert_allclose(np.std(claimed, axis=1), np.std(shown, axis=1), rtol=0.015)
    np.testing.assert_allclose(np.corrcoef(claimed), np.corrcoef(shown), atol=0.02)


def test_readings_of_one_gauge_do_not_average_its_class() -> None:
    """Known truth: one gauge read in nine runs. Its class stays whole in their mean; what is read anew does."""
    gauge = Instrument(
        tag="PG", measures="gauge", low=0.0, high=40e5, accuracy=span(0.016), effects=Effects(repeatability=span(0.005))
    )  # fmt: skip
    total, sources = Doubted(base=np.zeros(1)), {}
    for number in range(9):
        one, own = at_work(
            gauge, np.array([10e5]), run=f"H{number}", zero=None, certificates={}, references={}, on=DAY
        )
        total = total.plus(one.times(1 / 9))
        sources |= {source.name: source for source in own}
    assert len(sources) == 10
    u = sqrt(sum((float(shape[0]) * sources[name].u) ** 2 for name, shape in total.terms))
    assert u == pytest.approx(40e5 / sqrt(3) * np.hypot(0.016, 0.005 / 3), rel=1e-12)
    dice = np.random.default_rng(2)
    shown = 10e5 + 40e5 * (
        dice.uniform(-0.016, 0.016, (20_000, 1)) + dice.uniform(-0.005, 0.005, (20_000, 9))
    )
    assert float(np.std(shown.mean(axis=1))) == pytest.approx(u, rel=0.02)
