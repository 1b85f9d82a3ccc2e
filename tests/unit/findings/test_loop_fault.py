"""A 4 to 20 mA loop outside 3.6 to 21 mA is a fault signal, not a pressure."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from headrace.findings.evidence import RunEvidence
from headrace.findings.loop_fault import HIGH, LOW, find
from headrace.notices import Severity
from support.run_evidence import Scene, only


def looped(
    milliamps: float, tag: str = "DP-A", signal: Any = (4e-3, 20e-3), part: float = 0.05
) -> RunEvidence:
    """The clean run with one channel as a loop that stands at this current for a part of the record."""
    evidence = Scene().evidence()
    bench = evidence.campaign.bench
    device = replace(bench.instruments[tag], signal=signal)
    trace = evidence.run.trace
    assert trace is not None
    values = trace.channels[tag].copy()
    values[: round(part * values.size)] = device.low + (milliamps * 1e-3 - 4e-3) / 16e-3 * device.span
    return replace(
        evidence,
        campaign=replace(
            evidence.campaign, bench=replace(bench, instruments={**bench.instruments, tag: device})
        ),
        run=replace(evidence.run, trace=replace(trace, channels={**trace.channels, tag: values})),
    )


def test_clean() -> None:
    assert find(Scene().evidence()) == ()
    assert find(looped(12.0)) == ()


@pytest.mark.parametrize(("milliamps", "found"), [(3.64, 0), (3.56, 1), (20.8, 0), (21.2, 1), (0.0, 1)])
def test_a_loop_outside_its_limits_is_a_fault(milliamps: float, found: int) -> None:
    """Limits 3.6 and 21 mA: NAMUR NE 43 (from memory)."""
    notices = find(looped(milliamps))
    assert len(notices) == found
    assert all(one.severity is Severity.STOP and f"{milliamps:.2f} mA" in one.text for one in notices)
    assert (LOW, HIGH) == (3.6e-3, 21e-3)


def test_a_watching_channel_is_a_doubt_and_other_signals_have_no_limits() -> None:
    assert only(find(looped(2.0, tag="PM-FUEL"))).severity is Severity.DOUBT
    assert find(looped(2.0, signal=(0.0, 10.0))) == ()


def test_a_single_spike_is_no_fault() -> None:
    evidence = looped(2.0, part=0.0)
    assert evidence.run.trace is not None
    evidence.run.trace.channels["DP-A"][np.argmin(np.abs(evidence.time - 5.0))] = -1e5
    assert find(evidence) == ()
