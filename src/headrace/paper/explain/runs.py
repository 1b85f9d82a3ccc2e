"""Runs and what was read in them: `W07`, `W07.ox`, the third reading `W07.ox[3]`, `W07.closure`, `W07.tares.DP-A`."""

from functools import partial

from headrace.paper.explain.origins import instrument, source
from headrace.paper.explain.world import Named, World
from headrace.records.answers import Estimate
from headrace.records.explained import Node
from headrace.records.given import RunGiven
from headrace.records.readings import Reading, RunResult

FIELDS = {
    "area_eff": ("effective area", "m2"),
    "u": ("standard uncertainty of the effective area", "m2"),
    "re": ("Reynolds number", "1"),
    "cav": ("cavitation number K", "1"),
    "dp": ("drop", "Pa"),
    "m_dot": ("flow", "kg/s"),
    "cd": ("discharge coefficient", "1"),
    "t": ("time in the middle", "s"),
}
"""Numbers of a reading: words, SI unit."""


def names(world: World) -> Named:
    """Every run, stream, reading, number of a reading, closure and zero."""
    for key, given in world.campaign.runs.items():
        yield key, partial(run, world, key)
        result = world.reduced.runs.get(key)
        if result is None:
            continue
        for stream in result.windows:
            yield f"{key}.{stream}", partial(_stream, world, given, result, stream)
            yield f"{key}.{stream}.window", partial(_stream, world, given, result, stream)
            own = [one for one in result.readings if one.stream == stream]
            for number, one in enumerate(own, start=1):
                yield f"{key}.{stream}[{number}]", partial(reading, world, one, number, "area_eff")
                for name in FIELDS:
                    yield f"{key}.{stream}[{number}].{name}", partial(reading, world, one, number, name)
        if result.closure is not None:
            yield f"{key}.closure", partial(_closure, world, result)
        for tag in result.tares:
            yield f"{key}.tares.{tag}", partial(_zero, world, result, tag)


def run(world: World, key: str) -> Node:
    """A run: its streams with their readings, and its files."""
    given, result = world.campaign.runs[key], world.reduced.runs.get(key)
    streams = (
        tuple(_stream(world, given, result, stream) for stream in result.windows)
        if result is not None
        else ()
    )
    left = f"; left out: {given.excluded}" if given.excluded is not None else ""
    return Node(kind="run", title=f"run {key}", text=f"{given.date.isoformat()}, {given.method}{left}", key=key,
                children=(*streams, *world.raw(key)))  # fmt: skip


def _stream(world: World, given: RunGiven, result: RunResult, stream: str) -> Node:
    window = result.windows[stream]
    own = [one for one in result.readings if one.stream == stream]
    children = [
        Node(
            kind="reading", title=f"{given.id}.{stream}[{number}]", quantity=_area(one), text=_counts(one),
            children=_bytes(world, one),
        )
        for number, one in enumerate(own, start=1)
    ]  # fmt: skip
    text = f"window {window.start:.2f} s to {window.end:.2f} s, {window.chosen}"
    return Node(kind="result", title=f"circuit {stream} in run {given.id}", text=text,
                children=(*children, world.file(f"runs/{given.id}/run.toml")))  # fmt: skip


def reading(world: World, one: Reading, number: int, name: str) -> Node:
    """One number of one reading: the lines of the raw file, the instruments, the sources of its doubt."""
    words, unit = FIELDS[name]
    value = getattr(one, name)
    known = {source.name: source for source in world.reduced.sources}
    sources = tuple(
        source(world, name, known[name].origin, u=known[name].u) for name in one.sources if name in known
    )
    return Node(
        kind="reading",
        title=f"{words}, reading {number} of circuit {one.stream} in run {one.run}",
        quantity=_area(one) if name == "area_eff" else None,
        value=None if value is None else float(value),
        unit=unit,
        text=_counts(one),
        children=(*_bytes(world, one), *_instruments(world, one), *sources),
    )


def _instruments(world: World, one: Reading) -> tuple[Node, ...]:
    bench, given = world.campaign.bench, world.campaign.runs[one.run]
    tags = [flow.p_tap for flow in given.flows if "+".join(flow.circuits) == one.stream]
    for line in one.lines:
        meter = bench.meters.get(bench.lines[line].meter or "")
        tags += list(meter.instruments.values()) if meter is not None else []
    return tuple(
        instrument(world, bench.instruments[tag]) for tag in dict.fromkeys(tags) if tag in bench.instruments
    )


def _bytes(world: World, one: Reading) -> tuple[Node, ...]:
    """The lines of the raw file, and of those joined to it."""
    return tuple(world.file(part.file, lines=part.lines) for part in (one.origin, *one.origin.also))


def _area(one: Reading) -> Estimate:
    return Estimate(value=one.area_eff, u=one.u, low=one.area_eff - 2 * one.u, high=one.area_eff + 2 * one.u,
                    unit="m2", coverage=0.9545)  # fmt: skip


def _counts(one: Reading) -> str:
    return f"at {one.t:.2f} s, " + ("counts" if one.used else f"does not count: {one.why or 'left out'}")


def _closure(world: World, result: RunResult) -> Node:
    one = result.closure
    if one is None:
        raise ValueError(f"run {result.run} has no closure")
    text = f"meter {one.metered:.4g} kg, {one.witness} {one.witnessed:.4g} kg"
    return Node(kind="result", title=f"closure of run {result.run}: meter over witness, less 1", quantity=one.ratio,
                text=text, children=world.raw(result.run))  # fmt: skip


def _zero(world: World, result: RunResult, tag: str) -> Node:
    zero = result.tares[tag]
    after = "not taken" if zero.after is None else f"{zero.after:.6g}"
    under = "" if zero.at_pressure is None else f", under line pressure {zero.at_pressure:.6g}, which counts"
    known = world.campaign.bench.instruments
    return Node(
        kind="result", title=f"zero of {tag} in run {result.run}",
        text=f"before {zero.before:.6g}, after {after}{under} (SI)", value=zero.before,
        children=(*world.raw(result.run), *((instrument(world, known[tag]),) if tag in known else ())),
    )  # fmt: skip
