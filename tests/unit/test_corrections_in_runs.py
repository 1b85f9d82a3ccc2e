"""Certificates and conditions reach every way of running: logged, read by eye, weighed; up and down, line pressure."""

import datetime
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from headrace.jobs.reduce.context import Context, Prepared
from headrace.jobs.reduce.methods import METHODS
from headrace.jobs.reduce.samples import at_zero
from headrace.records.effects import Effects
from headrace.records.given import Accuracy, Campaign, Certificate, RunGiven, Stated, Total
from support import hand_made as made

E, BAR = 2.31e-4, made.BAR
BEFORE = made.DAY - datetime.timedelta(days=30)


def changed(tag: str, **changes: Any) -> dict[str, Any]:
    bench = made.bench()
    return {
        "bench": replace(
            bench, instruments={**bench.instruments, tag: replace(bench.instruments[tag], **changes)}
        )
    }


def prepared(run: RunGiven, **changes: Any) -> tuple[Prepared, Context]:
    campaign: Campaign = made.campaign(run, **changes)
    context = Context(campaign=campaign, run=run)
    return METHODS[run.method](context, run.flows[0]), context


def ln_area(run: RunGiven, **changes: Any) -> float:
    one, _ = prepared(run, **changes)
    return float(np.mean(one.frozen.ln_area(at_zero(one.frozen.names))))


def paper(*points: tuple[float, float], **more: Any) -> dict[str, Any]:
    book = Certificate(id="C", date=BEFORE, accuracy=Accuracy(text="none"), points=points, **more)
    return {"certificates": {"C": book}}


def hand(start: float = 6 * BAR, end: float = 3 * BAR) -> RunGiven:
    return made.by_hand("H01", start=start, end=end, volume=0.06, time=12.0)


def test_a_gauge_read_by_eye_is_corrected() -> None:
    """Shown 3 % too much: the drop is 3 % less, so the area 1.5 % more (heads apart)."""
    off = changed("PG", certificate="C") | paper((0.0, 0.0), (10 * BAR, 9.7 * BAR))
    by_truth = ln_area(hand(0.97 * 6 * BAR, 0.97 * 3 * BAR))
    assert ln_area(hand(), **off) == pytest.approx(by_truth, abs=1e-9)
    assert by_truth - ln_area(hand()) > 0.013


def test_a_gauge_that_came_down_is_read_on_its_way_down() -> None:
    loop = paper((0.0, 0.0), (10 * BAR, 10 * BAR), falling=((0.0, -0.2 * BAR), (10 * BAR, 9.8 * BAR)))
    off = changed("PG", certificate="C") | loop
    assert ln_area(hand(), **off) == pytest.approx(ln_area(hand(6 * BAR, 2.8 * BAR)), abs=1e-9)


def test_a_logged_channel_in_a_blowdown_is_read_on_its_way_down() -> None:
    """All of the window lies on the falling branch but its first instants."""
    run = made.metered("W01", E)
    loop = paper((0.0, 0.0), (10 * BAR, 10 * BAR), falling=((0.0, 0.0), (10 * BAR, 9.7 * BAR)))
    found = ln_area(run, **changed("PM-OX", certificate="C"), **loop)
    assert found - ln_area(run) == pytest.approx(0.015, rel=0.15)


def test_a_window_that_begins_in_the_fall_begins_on_the_way_down() -> None:
    """The greatest before the first slice counts: its travel is not that of a first reading."""
    stated = changed("PM-OX", effects=Effects(hysteresis=Accuracy(of_span=2e-2)))
    one, _ = prepared(made.metered("W01", E, p=(8 * BAR, 1 * BAR)), **stated)
    tap = one.frozen.drop.p_tap  # type: ignore[attr-defined]  # metered
    x = tap.base / (10 * BAR)
    way = dict(tap.terms)["PM-OX.hysteresis"] / (4 * x * (1 - x))
    assert way[0] > -0.9
    np.testing.assert_allclose(way[1:], 1.0, atol=1e-6)


def test_a_net_weight_is_the_difference_of_two_corrected_readings() -> None:
    points = paper((0.0, 5.0), (200.0, 203.0))  # an offset that goes out of a difference, and a slope of -1 %
    run = made.weighed("W01", E)
    assert run.total is not None
    run = replace(run, total=replace(run.total, instrument="SCALE"))
    off = ln_area(run, **changed("SCALE", certificate="C"), **points) - ln_area(run)
    assert off == pytest.approx(np.log(0.99), abs=2e-5)


def test_readings_by_eye_repeat_each_by_itself() -> None:
    stated = changed("PG", effects=Effects(repeatability=Accuracy(of_span=1e-3)))
    one, context = prepared(hand(), **stated)
    assert {"H01.PG.start.repeatability", "H01.PG.end.repeatability"} <= set(one.frozen.names)
    assert "H01.PG.repeatability" not in context.sources


def test_a_gauge_read_at_start_and_end_has_hysteresis_of_both_signs() -> None:
    """Up at the start and down at the end: at equal places left and right of mid-range it takes itself off the mean."""
    stated = changed("PG", effects=Effects(hysteresis=Accuracy(of_span=2e-2)))
    run = hand(6 * BAR, 4 * BAR)
    one, _ = prepared(run, **stated)
    shapes = dict(one.frozen.hand.p_start.terms), dict(one.frozen.hand.p_end.terms)  # type: ignore[attr-defined]  # by hand
    up, down = (float(shape["PG.hysteresis"][0]) for shape in shapes)
    assert (up, down) == (pytest.approx(-0.96), pytest.approx(0.96))


def test_line_pressure_on_a_meter_s_cell_is_that_upstream_else_the_tap_s() -> None:
    stated = Effects(span_per_pascal=Accuracy(of_reading=1e-9))
    run = made.metered("W01", E)
    assert run.trace is not None
    one, _ = prepared(run, **changed("DP-A", effects=stated))
    meter = one.frozen.meters[0]  # type: ignore[attr-defined]  # metered
    at_tap = dict(meter.signal.terms)["DP-A.span_per_pascal"] / meter.signal.base
    np.testing.assert_allclose(at_tap, one.frozen.drop.p_tap.base, rtol=1e-6)  # type: ignore[attr-defined]  # metered
    bench = changed("DP-A", effects=stated)["bench"]
    upstream = {**made.meter("A").instruments, "p_up": "P-BACK"}
    bench = replace(bench, meters={**bench.meters, "FV-A": made.meter("A", instruments=upstream)})
    high = np.full_like(made.TIME, 8 * BAR)
    trace = replace(run.trace, channels={**run.trace.channels, "P-BACK": high})
    two, _ = prepared(replace(run, trace=trace), bench=bench)
    meter = two.frozen.meters[0]  # type: ignore[attr-defined]  # metered
    np.testing.assert_allclose(
        dict(meter.signal.terms)["DP-A.span_per_pascal"] / meter.signal.base, 8 * BAR, rtol=1e-6
    )


def test_the_air_of_the_day_warms_the_instruments() -> None:
    effects = Effects(
        span_per_kelvin=Accuracy(of_reading=1e-4), reference_temp=296.0, temp_span=(290.0, 302.0)
    )
    run = replace(made.metered("W01", E), air_temperature=Stated(value=286.0))
    one, _ = prepared(run, **changed("PM-OX", effects=effects))
    tap = one.frozen.drop.p_tap  # type: ignore[attr-defined]  # metered
    np.testing.assert_allclose(dict(tap.terms)["PM-OX.span_per_kelvin"], -10 * tap.base, rtol=1e-9)


def test_a_total_without_a_scale_is_taken_as_typed() -> None:
    run = made.weighed("W01", E)
    assert isinstance(run.total, Total)
    assert ln_area(run) == pytest.approx(np.log(E), abs=1e-4)
