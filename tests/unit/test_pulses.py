"""Pulses counted from row to row become a frequency without delay."""

from pathlib import Path

import numpy as np
import pytest

from headrace.files.check import check
from headrace.files.folder import gather
from headrace.files.traces import per_second
from headrace.records.given import Trace
from support import golden_folder

FT = """
[[instrument]]
tag = "FT-1"
measures = "frequency"
range = ["0 Hz", "2000 Hz"]
accuracy = "0.1 % FS"
"""


def test_a_falling_frequency_is_not_late() -> None:
    time = np.arange(0.0, 10.0, 0.05)
    turned = 400 * time - 10 * time**2  # pulses so far, of a frequency that falls by 20 Hz a second
    counts = np.diff(turned, prepend=turned[0])
    found = per_second(time, counts)
    np.testing.assert_allclose(found[1:-1], (400 - 20 * time)[1:-1], rtol=1e-9)
    assert np.isnan(found[[0, -1]]).all()


def test_uneven_rows_and_restarts() -> None:
    time = np.array([0.0, 0.1, 0.3, 0.4, 5.0, 5.1, 5.2])
    counts = np.array([9.0, 10.0, 20.0, 10.0, 7.0, 10.0, 10.0])
    found = per_second(time, counts, breaks=(4,))
    np.testing.assert_allclose(found[[1, 2, 5]], 100.0)
    assert np.isnan(found[[0, 3, 4, 6]]).all()


def folder(tmp_path: Path, channel: str, counts: list[str] | None = None, ft: str = FT) -> Path:
    """The golden folder with a column of pulses."""
    lines = golden_folder.rows().splitlines()
    values = counts or [str(40 + k % 2) for k in range(len(lines) - 1)]
    raw = (
        "\n".join([f"{lines[0]};imp", *(f"{line};{n}" for line, n in zip(lines[1:], values, strict=True))])
        + "\n"
    )
    run = golden_folder.files()["runs/W07/run.toml"].replace("[tare]", f"{channel}\n[tare]")
    bench = golden_folder.files()["bench.toml"]
    at = bench.index("[[instrument]]")
    return golden_folder.write(tmp_path, {
        "runs/W07/run.toml": run, "runs/W07/W07.csv": raw, "runs/W07/W07.csv.sha256": None,
        "bench.toml": bench[:at] + ft + bench[at:],
    })  # fmt: skip


def test_from_the_raw_file(tmp_path: Path) -> None:
    gathered = gather(folder(tmp_path, '"imp" = { instrument = "FT-1", pulses = true }'))
    assert (gathered.problems, gathered.questions) == ((), ())
    assert gathered.campaign is not None
    trace = gathered.campaign.runs["W07"].trace
    assert isinstance(trace, Trace)
    assert trace.pulses == {"FT-1"}
    np.testing.assert_allclose(trace.channels["FT-1"][1:-1], 405.0)


CASES = [
    ('{ instrument = "PG-TAP", pulses = true }', None, "pulses", "stores pressure", "gives a frequency"),
    ('{ instrument = "FT-1", pulses = true, unit = "bar" }', None, "pulses", '"bar"', "no unit"),
    ('{ instrument = "FT-1", pulses = true }', "12.5", "pulses", "whole numbers", "pulses counted"),
]


@pytest.mark.parametrize(("channel", "value", "key", "found", "expected"), CASES)
def test_what_counts_no_pulses_is_refused(
    tmp_path: Path, channel: str, value: str | None, key: str, found: str, expected: str
) -> None:
    rows = len(golden_folder.rows().splitlines()) - 1
    counts = None if value is None else [value.replace(".", ",")] * rows
    (problem,) = check(folder(tmp_path, f'"imp" = {channel}', counts)).problems
    assert problem.key == f"channels.imp.{key}"
    assert found in problem.found
    assert expected in problem.expected
