"""Characteristics and their numbers: `area_eff.ox`, `cd.ox`, `weights.ox`, ... and `ox` for the whole."""

from functools import partial
from typing import Any

from headrace.paper.explain.origins import of_line
from headrace.paper.explain.world import Named, World
from headrace.records.answers import Estimate
from headrace.records.explained import Node
from headrace.records.readings import Characteristic

FIELDS = {
    "area_eff": "effective area",
    "cd": "discharge coefficient",
    "re_ref": "Reynolds number at which it is told",
    "re_span": "Reynolds numbers tested",
    "cav_least": "least cavitation number K among what counts",
    "slope_seen": "d ln E / d ln Re, as the runs show it",
    "u_slope": "standard uncertainty of that slope",
    "days": "days with runs",
    "weights": "shares of its runs",
    "budget": "sources of its doubt",
}
"""Numbers of a characteristic, in words."""


def names(world: World) -> Named:
    """Each characteristic and each of its numbers; circuits that were given, too."""
    for key, item in world.reduced.characteristics.items():
        yield key, partial(circuit, world, item, "area_eff")
        for name in FIELDS:
            yield f"{name}.{key}", partial(circuit, world, item, name)
            yield f"circuits.{key}.{name}", partial(circuit, world, item, name)
        for run in item.weights:
            yield f"weights.{key}.{run}", partial(circuit, world, item, "weights")
    for name in world.campaign.article.circuits:
        yield f"article.{name}", partial(_given, world, name)


def circuit(world: World, item: Characteristic, name: str) -> Node:
    """One number of a characteristic: the runs it rests on, its model, its geometry, its sources."""
    value: Any = getattr(item, name)
    estimate = value if isinstance(value, Estimate) else None
    runs = tuple(
        Node(
            kind="run", title=f"run {run}, share {100 * item.weights.get(run, 0.0):.1f} %",
            text=f"{len(own)} {'reading that counts' if len(own) == 1 else 'readings that count'}", key=run,
            children=world.raw(run),
        )
        for run, own in world.readings(item).items()
    )  # fmt: skip
    why = item.why.removeprefix(f"{item.model}: ")
    model = Node(kind="result", title=f"model: {item.model}", text=why, children=(
        Node(kind="default", title="choice of the model", whose="headrace, by the runs above"),
    ))  # fmt: skip
    geometry = tuple(
        _given(world, one) for one in item.stream.split("+") if one in world.campaign.article.circuits
    )
    return Node(
        kind="result",
        title=f"{FIELDS[name]} of circuit {item.key}",
        quantity=estimate,
        value=float(value) if isinstance(value, int | float) else None,
        text=_told(value),
        children=(*runs, model, *geometry, *(of_line(world, line) for line in item.budget)),
    )


def _given(world: World, name: str) -> Node:
    file = "article.toml"
    return Node(kind="result", title=f"circuit {name} as it was given",
                children=(world.file(file, key=f"circuit {name}"),))  # fmt: skip


def _told(value: Any) -> str:
    if isinstance(value, tuple) and value and isinstance(value[0], float):
        return " to ".join(f"{one:.6g}" for one in value)
    if isinstance(value, dict):
        return ", ".join(f"{key} {100 * one:.1f} %" for key, one in value.items())
    return ""
