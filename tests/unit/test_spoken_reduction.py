"""The run table in words: what does not count is said with its reason."""

from dataclasses import replace

import pytest

from headrace.doors.spoken.reduction import runs
from headrace.jobs.reduce import reduce
from headrace.records.given import RunGiven
from support import hand_made as made

E = 2.31e-4
BAR = made.BAR


def told(capsys: pytest.CaptureFixture[str], *given: RunGiven) -> str:
    """The run table of circuit ox with plain holes, which K judges."""
    article = made.article(ox=made.circuit("ox", "T-OX", element="plain-sharp"))
    runs(reduce(made.campaign(*given, article=article)))
    out = capsys.readouterr().out
    assert max(len(line) for line in out.splitlines()) <= 100
    return out


def test_readings_that_cavitate_are_told_with_the_limit(capsys: pytest.CaptureFixture[str]) -> None:
    loud, calm = (
        made.metered("W01", E, p=(6 * BAR, 4 * BAR)),
        made.metered("W02", E, p=(1.6 * BAR, 0.8 * BAR)),
    )
    out = told(capsys, loud, calm)
    (count,) = [line for line in out.splitlines() if line.startswith("W01")]
    number = count.split("0 of ")[1].split()[0]
    assert f"Readings that do not count:\n  W01, ox: {number} of {number}, K below 1.5\n" in out
    assert "W02, " not in out
    assert "do not count" not in told(capsys, calm)


def test_the_short_run_of_a_pair_names_its_long_run(capsys: pytest.CaptureFixture[str]) -> None:
    long = made.by_hand("L01", start=1.6 * BAR, end=1.2 * BAR, volume=0.06, time=9.5)
    short = made.by_hand("S01", start=1.6 * BAR, end=1.5 * BAR, volume=0.012, time=2.0)
    out = told(capsys, replace(long, method="long-minus-short", minus="S01"), short)
    assert "  S01, ox: 1 of 1, used as the short run of L01\n" in out


def test_a_run_left_out_is_told_once(capsys: pytest.CaptureFixture[str]) -> None:
    out = told(capsys, made.metered("W01", E, p=(1.6 * BAR, 0.8 * BAR), excluded="valve stuck"))
    assert out.count("valve stuck") == 1
    assert "do not count" not in out
