"""An invented bench of two air vessels and two water vessels, and ledgers typed for it: for tests of the day."""

from pathlib import Path
from typing import Any

from headrace.app import BenchDay, day

CAMPAIGN = 'format = 1\nname = "ledger (invented)"\ndate = 2026-03-14\ninvented = true\n'
BENCH = """\
[[instrument]]
tag = "PM-OX"
measures = "gauge"
range = ["0 bar(g)", "40 bar(g)"]
accuracy = "0.1 % FS"
[[instrument]]
tag = "PB"
measures = "abs"
range = ["0 bar(a)", "2 bar(a)"]
accuracy = "2 mbar"
[[line]]
id = "A"
vessel = "WV-A"
[[vessel]]
id = "WV-A"
content = "water"
volume = "0.400 m3 ± 1 %"
section = "0.250 m2 ± 0.5 %"
below = "10 L"
pushed_by = "AV-A"
rating = "40 bar(g)"
relief = "38 bar(g)"
[[vessel]]
id = "AV-A"
content = "air"
volume = "1.000 m3 ± 0.5 %"
rating = "40 bar(g)"
[[vessel]]
id = "AV-B"
content = "air"
volume = "0.500 m3 ± 0.5 %"
rating = "60 bar(g)"
relief = "55 bar(g)"
[[valve]]
id = "V-A"
between = ["AV-A", "WV-A"]
[[valve]]
id = "V-IN"
between = ["AV-A"]
"""
HEAD = """\
date = 2026-03-12
ambient = "1000 mbar(a) ± 1 mbar"
room = "15 degC ± 1 K"
p_doubt = "0.05 bar"
level_doubt = "2 mm"
"""


def write(folder: Path, *events: str, head: str = HEAD, bench: str = BENCH) -> Path:
    """A campaign without runs; each event as TOML lines, its header left out."""
    ledger = head + "".join(f"[[event]]\n{event}\n" for event in events)
    for name, text in (("campaign.toml", CAMPAIGN), ("bench.toml", bench), ("ledger.toml", ledger)):
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def walked(folder: Path, *events: str, **more: Any) -> BenchDay:
    """The day that these events tell."""
    return day(write(folder, *events, **more))


def codes(folder: Path, *events: str, **more: Any) -> list[str]:
    """Codes of what contradicts itself in it, but for runs that are nowhere: this campaign has none."""
    found = walked(folder, *events, **more).notices
    return [one.code for one in found if one.code != "run-unmatched"]


def state(time: str, **read: dict[str, str]) -> str:
    """A `state` event: p, level, valves by id."""
    return event(time, "state", **read)


def event(time: str, what: str, **keys: Any) -> str:
    """One event as TOML lines; dicts become inline tables, true and false stay bare."""
    lines = [f'time = "{time}"', f'what = "{what}"']
    for key, value in keys.items():
        name = key.rstrip("_")
        if isinstance(value, dict):
            inner = ", ".join(f'"{one}" = "{text}"' for one, text in value.items())
            lines.append(f"{name} = {{ {inner} }}")
        elif isinstance(value, bool):
            lines.append(f"{name} = {str(value).lower()}")
        elif name == "date":
            lines.append(f"date = {value}")
        else:
            lines.append(f'{name} = "{value}"')
    return "\n".join(lines)
