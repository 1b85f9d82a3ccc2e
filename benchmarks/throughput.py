"""Large campaigns and large files, as whole processes: by runs, by processes, again; a long file brought in."""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import large
import numpy as np

RUNS = 100
ROWS, COLUMNS = 3_000_000, 6
ROUNDS = 5
HEADRACE = str(Path(sys.executable).with_name("headrace"))
RAW = """\
import sys, polars as pl
pl.scan_csv(sys.argv[1]).sink_parquet(sys.argv[2])
"""


@dataclass(frozen=True)
class Spent:
    """What a process took: wall time [s], largest resident memory of it and of any one it started [MB]."""

    seconds: float
    megabytes: float


def spent(command: list[str], *, threads: str | None = None) -> Spent:
    """Run a whole process."""
    around = os.environ | ({"POLARS_MAX_THREADS": threads} if threads else {})
    start = time.perf_counter()
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=around)
    _, status, used = os.wait4(running.pid, 0)
    running.returncode = os.waitstatus_to_exitcode(status)
    if running.returncode not in (0, 1):
        raise SystemExit(f"{command} ended with {running.returncode}")
    return Spent(time.perf_counter() - start, used.ru_maxrss / 1024)


def reduced(folder: Path, processes: int, *, cold: bool = True) -> Spent:
    """`reduce` of a folder; cold: nothing of it was read before."""
    if cold:
        shutil.rmtree(folder / "results", ignore_errors=True)
    return spent([HEADRACE, "reduce", str(folder), "--processes", str(processes)], threads="1")


def campaigns(runs: int = RUNS) -> tuple[dict[str, float], list[str]]:
    """Ratios by name, and lines that tell."""
    with tempfile.TemporaryDirectory() as place:
        half, whole = (large.write(Path(place) / str(n), n) for n in (runs // 2, runs))
        one_half, one, two = reduced(half, 1), reduced(whole, 1), reduced(whole, 2)
        again = [reduced(whole, 2, cold=False).seconds for _ in range(ROUNDS)]
        hello = [spent([HEADRACE, "--help"]).seconds for _ in range(ROUNDS)]
    ratios = {
        "twice the runs take": one.seconds / one_half.seconds,
        "their memory is": one.megabytes / one_half.megabytes,
        "two processes are faster": one.seconds / two.seconds,
        "reduce again, against --help": median(again) / median(hello),
    }
    return ratios, [
        "  runs of 60 s, 1 kHz, 16 channels",
        f"  {runs // 2} runs, one process: {one_half.seconds:6.1f} s, {one_half.megabytes:5.0f} MB",
        f"  {runs} runs, one process:    {one.seconds:6.1f} s, {one.megabytes:5.0f} MB",
        f"  {runs} runs, two processes:  {two.seconds:6.1f} s, {two.megabytes:5.0f} MB in the first",
        f"  again, nothing changed: {1e3 * median(again):6.0f} ms; headrace --help: {1e3 * median(hello):6.0f} ms",
    ]  # fmt: skip


def long_file(path: Path) -> None:
    """A file with nothing to ask: seconds, and numbers with a unit."""
    rng = np.random.default_rng(1)
    with path.open("w", encoding="ascii") as file:
        file.write("t (s)," + ",".join(f"p{n} (bar)" for n in range(1, COLUMNS)) + "\n")
        for start in range(0, ROWS, 10_000):
            clock = np.arange(start, start + 10_000) / 1000
            table = np.column_stack([clock, rng.normal(3.0, 1.0, (10_000, COLUMNS - 1))])
            form = "%.3f" + ",%.5f" * (COLUMNS - 1)
            file.write("\n".join(form % tuple(row) for row in table.tolist()) + "\n")


def brought() -> tuple[float, list[str]]:
    """Median of the ratios of pairs taken in turns, and lines that tell."""
    with tempfile.TemporaryDirectory() as place:
        home, raw = Path(place) / "campaign", Path(place) / "long.csv"
        long_file(raw)
        large.write(home, 0)
        pairs = []
        for _ in range(ROUNDS):
            plain = spent([sys.executable, "-c", RAW, str(raw), str(Path(place) / "long.parquet")])
            pairs.append((spent([HEADRACE, "bring", str(home), str(raw)]), plain))
            shutil.rmtree(home / "runs")
            shutil.rmtree(home / "results")
    ratio = median(ours.seconds / plain.seconds for ours, plain in pairs)
    ours, plain = (median(one.seconds for one in column) for column in zip(*pairs, strict=True))
    return ratio, [
        f"  {ROWS} rows, {COLUMNS} columns: bring {ours:5.2f} s, {max(one.megabytes for one, _ in pairs):4.0f} MB;",
        f"  scan to parquet by polars alone: {plain:5.2f} s, {max(one.megabytes for _, one in pairs):4.0f} MB",
    ]
