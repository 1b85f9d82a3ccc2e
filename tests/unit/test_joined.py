"""Two raw files of one run on one clock: by an offset, by an event both saw; never beyond the record or over a hole."""

import hashlib
from pathlib import Path

import numpy as np
import pytest

from headrace import app, serial
from headrace.files.check import check
from headrace.files.folder import gather
from headrace.files.joined import passes, resampled
from headrace.jobs.reduce.context import SliceNominal
from headrace.jobs.reduce.one_run import origin_of
from headrace.records.given import Trace
from support import golden_folder

BEGINS = 1.3  # the slow logger starts so much later [s]
SLOW = "runs/W07/slow.txt"


def slow_rows(rate: float = 20.0, seconds: float = 14.0) -> str:
    """The manifold pressure of the golden run by another logger, falling while water flows."""
    lines = ["time (s)\tPT (bar(g))\tvalve (V)"]
    for k in range(round(seconds * rate)):
        at = BEGINS + k / rate
        flowing = 2 < at < 15
        pressure = 12.5 - 0.2 * (at - 2) if flowing else 0.0
        lines.append(f"{k / rate:.3f}\t{pressure:.4f}\t{5.0 if flowing else 0.1:.2f}")
    return "\n".join(lines) + "\n"


ALSO = """
[[also]]
file = "slow.txt"
offset = "1.3 s ± 0.05 s"
[also.channels]
"PT" = { instrument = "PM-OX" }
"""


def folder(tmp_path: Path, also: str = ALSO, rows: str | None = None, **more: str | None) -> Path:
    """The golden folder with its manifold pressure in a file of its own."""
    run = golden_folder.files()["runs/W07/run.toml"]
    own = '"p manifold" = { instrument = "PM-OX" }\n'
    assert own in run
    text = slow_rows() if rows is None else rows
    seal = f"{hashlib.sha256(text.encode()).hexdigest()}  slow.txt\n"
    changed: dict[str, str | None] = {
        "runs/W07/run.toml": run.replace(own, "") + also, SLOW: text, f"{SLOW}.sha256": seal,
    }  # fmt: skip
    return golden_folder.write(tmp_path, changed | more)


def trace_of(home: Path) -> Trace:
    gathered = gather(home)
    assert (gathered.problems, gathered.questions) == ((), ())
    assert gathered.campaign is not None
    trace = gathered.campaign.runs["W07"].trace
    assert trace is not None
    return trace


def test_by_an_offset(tmp_path: Path) -> None:
    trace = trace_of(folder(tmp_path))
    pressure = trace.channels["PM-OX"]
    flowing = (trace.time > 2.2) & (trace.time < 14.8)
    np.testing.assert_allclose(pressure[flowing], 1e5 * (12.5 - 0.2 * (trace.time[flowing] - 2)), rtol=1e-4)
    assert np.isnan(pressure[trace.time < BEGINS - 1e-9]).all()  # never extrapolated
    assert np.isnan(pressure[trace.time > 15.26]).all()
    (shift,) = trace.shifts["PM-OX"]
    assert (shift.name, shift.dist) == ("W07.slow.skew", "rectangular")
    assert shift.u == pytest.approx(0.05 / np.sqrt(3))
    assert "DP-A" not in trace.shifts


def test_both_files_are_sealed_and_can_be_walked_back_to(tmp_path: Path) -> None:
    home = folder(tmp_path)
    trace = trace_of(home)
    (other,) = trace.others
    assert other.origin.file == SLOW
    assert other.origin.sha256 == hashlib.sha256(slow_rows().encode()).hexdigest()
    assert other.lines[0] == 0
    row = int(np.argmin(np.abs(trace.time - 5.0)))
    assert other.lines[row] == 2 + round((trace.time[row] - BEGINS) * 20)
    inputs = gather(home).inputs
    assert {"runs/W07/W07.csv", SLOW} <= set(inputs)
    (home / SLOW).write_text(slow_rows().replace("12.4900", "12.5900"))
    (problem,) = check(home).problems
    assert problem.file == SLOW
    assert "sha256" in problem.found


def test_a_slice_names_its_lines_in_both_files(tmp_path: Path) -> None:
    home = folder(tmp_path)
    campaign = gather(home).campaign
    assert campaign is not None
    run = campaign.runs["W07"]
    at = SliceNominal(t=5.0, re=1e5, cav=3.0, dp=1e5, m_dot=1.0, noise=0.0, rows=(50, 60))
    origin = origin_of(run, at)
    assert run.trace is not None
    assert origin.lines == (int(run.trace.lines[50]), int(run.trace.lines[60]))
    (other,) = origin.also
    assert (other.file, other.lines) == (
        SLOW,
        (2 + 74, 2 + 94),
    )  # 3.7 s and 4.7 s after it began, 20 rows a second


def test_by_an_event(tmp_path: Path) -> None:
    event = 'event = { here = ["DP-A", "rises"], there = ["valve", "rises"], u = "20 ms" }'
    trace = trace_of(folder(tmp_path, ALSO.replace('offset = "1.3 s ± 0.05 s"', event)))
    (shift,) = trace.shifts["PM-OX"]
    # drawn from its samples, each step falls within one of them
    assert shift.u == pytest.approx(np.sqrt(0.02**2 + 0.1**2 / 12 + 0.05**2 / 12))
    middle = int(np.argmin(np.abs(trace.time - 8.0)))
    moved = (12.5 - trace.channels["PM-OX"][middle] / 1e5) / 0.2 + 2 - trace.time[middle]
    assert abs(moved) < 0.08
    assert "DP-A rises here when valve rises there" in shift.origin


def test_a_clock_that_runs_fast(tmp_path: Path) -> None:
    rate = 'offset = "1.3 s"\nclock_rate = "1.02 ± 0.001 (k=1)"'
    trace = trace_of(folder(tmp_path, ALSO.replace('offset = "1.3 s ± 0.05 s"', rate)))
    row = int(np.argmin(np.abs(trace.time - 8.0)))
    there = BEGINS + (trace.time[row] - BEGINS) / 1.02
    assert trace.channels["PM-OX"][row] == pytest.approx(1e5 * (12.5 - 0.2 * (there - 2)), rel=1e-5)
    (shift,) = trace.shifts["PM-OX"]
    assert shift.u == pytest.approx(0.001 * 13.95)


def test_a_wild_value_is_not_spread_by_the_straight_line(tmp_path: Path) -> None:
    lines = slow_rows().splitlines()
    lines[101] = lines[101].replace("\t1", "\t", 1)  # a lost digit
    wild = "\n".join(lines) + "\n"
    home = folder(tmp_path, rows=wild)
    np.testing.assert_allclose(trace_of(home).channels["PM-OX"][50:140],
                               1e5 * (12.5 - 0.2 * (trace_of(home).time[50:140] - 2)), rtol=1e-3)  # fmt: skip
    notices = gather(home).notices
    (notice,) = [one for one in notices if one.code == "values-set-aside"]
    assert "line 102" in notice.text
    assert [one.code for one in gather(folder(tmp_path)).notices].count("values-set-aside") == 0


CASES = [
    ('offset = "1.3 s ± 0.05 s"', "", "also[0].offset", "nothing", "either offset or event"),
    ('offset = "1.3 s ± 0.05 s"', 'offset = "1.3 bar"', "also[0].offset", '"1.3 bar"', "a unit of time"),
    ('offset = "1.3 s ± 0.05 s"', 'offset = "-60 s"', "also[0].offset", "slow.txt, from -60.00 s", "overlaps"),
    ('"PT" = ', '"PX" = ', 'also[0].channels.PX', 'column "PX"', "a column of the raw file"),
    ('"PM-OX"', '"PM-OY"', "also[0].channels.PT.instrument", '"PM-OY"', "bench.toml"),
    ('"PM-OX"', '"DP-A"', "also[0].channels.PT.instrument", '"DP-A"', "one column for each instrument"),
    ('"slow.txt"', '"slov.txt"', "also[0].file", '"slov.txt"', "a raw file in the folder"),
    ('offset = "1.3 s ± 0.05 s"', 'event = { here = ["DP-A", "climbs"], there = ["valve", "rises"], u = "1 ms" }',
     "also[0].event.here", '"climbs"', "rises or falls"),
    ('offset = "1.3 s ± 0.05 s"', 'event = { here = ["DP-B", "rises"], there = ["valve", "rises"], u = "1 ms" }',
     "also[0].event.here", '"DP-B"', "a column of runs/W07/W07.csv"),
    ('offset = "1.3 s ± 0.05 s"', 'event = { here = ["water", "rises"], there = ["valve", "rises"], u = "1 ms" }',
     "also[0].event.here", "never rises", "rises once"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "put", "key", "found", "expected"), CASES)
def test_what_is_wrong_is_told_by_its_key(
    tmp_path: Path, text: str, put: str, key: str, found: str, expected: str
) -> None:
    problems = check(folder(tmp_path, ALSO.replace(text, put))).problems
    hit = [one for one in problems if one.key == key]
    assert hit, problems
    assert found in hit[0].found
    assert expected in hit[0].expected


def test_a_question_of_the_other_file_is_asked_by_its_own_key(tmp_path: Path) -> None:
    rows = slow_rows().replace("PT (bar(g))", "PT")
    (question,) = check(folder(tmp_path, rows=rows)).questions
    assert question.key == "also[0].channels.PT"
    assert "names no unit" in question.found


def test_passing_half_of_a_step() -> None:
    time = np.arange(0.0, 20.0, 0.1)
    values = np.where(time < 4.95, 1.0, 5.0)
    assert passes(time, values, "rises") == pytest.approx((4.95, 0.1))
    assert passes(time, values, "falls") is None
    assert passes(time, -values, "falls") == pytest.approx((4.95, 0.1))
    spoilt = values.copy()
    spoilt[3] = 9.0  # one wild value is no event
    assert passes(time, spoilt, "rises") == pytest.approx((4.95, 0.1))
    assert passes(time, np.ones(200), "rises") is None


def test_holes_are_not_bridged_beyond_the_limit() -> None:
    times = np.array([0.0, 1.0, 2.0, 5.0, 6.0])
    values = np.array([0.0, 1.0, 2.0, 5.0, np.nan])
    at = np.array([-0.1, 0.0, 0.5, 2.0, 3.5, 5.0, 5.5])
    np.testing.assert_array_equal(resampled(at, times, values, 1.5), [np.nan, 0, 0.5, 2, np.nan, 5, np.nan])
    np.testing.assert_array_equal(resampled(at, times, values, 3.0), [np.nan, 0, 0.5, 2, 3.5, 5, np.nan])


def test_json_and_explain_walk_back_to_both_files(tmp_path: Path) -> None:
    home = folder(tmp_path)
    done = app.reduce(home)
    readings = serial.reduce(done.campaign, done.reduced)["circuits"]["ox"]["readings"]
    own = [one for one in readings if one["run"] == "W07"]
    assert own
    digest = hashlib.sha256(slow_rows().encode()).hexdigest()
    for one in own:
        (also,) = one["also"]
        assert (also["file"], also["sha256"]) == (SLOW, digest)
        first, last = also["rows"]
        assert 2 <= first < last <= 281
    assert all(one["also"] == [] for one in readings if one["run"] != "W07")
    node = app.explain(home, "W07.ox[1]").node
    leaves = {child.file: child.lines for child in node.children if child.kind == "file"}
    assert leaves[SLOW] == tuple(own[0]["also"][0]["rows"])
    assert leaves["runs/W07/W07.csv"] == tuple(own[0]["rows"])


def test_a_channel_of_the_second_file_may_have_its_own_skew(tmp_path: Path) -> None:
    also = ALSO.replace('"PM-OX" }', '"PM-OX", skew = "2 ms" }')
    assert {tag: one.value for tag, one in trace_of(folder(tmp_path, also)).skews.items()} == {"PM-OX": 0.002}
