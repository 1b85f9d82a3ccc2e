"""The text of an invented campaign folder: what a crew would have typed into its files."""

import datetime
import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from headrace.demo.simulator.instruments import Device, Paper, Standard
from headrace.demo.simulator.plan import (
    CircuitPlan,
    EnginePlan,
    LinePlan,
    Plan,
    RunPlan,
    SidePlan,
    VesselPlan,
)
from headrace.demo.simulator.said import SIZE, Said

HEADER = "# An invented campaign, made by a simulator. No such bench, injector or engine exists.\n"

Pairs = Sequence[tuple[str, object]]


def _value(value: object) -> str:
    if isinstance(value, Said):
        value = value.text()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }"
    return str(value)


def _key(name: str) -> str:
    return name if name.replace("_", "").replace("-", "").isalnum() else json.dumps(name, ensure_ascii=False)


def table(title: str, pairs: Pairs) -> str:
    """A TOML table; pairs whose value is None are left out."""
    head = f"{title}\n" if title else ""
    return head + "".join(f"{k} = {_value(v)}\n" for k, v in pairs if v is not None)


def _range(device: Device) -> list[str]:
    if device.measures == "temperature":
        return [f"{device.low - 273.15:g} degC", f"{device.high - 273.15:g} degC"]
    mark = {"gauge": "(g)", "abs": "(a)"}.get(device.measures, "")
    size = SIZE[device.unit]
    return [f"{end / size:g} {device.unit}{mark}" for end in (device.low, device.high)]


def instrument(device: Device) -> str:
    """One [[instrument]] block."""
    if device.measures == "temperature":
        accuracy = f"{device.absolute:g} K"
    elif device.of_reading:
        accuracy = f"{100 * device.of_reading:g} % of reading"
    else:
        accuracy = f"{100 * device.limits:g} % FS"
    pairs: Pairs = [
        ("tag", device.tag),
        ("measures", device.measures),
        ("range", _range(device)),
        ("accuracy", accuracy),
        ("certificate", device.paper.id if device.paper else None),
        ("drift", f"{100 * device.drift:g} % FS" if device.paper and device.drift else None),
        ("division", f"{device.division / SIZE[device.unit]:g} {device.unit}" if device.division else None),
        ("lag", f"{1e3 * device.lag:g} ms" if device.lag else None),
        ("signal", [f"{1e3 * end:g} mA" for end in device.signal] if device.signal else None),
    ]
    return table("[[instrument]]", pairs)


def bench(plan: Plan) -> str:
    """bench.toml."""
    blocks = [HEADER, *map(instrument, plan.devices)]
    for circuit in plan.circuits:
        pairs = [
            ("id", circuit.tap),
            ("height", circuit.tap_height),
            ("bore", circuit.tap_bore),
            ("basis", circuit.basis),
        ]
        blocks.append(table("[[tap]]", pairs))
    blocks += [_meter(line) for line in plan.lines if line.meter]
    blocks += [_line(line) for line in plan.lines]
    blocks += [_vessel(vessel) for vessel in plan.vessels]
    return "\n".join(blocks)


def _meter(line: LinePlan) -> str:
    meter = line.meter
    assert meter is not None
    pairs: Pairs = [
        ("id", meter.id),
        ("kind", meter.kind),
        ("dp", meter.dp),
        ("p_up", meter.p_up),
        ("edition", "ISO 5167-4:2003"),
        ("d_pipe", meter.d_pipe),
        ("d_throat", meter.d_throat),
        ("c", meter.c),
    ]
    return table("[[meter]]", pairs)


def _line(line: LinePlan) -> str:
    pairs: Pairs = [
        ("id", line.id),
        ("meter", line.meter.id if line.meter else None),
        ("temperature", line.thermometer),
        ("vessel", line.vessel),
        ("bore", line.bore),
        ("inertance", f"{line.inertance:g} 1/m"),
    ]
    return table("[[line]]", pairs)


def _vessel(vessel: VesselPlan) -> str:
    pairs: Pairs = [
        ("id", vessel.id),
        ("content", vessel.content),
        ("volume", vessel.volume),
        ("section", vessel.section),
        ("below", vessel.below),
        ("pushed_by", vessel.pushed_by),
        ("rating", vessel.rating),
        ("relief", vessel.relief),
    ]
    return table("[[vessel]]", pairs)


def certificates(plan: Plan) -> str:
    """certificates.toml."""
    papers = {d.paper.id: (d, d.paper) for d in plan.devices if d.paper}
    standards = {p.standard.id: p.standard for _, p in papers.values() if p.standard}
    blocks = [HEADER, *map(_standard, standards.values())]
    blocks += [_paper(device, paper) for device, paper in papers.values()]
    return "\n".join(blocks)


def _standard(standard: Standard) -> str:
    pairs: Pairs = [
        ("id", standard.id),
        ("accuracy", f"{100 * standard.of_reading:g} % of reading, k={standard.k:g}"),
        ("origin", "dead-weight tester (invented)"),
    ]
    return table("[[reference]]", pairs)


def _paper(device: Device, paper: Paper) -> str:
    points = None
    if paper.bend is not None:
        mark = "(g)" if device.measures == "gauge" else ""
        size = SIZE[device.unit]
        shown = [device.low, device.low + device.span / 2, device.high]
        true = [s + bend * device.span for s, bend in zip(shown, (0.0, *paper.bend), strict=True)]
        points = [
            [f"{s / size:.6g} {device.unit}{mark}", f"{t / size:.6g} {device.unit}{mark}"]
            for s, t in zip(shown, true, strict=True)
        ]
    pairs: Pairs = [
        ("id", paper.id),
        ("date", _Bare(paper.date.isoformat())),
        (
            "accuracy",
            f"{100 * paper.of_reading:g} % of reading + {100 * paper.of_span:g} % FS, k={paper.k:g}",
        ),
        ("reference", paper.standard.id if paper.standard else None),
        ("points", points),
        ("origin", "calibration before the campaign (invented)"),
    ]
    return table("[[certificate]]", pairs)


def bare(day: datetime.date) -> object:
    """A date, as TOML writes it."""
    return _Bare(day.isoformat())


class _Bare:
    """A value that TOML writes without quotes: a date."""

    def __init__(self, text: str) -> None:
        self.text = text

    def __str__(self) -> str:
        return self.text


def article(plan: Plan) -> str:
    """article.toml."""
    return "\n".join([HEADER, table("", [("serial", plan.serial)]), *map(_circuit, plan.circuits)])


def _circuit(circuit: CircuitPlan) -> str:
    pairs: Pairs = [
        ("id", circuit.id),
        ("element", circuit.element),
        ("count", circuit.count),
        ("bore", circuit.bore),
        ("area", circuit.area),
        ("tap", circuit.tap),
        ("outlet_height", circuit.outlet_height),
        ("alloy", circuit.alloy),
    ]
    return table("[[circuit]]", pairs)


def engine(plan: Plan) -> str:
    """engine.toml."""
    what: EnginePlan = plan.engine
    blocks = [
        HEADER,
        table(
            "[chamber]",
            [("d_throat", what.d_throat), ("c_throat", what.c_throat), ("ambient", what.ambient)],
        ),
        table("[c_star]", _c_star(what)),
        table(
            "[design]",
            [("p_chamber", what.p_chamber), ("of_ratio", what.design_of), ("film_counts", True)],
        ),
        *(instrument(side.gauge) for side in what.sides.values()),
    ]
    taps = {circuit.id: circuit for circuit in plan.circuits}
    for name, side in what.sides.items():
        blocks += _side(name, side, taps[side.circuit])
    return "\n".join(blocks)


def _c_star(what: EnginePlan) -> Pairs:
    tail: Pairs = [
        ("doubt", f"{100 * what.c_star_doubt:g} % (k=1)"),
        ("efficiency", what.efficiency),
        ("origin", what.origin),
    ]
    if not what.of_ratio:
        return [("value", f"{what.c_star[0]:g} m/s"), *tail]
    head: Pairs = [
        ("of_ratio", list(what.of_ratio)),
        ("p_chamber", [what.p_chamber.text()]),
        ("table", [[f"{c:g} m/s"] for c in what.c_star]),
    ]
    return [*head, *tail]


def _side(name: str, side: SidePlan, circuit: CircuitPlan) -> list[str]:
    step = None if side.step is None else f"{100 * side.step:g} %"
    feed: Pairs = [
        ("area_eff", side.feed_area),
        ("to_tap", circuit.tap),
        ("basis", circuit.basis),
        ("friction", side.friction),
        ("bore", side.feed_bore),
        ("re", side.feed_re),
        ("head", side.head),
    ]
    tank: Pairs = [
        ("gauge", side.gauge.tag),
        ("rating", side.rating),
        ("relief", side.relief),
        ("droop", side.droop),
        ("lockup", side.lockup),
        ("setting", side.setting),
    ]
    own: Pairs = [
        ("propellant", side.propellant),
        ("temperature", side.temperature),
        ("density", side.density),
    ]
    return [
        table(f"[{name}]", own),
        table(f"[[{name}.circuit]]", [("id", side.circuit), ("step", step), ("film", False)]),
        table(f"[{name}.feed]", feed),
        table(f"[{name}.tank]", tank),
    ]


def campaign(plan: Plan) -> str:
    """campaign.toml."""
    doubts = plan.doubts
    head: Pairs = [
        ("format", 1),
        ("name", plan.name),
        ("date", _Bare(plan.date.isoformat())),
        ("invented", True),
        ("signers", list(plan.signers) or None),
    ]
    defaults: Pairs = [
        ("run_to_run", f"{100 * doubts.run_to_run:g} %"),
        ("day_to_day", f"{100 * doubts.day_to_day:g} %"),
        ("re_distance", f"{100 * doubts.re_distance:g} %"),
        ("water_density", f"{100 * doubts.water_density:g} %"),
        ("draws", plan.default_draws),
    ]
    return "\n".join([HEADER, table("", head), table("[defaults]", defaults)])


def run(
    plan: RunPlan,
    *,
    streams: Iterable[Mapping[str, object]],
    answers: Mapping[str, str],
    channels: Mapping[str, tuple[str, str]],
    file: str | None,
    water: str | None,
    total: Pairs = (),
    hand: Iterable[Pairs] = (),
) -> str:
    """run.toml."""
    head: Pairs = [
        ("kind", "water"),
        ("method", plan.method),
        ("date", _Bare(plan.date.isoformat())),
        ("ambient", plan.ambient),
        ("water_temperature", water),
        ("file", file),
    ]
    blocks = [HEADER, table("", head)]
    blocks += [table("[[flow]]", list(stream.items())) for stream in streams]
    if answers:
        blocks.append(table("[logger]", list(answers.items())))
    if channels:
        rows = [
            (_value(name), {"instrument": tag, "unit": unit} if unit else {"instrument": tag})
            for name, (tag, unit) in channels.items()
        ]
        blocks.append(table("[channels]", rows))
    if plan.exclude:
        blocks.append(table("[exclude]", [("reason", plan.exclude)]))
    if total:
        blocks.append(table("[total]", total))
    blocks += [table("[[hand]]", one) for one in hand]
    return "\n".join(blocks)


def store(folder: Path, name: str, data: bytes) -> None:
    """A raw file and its sha256 beside it."""
    (folder / name).write_bytes(data)
    digest = hashlib.sha256(data).hexdigest()
    (folder / f"{name}.sha256").write_text(f"{digest}  {name}\n", encoding="utf-8")
