"""How long a command takes to say hello, against the import of the library its door is made of."""

import subprocess
import sys
import time
from pathlib import Path
from statistics import median

ROUNDS = 15
MOST_RATIO = 2.0


def seconds(command: list[str]) -> float:
    """Wall time of a whole process."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def judged() -> tuple[float, list[str]]:
    """Medians taken in turns, their ratio; and lines that tell."""
    headrace = [str(Path(sys.executable).with_name("headrace")), "--help"]
    click = [sys.executable, "-c", "import click"]
    pairs = [(seconds(headrace), seconds(click)) for _ in range(ROUNDS)]
    ours, theirs = (median(column) for column in zip(*pairs, strict=True))
    return ours / theirs, [
        f"  headrace --help:          {1e3 * ours:7.1f} ms",
        f'  python -c "import click": {1e3 * theirs:7.1f} ms',
    ]
