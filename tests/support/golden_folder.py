"""An invented campaign folder in which every key of the format stands at least once, for tests to read and to break."""

import hashlib
from pathlib import Path

import numpy as np

CAMPAIGN = """\
format = 1
name = "Heron water campaign"
date = 2026-03-14
invented = true
signers = ["A. Example", "B. Example"]
[limits]
injector_drop = "12 %"
vapour_margin = "3 bar"
cavitation_doubt = 2.1
cavitation_stop = 1.6
tare_shift = "0.2 %"
window = "1.5 s"
[defaults]
run_to_run = "0.4 %"
day_to_day = "0.2 %"
re_distance = "0.6 %"
water_density = "0.03 %"
polytropic = "1.25 ± 0.08 (k=1)"
coverage = "95 %"
draws = 20000
"""

BENCH = """\
[[instrument]]
tag = "DP-A"
measures = "drop"
range = ["0 bar", "2.5 bar"]
accuracy = "0.1 % FS"
certificate = "C-101"
drift = "0.05 % FS"
lag = "20 ms"
height = "0.40 m"
signal = ["4 mA", "20 mA"]
[[instrument]]
tag = "PM-OX"
measures = "gauge"
range = ["0 bar(g)", "40 bar(g)"]
accuracy = "0.2 % of reading + 0.05 % FS, k=2"
[[instrument]]
tag = "P1-A"
measures = "gauge"
range = ["0 bar(g)", "40 bar(g)"]
accuracy = "0.25 % FS"
[[instrument]]
tag = "P-BACK"
measures = "abs"
range = ["0 bar(a)", "6 bar(a)"]
accuracy = "10 mbar"
[[instrument]]
tag = "TW-A"
measures = "temperature"
range = ["0 degC", "50 degC"]
accuracy = "0.5 K"
[[instrument]]
tag = "SCALE-1"
measures = "mass"
range = ["0 kg", "150 kg"]
accuracy = "0.05 kg"
division = "20 g"
[[instrument]]
tag = "PG-TAP"
measures = "gauge"
range = ["0 bar(g)", "25 bar(g)"]
accuracy = "class 1.6"
division = "0.5 bar"
[[instrument]]
tag = "PG-FU"
measures = "gauge"
range = ["0 bar(g)", "25 bar(g)"]
accuracy = "1 % FS"
division = "0.5 bar"
[[tap]]
id = "T-OX"
height = "0.35 m ± 5 mm"
bore = "40 mm"
basis = "static"
[[tap]]
id = "T-FU"
height = "0.25 m"
bore = "32 mm"
basis = "total"
[[meter]]
id = "FV-A"
kind = "venturi-machined"
dp = "DP-A"
p_up = "P1-A"
edition = "ISO 5167-4:2003"
certificate = "C-201"
d_pipe = "52.48 mm ± 0.03 mm"
d_throat = "26.02 mm ± 0.01 mm"
c = "0.9885 ± 0.6 % (k=2)"
[[line]]
id = "A"
meter = "FV-A"
temperature = "TW-A"
bore = "52.5 mm"
inertance = "900 1/m"
[[line]]
id = "B"
[[vessel]]
id = "WV-A"
content = "water"
volume = "0.400 m3 ± 1 %"
section = "0.283 m2 ± 0.5 %"
rating = "40 bar(g)"
relief = "38 bar(g)"
"""

CERTIFICATES = """\
[[reference]]
id = "DWT-2"
accuracy = "0.02 % of reading, k=2"
origin = "dead-weight tester, certificate 2026-11 (invented)"
[[certificate]]
id = "C-101"
date = 2025-11-20
accuracy = "0.05 % of reading + 0.02 % FS, k=2"
reference = "DWT-2"
points = [["0 bar", "0.0004 bar"], ["2.5 bar", "2.5009 bar"]]
origin = "invented laboratory, 12"
[[certificate]]
id = "C-201"
date = 2025-10-02
accuracy = "0.4 % of reading, k=2"
"""

ARTICLE = """\
serial = "H-03"
[[circuit]]
id = "ox"
element = "pressure-swirl"
count = 60
bore = "1.20 mm ± 0.01 mm"
area = "67.9 mm2 ± 1 mm2"
tap = "T-OX"
outlet_height = "0.30 m"
alloy = "austenitic-steel"
[[circuit]]
id = "fuel"
element = "plain-sharp"
count = 60
bore = "0.80 mm ± 0.01 mm"
tap = "T-FU"
outlet_height = "0.30 m"
alloy = "none"
[[circuit]]
id = "film"
element = "plain-rounded"
count = 24
bore = "0.50 mm ± 0.01 mm"
tap = "T-FU"
outlet_height = "0.31 m"
"""

ENGINE = """\
[chamber]
d_throat = "98.4 mm ± 0.05 mm"
c_throat = "0.985 ± 0.005"
ambient = "1013 mbar(a) ± 5 mbar"
[c_star]
of_ratio = [2.0, 2.2, 2.4]
p_chamber = ["15 bar(a)", "25 bar(a)"]
table = [["1775 m/s", "1780 m/s"], ["1785 m/s", "1790 m/s"], ["1790 m/s", "1795 m/s"]]
doubt = "0.5 % (k=1)"
efficiency = "0.93 ± 0.02 (k=1)"
origin = "equilibrium calculation (invented)"
[design]
p_chamber = "20 bar(a)"
of_ratio = 2.2
film_counts = true
[[instrument]]
tag = "PG-OX"
measures = "gauge"
range = ["0 bar(g)", "60 bar(g)"]
accuracy = "0.6 % FS"
[ox]
propellant = "lox"
temperature = "90.5 K ± 0.5 K"
density = "1143 kg/m3 ± 2 kg/m3"
[[ox.circuit]]
id = "ox"
characteristic = "alone"
step = "3 %"
shared_step = "same drill"
film = false
[ox.feed]
area_eff = "2.9e-4 m2 ± 2 %"
to_tap = "T-OX"
basis = "static"
friction = "40 %"
bore = "40 mm"
re = 1.5e5
head = "1.8 m ± 0.3 m"
[ox.tank]
gauge = "PG-OX"
rating = "50 bar(g)"
relief = "46 bar(g)"
droop = "0.8 bar ± 0.2 bar"
lockup = "0.3 bar"
setting = "0.2 bar"
[fuel]
propellant = "kerosene"
temperature = "15 degC ± 2 K"
[[fuel.circuit]]
id = "fuel"
step_ratio = "1.00 ± 1 % (k=1)"
[[fuel.circuit]]
id = "film"
film = true
[fuel.feed]
to_tap = "T-FU"
basis = "total"
[fuel.tank]
gauge = "PG-TAP"
"""

METERED = """\
kind = "water"
method = "metered"
date = 2026-03-12
ambient = "1009 mbar(a) ± 1 mbar"
file = "W07.csv"
[[flow]]
circuits = ["ox"]
lines = ["A"]
p_tap = "PM-OX"
[logger]
delimiter = ";"
decimal = "comma"
[channels]
"dp venturi A" = { instrument = "DP-A", unit = "mA" }
"p manifold" = { instrument = "PM-OX" }
"water" = { instrument = "TW-A" }
[tare]
before = ["0.0 s", "1.5 s"]
after = ["16.0 s", "18.0 s"]
[window]
start = "3.0 s"
end = "9.5 s"
reason = "valve B bounced at 9.6 s"
"""

BY_HAND = """\
kind = "water"
method = "by-hand"
date = 2026-03-12
ambient = "1009 mbar(a) ± 1 mbar"
water_temperature = "17.2 degC ± 0.5 K"
[[flow]]
circuits = ["fuel"]
lines = ["B"]
p_tap = "PG-TAP"
[total]
vessel = "WV-A"
level_before = "1.20 m ± 1 mm"
level_after = "0.98 m ± 1 mm"
duration = "12.4 s ± 0.2 s"
line = "B"
[[hand]]
instrument = "PG-TAP"
moment = "start"
value = "12.4 bar(g)"
time = "0 s ± 0.3 s"
division = "0.2 bar"
reader = "AB"
[[hand]]
instrument = "PG-TAP"
moment = "end"
value = "9,5 bar(g)"
"""

LONG = """\
kind = "water"
method = "long-minus-short"
date = 2026-03-13
ambient = "1009 mbar(a) ± 1 mbar"
water_temperature = "17.2 degC ± 0.5 K"
[[flow]]
circuits = ["fuel"]
lines = ["B"]
p_tap = "PG-TAP"
[exclude]
reason = "the hose came off the weigh tank"
[total]
mass = "61.3 kg ± 0.05 kg"
duration = "12.4 s ± 0.2 s"
instrument = "SCALE-1"
minus = "H01"
[[hand]]
instrument = "PG-TAP"
moment = "start"
value = "10.0 bar(g)"
[[hand]]
instrument = "PG-TAP"
moment = "end"
value = "8.0 bar(g)"
"""


def rows() -> str:
    """An invented record: decimal comma, semicolons, units in the headings but for the raw current."""
    t = np.arange(0, 18.05, 0.1)
    flowing = (t > 2) & (t < 15)
    dp = np.where(flowing, 4 + 16 * 0.5, 4.0)
    p = np.where(flowing, 12.5, 0.0)
    lines = ["t [s];dp venturi A;p manifold [bar(g)];water [degC]"]
    lines += [f"{a:.1f};{b:.3f};{c:.3f};17.25" for a, b, c in zip(t, dp, p, strict=True)]
    return "\n".join(lines).replace(".", ",") + "\n"


def files() -> dict[str, str]:
    """Every file of the folder by its path."""
    raw = rows()
    return {
        "campaign.toml": CAMPAIGN,
        "bench.toml": BENCH,
        "certificates.toml": CERTIFICATES,
        "article.toml": ARTICLE,
        "engine.toml": ENGINE,
        "runs/W07/run.toml": METERED,
        "runs/W07/W07.csv": raw,
        "runs/W07/W07.csv.sha256": f"{hashlib.sha256(raw.encode()).hexdigest()}  W07.csv\n",
        "runs/H01/run.toml": BY_HAND,
        "runs/H02/run.toml": LONG,
    }


def write(folder: Path, changed: dict[str, str | None] | None = None) -> Path:
    """Write the folder; `changed` replaces files by text, or leaves them out (None)."""
    for name, text in (files() | (changed or {})).items():
        if text is not None:
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
    return folder
