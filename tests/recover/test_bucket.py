"""Small invented benches with a bucket, a scale and a stopwatch: their truth is found again, with doubts that fit.

Nothing published is checked here. The tables are made below with no code of ours: every error is drawn from the doubt
that the folder states for it, and some benches splash, which nothing states and only the repeats can tell.
"""

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binom

from headrace.files.folder import gather, read
from headrace.jobs.reduce import reduce
from headrace.records.readings import Characteristic

CAMPAIGNS = 120
HITS = binom.interval(0.999, CAMPAIGNS, 0.95)
G, RHO_AIR, RHO_WEIGHT, RHO_WATER = 9.80665, 1.2, 8000.0, 998.774  # water at 17 degC (from memory)
HEIGHT, TIMING, SLOW = 0.25, 0.25, 0.05
DIVISION, SPAN = 0.5, 16.0  # of the gauge, bar
GAIN, STEP = 0.002, 0.02  # of the scale, relative and kg

TOP = """\
format = 1
name = "Invented bucket bench"
date = 2026-03-14
invented = true
"""
BENCH = f"""\
[[instrument]]
tag = "PG"
measures = "gauge"
range = ["0 bar(g)", "{SPAN:g} bar(g)"]
accuracy = "CLASS % FS"
division = "{DIVISION} bar"
[[instrument]]
tag = "SCALE"
measures = "mass"
range = ["0 kg", "60 kg"]
accuracy = "{100 * GAIN:g} % of reading"
division = "{1000 * STEP:g} g"
[[tap]]
id = "T"
height = "{HEIGHT} m"
bore = "25 mm"
basis = "static"
[[line]]
id = "A"
"""
ARTICLE = """\
serial = "X-1"
[[circuit]]
id = "ox"
element = "pressure-swirl"
count = 12
bore = "2 mm"
area = "37.7 mm2"
tap = "T"
outlet_height = "0 m"
"""
RUN = f"""\
kind = "water"
method = "bucket"
date = 2026-03-DAY
ambient = "1009 mbar(a)"
water_temperature = "17.0 degC ± 0.5 K"
file = "table.csv"
[[flow]]
circuits = ["ox"]
lines = ["A"]
p_tap = "PG"
[catch]
timing = "{TIMING} s"
timing_shared = "{SLOW} s"
scale = "SCALE"
full = {{ column = "full", unit = "lb" }}
empty = {{ column = "empty", unit = "lb" }}
duration = {{ column = "time" }}
pressure = {{ column = "p gauge" }}
number = "no"
"""
POUND = 0.45359237


def table(
    draw: np.random.Generator, area: float, gauge: float, gain: float, splash: float, sizes: list[int]
) -> str:
    """One table of catches: rows of no, masses in pounds, time, pressure in psi."""
    area = area * math.exp(draw.normal(0, 0.003))  # set-up; the day is added by the caller
    slow = draw.uniform(-SLOW, SLOW)
    rows = ["no,full,empty,time [s],p gauge [psi]"]
    for level, repeats in zip((4.0, 7.0, 11.0, 14.0), sizes, strict=False):
        for number in range(repeats):
            p = level + draw.normal(0, 0.02)
            time = draw.uniform(18, 30)
            dp = p * 1e5 + RHO_WATER * G * HEIGHT
            mass = area * math.sqrt(2 * RHO_WATER * dp) * time * math.exp(draw.normal(0, splash))
            shown = mass * (1 - RHO_AIR / RHO_WATER) / (1 - RHO_AIR / RHO_WEIGHT) / (1 + gain)
            empty = draw.uniform(1.9, 2.2)
            full, empty = (round(kg / STEP) * STEP for kg in (empty + shown, empty))
            watch = time - slow - draw.uniform(-TIMING, TIMING)
            seen = p - gauge - draw.uniform(-1, 1) * DIVISION / 4
            rows.append(
                f"{number + 1},{full / POUND:.4f},{empty / POUND:.4f},{watch:.3f},{seen / 0.0689475729:.4f}"
            )
    return "\n".join(rows) + "\n"


def campaign(folder: Path, seed: int, *, splash: float, days: int, of_span: float) -> float:
    """Write one campaign; its true effective area [m2]. of_span: class of the gauge."""
    draw = np.random.default_rng(seed)
    area = draw.uniform(1.0e-5, 2.0e-5)
    gauge, gain = draw.uniform(-1, 1) * of_span * SPAN, draw.uniform(-1, 1) * GAIN
    for name, text in (
        ("campaign", TOP),
        ("bench", BENCH.replace("CLASS", f"{100 * of_span:g}")),
        ("article", ARTICLE),
    ):
        folder.mkdir(parents=True, exist_ok=True)
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    for day in range(days):
        home = folder / "runs" / f"B{day + 1}"
        home.mkdir(parents=True)
        sizes = [int(n) for n in draw.integers(2, 5, size=int(draw.integers(3, 5)))]
        daily = area * math.exp(draw.normal(0, 0.003))
        (home / "run.toml").write_text(RUN.replace("DAY", f"{10 + day}"), encoding="utf-8")
        (home / "table.csv").write_text(table(draw, daily, gauge, gain, splash, sizes), encoding="utf-8")
    return area


def found(folder: Path) -> Characteristic:
    gathered = gather(folder)
    assert gathered.problems == ()
    assert gathered.questions == ()
    return reduce(read(folder)).characteristics["ox"]


@pytest.mark.parametrize(
    ("splash", "days", "of_span"),
    [(0.0, 1, 0.01), (0.0, 2, 0.001), (0.025, 1, 0.001)],
    ids=["poor gauge", "good gauge, two days", "good gauge, splash"],
)
def test_doubts_are_as_large_as_errors(splash: float, days: int, of_span: float, tmp_path: Path) -> None:
    pulls, hits = [], 0
    for seed in range(CAMPAIGNS):
        truth = campaign(tmp_path / f"{seed}", seed, splash=splash, days=days, of_span=of_span)
        area = found(tmp_path / f"{seed}").area_eff
        pulls.append((area.value - truth) / area.u)
        hits += area.low <= truth <= area.high
    rms = float(np.sqrt(np.mean(np.square(pulls))))
    print(rms, np.mean(pulls), hits)
    assert 0.82 <= rms <= 1.12
    assert abs(float(np.mean(pulls))) < 0.25
    assert HITS[0] <= hits <= HITS[1]
