"""Lag, filter, skew and inertance: taken out of a falling run, and what is left acts as large as it is printed."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import signal as filters

from headrace.bench.filters import FILTERS, delay_of
from headrace.bench.timing import late_by, timing_sources
from headrace.errors import OutOfDomain
from headrace.jobs.reduce import signals
from headrace.jobs.reduce.context import Context, Prepared
from headrace.jobs.reduce.methods import METHODS
from headrace.jobs.reduce.samples import at_zero
from headrace.records.given import Bench, RunGiven, Stated
from headrace.uncertainty.errors_map import Errors
from support import hand_made as made

E = 2.31e-4
BAR = made.BAR
RHO = made.rho_of()
INSIDE = (made.ON[0] + 1.5 < made.TIME) & (made.ON[1] - 0.3 > made.TIME)


def prepared(run: RunGiven, bench: Bench) -> tuple[Prepared, Context]:
    context = Context(campaign=made.campaign(run, bench=bench), run=run)
    return METHODS[run.method](context, run.flows[0]), context


def nominal(one: Prepared) -> np.ndarray:
    return np.exp(one.frozen.ln_area(at_zero(one.frozen.names))[:, 0])


def doubt(one: Prepared, context: Context, *names: str) -> float:
    """Of the mean of ln E over the slices, by these sources alone."""
    zero = dict(at_zero(one.frozen.names))
    at = one.frozen.ln_area(Errors(zero))
    moved = [
        float(np.mean(one.frozen.ln_area(Errors(zero | {name: context.sources[name].u})) - at))
        for name in names
    ]
    return float(np.linalg.norm(moved))


def answers(values: np.ndarray, tau: float) -> np.ndarray:
    """A first-order lag, walked through in small steps; `values` fall straight between samples."""
    fine = np.linspace(made.TIME[0], made.TIME[-1], 50 * (made.TIME.size - 1) + 1)
    step, out = fine[1] - fine[0], np.interp(fine, made.TIME, values)
    keep = np.exp(-step / tau) if tau > 0 else 0.0
    return np.asarray(filters.lfilter([1 - keep], [1, -keep], out)[::50])


def with_instrument(tag: str, **changes: object) -> Bench:
    bench = made.bench()
    bench.instruments[tag] = replace(bench.instruments[tag], **changes)  # type: ignore[index, arg-type]  # a plain dict here
    return bench


def trailing(tau: float, tag: str = "PM-OX") -> RunGiven:
    """A run whose one channel answers late by a first-order lag."""
    run = made.metered("W01", E)
    assert run.trace is not None
    channels = run.trace.channels
    return replace(run, trace=made.trace(channels | {tag: answers(channels[tag], tau)}))


def test_drawn_lags_leave_no_bias_and_the_printed_spread() -> None:
    """Lag on the tap's gauge, none on the meter's cell; the true lag is drawn from what is stated."""
    stated = Stated(value=0.08, u=0.015 / np.sqrt(3), dist="rectangular", text="80 ms ± 15 ms")
    bench = with_instrument("PM-OX", lag=stated)
    dice = np.random.default_rng(3)
    found, printed = [], 0.0
    for _ in range(40):
        one, context = prepared(trailing(0.08 + dice.uniform(-0.015, 0.015)), bench)
        found.append(float(np.mean(np.log(nominal(one) / E))))
        printed = doubt(one, context, "PM-OX.lag")
    assert context.sources["PM-OX.lag"].scope == "instrument"
    assert printed == pytest.approx(0.5 * stated.u * 0.115, rel=0.1)  # half of u times d ln(dp)/dt
    assert abs(np.mean(found)) < 3 * printed / np.sqrt(40)
    assert np.std(found) == pytest.approx(printed, rel=0.3)
    raw, _ = prepared(trailing(0.08), made.bench())
    assert abs(np.mean(np.log(nominal(raw) / E))) > 8 * printed  # what the correction takes out


def test_a_lag_without_a_doubt_has_the_campaigns_share_and_equal_lags_cancel() -> None:
    bench = with_instrument("PM-OX", lag=Stated(value=0.08))
    one, context = prepared(trailing(0.08), bench)
    assert context.sources["PM-OX.lag"].u == pytest.approx(0.2 * 0.08)
    assert "default" in context.sources["PM-OX.lag"].origin
    silent, _ = prepared(made.metered("W01", E), made.bench())
    assert not [name for name in silent.frozen.names if name.endswith((".lag", ".skew", ".inertance"))]
    # a cell as slow as the gauge: an equal error of both moves E by nothing
    both = with_instrument("PM-OX", lag=Stated(value=0.08))
    both.instruments["DP-A"] = replace(both.instruments["DP-A"], lag=Stated(value=0.08))  # type: ignore[index]  # a plain dict here
    one, _ = prepared(trailing(0.08), both)
    zero = dict(at_zero(one.frozen.names))
    moved = one.frozen.ln_area(Errors(zero | {"PM-OX.lag": 0.02, "DP-A.lag": 0.02})) - one.frozen.ln_area(
        Errors(zero)
    )
    alone = one.frozen.ln_area(Errors(zero | {"PM-OX.lag": 0.02})) - one.frozen.ln_area(Errors(zero))
    assert np.max(np.abs(moved)) < 0.05 * np.max(np.abs(alone))  # but for the head, which has no rate


def test_a_channel_sampled_out_of_turn_is_shifted_and_its_rest_is_a_source() -> None:
    skew = 0.04
    run = made.metered("W01", E)
    assert run.trace is not None
    later = np.interp(made.TIME + skew, made.TIME, run.trace.channels["PM-OX"])
    shifted = replace(
        run,
        trace=made.trace(
            run.trace.channels | {"PM-OX": np.where(INSIDE, later, run.trace.channels["PM-OX"])}
        ),
    )
    shifted = replace(shifted, window=None)
    bench = with_instrument("PM-OX", skew=Stated(value=skew, u=0.01, dist="normal"))
    one, context = prepared(shifted, bench)
    raw, _ = prepared(shifted, made.bench())
    middle = slice(2, -1)
    np.testing.assert_allclose(nominal(one)[middle], E, rtol=2e-4)
    assert np.all(nominal(raw)[middle] / E - 1 > 1e-3)
    assert doubt(one, context, "PM-OX.skew") == pytest.approx(0.5 * 0.01 * 0.115, rel=0.1)
    exact, _ = prepared(shifted, with_instrument("PM-OX", skew=Stated(value=skew)))
    assert "PM-OX.skew" not in exact.frozen.names
    assert shifted.trace is not None
    said = replace(shifted.trace, skews={"PM-OX": Stated(value=skew, u=0.01, dist="normal")})
    for instrument in (None, Stated(value=-0.2, u=0.1)):  # what the run says of its channel goes before
        own, own_context = prepared(replace(shifted, trace=said), with_instrument("PM-OX", skew=instrument))
        np.testing.assert_array_equal(nominal(own), nominal(one))
        assert doubt(own, own_context, "PM-OX.skew") == doubt(one, context, "PM-OX.skew")


def test_the_rest_of_a_stated_inertance_is_a_source() -> None:
    """p_tap = drop + (L/A) dm/dt: an error of L/A acts by the rate of the flow, and more of it means a larger drop
    while the flow falls."""
    bench = made.bench()
    bench.lines["A"] = replace(bench.lines["A"], inertance=2e4, inertance_u=2e3)  # type: ignore[index]  # a plain dict here
    run = made.metered("W01", E)
    one, context = prepared(run, bench)
    zero = dict(at_zero(one.frozen.names))
    moved = one.frozen.ln_area(Errors(zero | {"A.inertance": 2e3})) - one.frozen.ln_area(Errors(zero))
    more = made.bench()
    more.lines["A"] = replace(more.lines["A"], inertance=2.2e4)  # type: ignore[index]  # a plain dict here
    np.testing.assert_allclose(moved[:, 0], np.log(nominal(prepared(run, more)[0]) / nominal(one)), rtol=0.02)
    assert np.all(moved < 0)
    assert context.sources["A.inertance"].scope == "instrument"


@pytest.mark.parametrize("order", [1, 2, 3, 4, 6])
@pytest.mark.parametrize("kind", list(FILTERS))
def test_a_filters_delay_is_that_of_a_slow_signal(kind: str, order: int) -> None:
    """Group delay near zero frequency by scipy.signal, which computed the expected values."""
    corner = 10.0
    if kind == "rc":
        b, a = np.array([1.0]), np.poly(np.full(order, -2 * np.pi * corner))
    elif kind == "butterworth":
        b, a = filters.butter(order, 2 * np.pi * corner, analog=True)
    else:
        b, a = filters.bessel(order, 2 * np.pi * corner, analog=True, norm="mag")
    w = np.array([1e-3, 2e-3])
    phase = np.angle(filters.freqs(b, a, w)[1])
    assert delay_of(kind=kind, order=order, corner=corner) == pytest.approx(
        -(phase[1] - phase[0]) / 1e-3, rel=1e-4
    )


def test_a_filter_counts_as_its_delay() -> None:
    one = made.instrument("P", "gauge", BAR, lag=Stated(value=0.02, u=0.002), filter=Stated(value=0.05))
    assert late_by(one) == pytest.approx(0.07)
    (source,) = timing_sources(one, share=0.2)
    assert source.u == pytest.approx(np.hypot(0.002, 0.01))
    assert timing_sources(made.instrument("P", "gauge", BAR), share=0.2) == ()
    with pytest.raises(OutOfDomain):
        delay_of(kind="rc", order=0, corner=10.0)
    with pytest.raises(OutOfDomain):
        delay_of(kind="rc", order=2, corner=float("nan"))


@pytest.mark.parametrize("lag", [0.05, 0.3, 1.0])
def test_catching_up_does_not_make_noise_large(lag: float) -> None:
    """The root of a noisy drop reads low by its variance over 8 dp squared: the correction must not blow that up."""
    time = np.arange(0.0, 30.0, 0.01)
    noise = np.random.default_rng(4).normal(0, 1.0, time.size)
    caught = signals.caught_up(time, noise, lag)
    assert np.std(caught[200:-200]) < 1.3 * np.std(noise)


@pytest.mark.parametrize("lag", [0.05, 0.25])
def test_a_noisy_channel_that_is_caught_up_leaves_e_where_it_is(lag: float) -> None:
    """Half a per cent of the drop at every sample of both channels, one of them slow."""
    dice = np.random.default_rng(9)
    found = []
    for _ in range(6):
        run = trailing(lag)
        assert run.trace is not None
        noisy = {
            tag: values * (1 + 0.005 * dice.standard_normal(values.size))
            for tag, values in run.trace.channels.items()
        }
        one, _ = prepared(
            replace(run, trace=made.trace(noisy)),
            with_instrument("PM-OX", lag=Stated(value=lag, u=0.1 * lag)),
        )
        found.append(float(np.mean(np.log(nominal(one) / E))))
    scatter = 0.005 / 2 * np.sqrt(2) / np.sqrt(80 * 6)
    assert abs(np.mean(found)) < 4 * scatter
