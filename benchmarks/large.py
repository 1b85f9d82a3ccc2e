"""An invented campaign of long runs with many channels, as text, to time reading and reducing by."""

import hashlib
import os
from pathlib import Path

import numpy as np

CHANNELS = 16
AREA, C_THROAT, RHO = 2.35e-4, 0.985 * np.pi / 4 * 0.02602**2 / np.sqrt(1 - (26.02 / 52.48) ** 4), 998.2

CAMPAIGN = 'format = 1\nname = "Long runs"\ndate = 2026-03-14\ninvented = true\n[defaults]\ndraws = 20000\n'
BENCH = """\
[[instrument]]
tag = "DP-A"
measures = "drop"
range = ["0 bar", "2.5 bar"]
accuracy = "0.1 % FS"
[[tap]]
id = "T-OX"
height = "0.35 m ± 5 mm"
bore = "40 mm"
basis = "static"
[[meter]]
id = "FV-A"
kind = "venturi-machined"
dp = "DP-A"
edition = "ISO 5167-4:2003"
d_pipe = "52.48 mm ± 0.03 mm"
d_throat = "26.02 mm ± 0.01 mm"
c = "0.985 ± 1 % (k=2)"
[[line]]
id = "A"
meter = "FV-A"
"""
ARTICLE = """\
serial = "L-01"
[[circuit]]
id = "ox"
element = "pressure-swirl"
count = 60
bore = "3 mm ± 0.01 mm"
tap = "T-OX"
outlet_height = "0.35 m"
alloy = "copper"
"""


DIFFERENT = 8
"""Raw files that differ; further runs are links to these, since only their number matters here."""


def write(folder: Path, runs: int, *, seconds: float = 60.0, rate: float = 1000.0) -> Path:
    """Write a campaign with so many runs; the folder."""
    folder.mkdir(parents=True)
    more = "".join(
        f'[[instrument]]\ntag = "P{n:02d}"\nmeasures = "gauge"\nrange = ["0 bar(g)", "40 bar(g)"]\n'
        'accuracy = "0.25 % FS"\n'
        for n in range(1, CHANNELS)
    )
    (folder / "campaign.toml").write_text(CAMPAIGN, encoding="utf-8")
    (folder / "bench.toml").write_text(more + BENCH, encoding="utf-8")
    (folder / "article.toml").write_text(ARTICLE, encoding="utf-8")
    for number in range(runs):
        home = folder / "runs" / f"W{number + 1:03d}"
        home.mkdir(parents=True)
        if number < DIFFERENT:
            data = text(np.random.default_rng(number), seconds, rate)
            (home / "log.csv").write_bytes(data)
            (home / "log.csv.sha256").write_text(f"{hashlib.sha256(data).hexdigest()}  log.csv\n")
        else:
            for name in ("log.csv", "log.csv.sha256"):
                os.link(folder / "runs" / f"W{number % DIFFERENT + 1:03d}" / name, home / name)
        (home / "run.toml").write_text(run(number), encoding="utf-8")
    return folder


def run(number: int) -> str:
    """run.toml of one of them."""
    channels = "".join(f'"P{n:02d} (bar)" = {{ instrument = "P{n:02d}" }}\n' for n in range(1, CHANNELS))
    return f"""\
kind = "water"
method = "metered"
date = 2026-03-{1 + number % 28:02d}
ambient = "1009 mbar(a) ± 1 mbar"
water_temperature = "17.2 degC ± 0.5 K"
file = "log.csv"
[[flow]]
circuits = ["ox"]
lines = ["A"]
p_tap = "P01"
[channels]
"DP-A (bar)" = {{ instrument = "DP-A" }}
{channels}"""


def text(rng: np.random.Generator, seconds: float, rate: float) -> bytes:
    """What the logger wrote: five seconds of rest, a blowdown, five seconds of rest; noise on every channel."""
    time = np.arange(round(seconds * rate)) / rate
    flowing = (time >= 5) & (time < seconds - 5)
    drop = np.where(flowing, 9e5 * np.exp(-(time - 5) / 60), 0.0)
    m_dot = AREA * np.sqrt(2 * RHO * drop)
    columns = [(m_dot / C_THROAT) ** 2 / (2 * RHO) / 1e5 + rng.normal(0, 2e-4, time.size)]
    columns += [drop / 1e5 + 0.2 * n * flowing + rng.normal(0, 3e-3, time.size) for n in range(CHANNELS - 1)]
    head = ["t (s)", "DP-A (bar)", *(f"P{n:02d} (bar)" for n in range(1, CHANNELS))]
    table = np.column_stack([time, *columns])
    form = "%.3f" + ",%.5f" * CHANNELS
    return (",".join(head) + "\n" + "\n".join(form % tuple(row) for row in table.tolist()) + "\n").encode()
