"""Known truth: a meter read by whole pulses scatters its slices by the part of a pulse that is printed."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.files.traces import per_second
from headrace.jobs.reduce.at_slices import reading
from headrace.jobs.reduce.context import Context
from headrace.jobs.reduce.signals import Signals
from headrace.records.given import Trace
from support.hand_made import ORIGIN, campaign, instrument, metered

RATE, SECONDS = 50.0, 0.75


def test_a_slice_of_counted_pulses_is_known_to_part_of_one() -> None:
    dice = np.random.default_rng(9)
    time = np.arange(0.0, 4.0, 1 / RATE)
    run = metered("W01", 2.3e-4)
    given = campaign(run)
    held = {**given.bench.instruments, "FT": instrument("FT", "frequency", 2000.0)}
    given = replace(given, bench=replace(given.bench, instruments=held))
    index = np.arange(50, 50 + round(SECONDS * RATE))
    off = []
    for _ in range(600):
        frequency, phase = dice.uniform(80, 400), dice.uniform(0, 1)
        counts = np.diff(np.floor(frequency * time + phase), prepend=np.floor(phase))
        off.append(np.mean(per_second(time, counts)[index]) - frequency)
    trace = Trace(time=time, channels={}, lines=np.arange(time.size), origin=ORIGIN, pulses=frozenset({"FT"}))
    context = Context(campaign=given, run=replace(run, trace=trace))
    steady = np.full(time.size, 200.0)
    signals = Signals(time=time, values={"FT": steady}, clean={"FT": steady}, zeros={}, on=(0.0, 4.0),
                      inherited=frozenset(), rest={})  # fmt: skip
    doubted = reading(context, signals, "FT", (index,))
    shape = dict(doubted.terms)["W01.FT.count"][0]
    u = shape * context.sources["W01.FT.count"].u
    assert u == pytest.approx(1 / np.sqrt(12) / SECONDS, rel=0.05)
    assert abs(np.mean(off)) < 0.1 * u
    assert np.std(off) == pytest.approx(u, rel=0.1)
