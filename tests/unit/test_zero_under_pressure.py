"""The zero of a cell under line pressure: it counts, goes back with the pressure, and its difference is told."""

from dataclasses import replace

import numpy as np
import pytest

from headrace import serial
from headrace.doors.spoken.reduction import zeros
from headrace.findings.evidence import RunEvidence
from headrace.findings.zero_under_pressure import find
from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.context import Context, Prepared
from headrace.jobs.reduce.methods import METHODS
from headrace.jobs.reduce.samples import at_zero
from headrace.jobs.reduce.zeros import taken, zero_course
from headrace.notices import Severity
from headrace.paper.report.content import content
from headrace.paper.report.sections.runs import _zeros
from headrace.records.effects import Effects
from headrace.records.given import Accuracy, Bench, RunGiven
from support import hand_made as made
from support.run_evidence import Scene

E = 2.31e-4
BAR = made.BAR
EFFECT = 2e-3  # of the line pressure: what the cell shows of it as a drop
AT = (1.4, 2.8)
BEFORE = (0.0, 1.2)


def bench(*, logged: bool) -> Bench:
    one = made.bench()
    meter = one.meters["FV-A"]
    if logged:
        meter = replace(meter, instruments={**meter.instruments, "p_up": "P-UP"})
    held = {**one.instruments, "P-UP": made.instrument("P-UP", "gauge", 10 * BAR)}
    return replace(one, instruments=held, meters={**one.meters, "FV-A": meter})


def run_of(*, before: bool = True, typed: bool = True) -> RunGiven:
    """Open air to 1.3 s, 8 bar with the valve shut to 3 s, falling to 4 bar while water flows, then open air."""
    run = made.metered("W01", E)
    assert run.trace is not None
    up = made.p_fall(8 * BAR, 4 * BAR)
    up = np.where(((1.3 if before else 0.0) <= made.TIME) & (made.ON[0] > made.TIME), 8 * BAR, up)
    channels = run.trace.channels
    cell = channels["DP-A"] + 150.0 + EFFECT * up
    spans = {"tare_before": BEFORE if before else None, "tare_at_pressure": AT} if typed else {}
    return replace(run, trace=made.trace({**channels, "DP-A": cell, "P-UP": up}), **spans)  # type: ignore[arg-type]  # by name


def prepared(run: RunGiven, logged: bool) -> Prepared:
    context = Context(campaign=made.campaign(run, bench=bench(logged=logged)), run=run)
    return METHODS[run.method](context, run.flows[0])


def nominal(one: Prepared) -> np.ndarray:
    return np.exp(one.frozen.ln_area(at_zero(one.frozen.names))[:, 0])


def test_with_the_pressure_logged_the_zero_follows_it() -> None:
    one = prepared(run_of(), logged=True)
    np.testing.assert_allclose(nominal(one), E, rtol=1e-5)
    zero = one.zeros["DP-A"]
    assert zero.at_pressure == pytest.approx(150 + EFFECT * 8 * BAR)
    assert zero.before == pytest.approx(150)
    assert zero.u < 5.0
    atmospheric = replace(run_of(), tare_at_pressure=None)
    assert np.all(np.abs(nominal(prepared(atmospheric, logged=True)) / E - 1) > 5e-3)


def test_without_it_the_zero_under_pressure_stands_and_what_is_not_known_is_in_its_doubt() -> None:
    zero = prepared(run_of(), logged=False).zeros["DP-A"]
    moved = EFFECT * 8 * BAR
    assert zero.u == pytest.approx(moved / np.sqrt(12), rel=1e-3)
    one = prepared(run_of(), logged=False)
    assert np.all(nominal(one) < E)  # too much taken off, more so late in the run
    assert np.all(np.diff(nominal(one)) < 0)


def test_drawn_effects_spread_as_printed_without_the_pressure() -> None:
    """The zero may have gone back by any share: drawn so, its error has the printed u about the middle or less."""
    time = np.arange(0.0, 10.0, 0.01)
    spans = {"before": (0.0, 1.0), "after": (9.0, 10.0), "at_pressure": (1.5, 2.5)}
    dice = np.random.default_rng(6)
    off = []
    for _ in range(200):
        share = dice.uniform(0, 1)  # how far back it went in the flow
        channel = np.where((time > 1.2) & (time < 2.6), 100.0, 0.0)
        zero = taken(time, channel, spans=spans, shift=1.0, p_line=None)
        assert zero is not None
        course = zero_course(time, zero, (2.6, 8.0), spans=spans, p_line=None)
        off.append(float(np.mean(course)) - 100.0 * (1 - 0.5 * share))
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(zero.u, rel=0.1)


def test_only_a_zero_under_pressure() -> None:
    run = replace(run_of(before=False), tare_before=(-2.0, -1.0))
    one = prepared(run, logged=False)
    zero = one.zeros["DP-A"]
    assert zero.before == zero.at_pressure == pytest.approx(150 + EFFECT * 8 * BAR)
    assert zero.u == pytest.approx(1e-3 * 1.6 * BAR / np.sqrt(3), rel=0.01)
    told = [
        one.code
        for one in reduce(made.campaign(run, bench=bench(logged=False))).notices
        if one.about == "channel DP-A"
    ]
    assert "tare-drift" not in told


def test_a_stated_pressure_effect_acts_only_where_no_zero_under_pressure_took_it_off() -> None:
    held = bench(logged=True)
    stated = Effects(zero_per_pascal=Accuracy(absolute=EFFECT / 2, text="invented"))
    held.instruments["DP-A"] = replace(held.instruments["DP-A"], effects=stated)  # type: ignore[index]  # a plain dict here
    names = []
    for run in (run_of(), replace(run_of(), tare_at_pressure=None)):
        context = Context(campaign=made.campaign(run, bench=held), run=run)
        names.append(METHODS[run.method](context, run.flows[0]).frozen.names)
    assert "DP-A.zero_per_pascal" not in names[0]
    assert "DP-A.zero_per_pascal" in names[1]


def test_gauges_keep_their_zero_at_open_air() -> None:
    zeros = prepared(run_of(), logged=True).zeros
    assert zeros["PM-OX"].at_pressure is None
    assert zeros["P-UP"].at_pressure is None


def seen(shift: float, **changes: object) -> tuple[Severity, ...]:
    scene = Scene()
    scene.zeros["DP-A"] = replace(scene.zeros["DP-A"], at_pressure=300.0 + shift, **changes)  # type: ignore[arg-type]  # by name
    evidence: RunEvidence = scene.evidence()
    return tuple(one.severity for one in find(evidence))


def test_the_difference_is_told_against_the_limit() -> None:
    assert find(Scene().evidence()) == ()
    assert seen(10.0) == ()
    assert seen(100.0) == (Severity.INFO,)
    assert seen(170.0) == (Severity.DOUBT,)
    assert seen(-170.0) == (Severity.DOUBT,)


def test_it_is_shown_with_the_others(capsys: pytest.CaptureFixture[str]) -> None:
    """In reduce as text and as JSON: before, under pressure, and how far they are apart."""
    campaign = made.campaign(run_of(), bench=bench(logged=True))
    done = reduce(campaign)
    before, under = 150.0, 150 + EFFECT * 8 * BAR
    told = serial.reduce(campaign, done)["runs"]["W01"]["tares"]
    assert told["DP-A"]["at_pressure"] == pytest.approx(under)
    assert told["DP-A"]["before"] == pytest.approx(before)
    assert all(zero["at_pressure"] is None for tag, zero in told.items() if tag != "DP-A")
    zeros(campaign, done)
    (row,) = [line for line in capsys.readouterr().out.splitlines() if line.startswith("W01")]
    assert row.split()[:2] == ["W01", "DP-A"]
    assert "1.500 mbar" in row or "0.00150" in row, row
    calm = made.campaign(made.metered("W02", E))
    zeros(calm, reduce(calm))
    assert capsys.readouterr().out == ""


def test_the_report_has_a_column_for_it_only_where_one_was_taken() -> None:
    run = run_of()
    for given, shown in ((run, True), (replace(run, tare_at_pressure=None), False)):
        campaign = made.campaign(given, bench=bench(logged=True))
        done = reduce(campaign)
        said = content(campaign, done, None, version="0")
        found = _zeros(said, done.runs["W01"])
        assert ("zero under pressure" in found.head) == shown
