"""`explain`: every printed number has a name; every branch ends in bytes with their hash, or in whose word it is."""

import hashlib
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from headrace import app, serial
from headrace.doors.spoken import explained
from headrace.errors import InputError
from headrace.paper.explain import look_up
from headrace.paper.explain.world import World
from headrace.records.explained import Node
from support import json_shapes as shapes
from support.commands import headrace


@pytest.fixture(scope="module")
def world(small_original: Path) -> World:
    """The small campaign, reduced and balanced."""
    done = app.reduce(small_original)
    return World(campaign=done.campaign, reduced=done.reduced, answer=app.setpoints_of(done).answer)


@pytest.fixture(scope="module")
def documents(world: World) -> dict[str, Any]:
    """What `reduce` and `setpoints` print of it."""
    assert world.answer is not None
    request = {"p_chamber": None, "of_ratio": None}
    answer = serial.answer("setpoints", world.campaign, world.answer, request=request)
    return {"reduce": serial.reduce(world.campaign, world.reduced), "setpoints": answer}


def leaves(node: Node) -> Iterator[Node]:
    """Where the tree ends."""
    if not node.children:
        yield node
    for child in node.children:
        yield from leaves(child)


def ends_well(node: Node, folder: Path) -> None:
    """Every leaf is bytes that are there, with their hash and lines, or says whose word it is."""
    found = list(leaves(node))
    assert found
    for leaf in found:
        assert leaf.leaf, (node.title, leaf)
        if leaf.kind == "file":
            data = (folder / leaf.file).read_bytes()
            assert hashlib.sha256(data).hexdigest() == leaf.sha256
            assert 0 <= leaf.lines[0] <= leaf.lines[1] <= data.count(b"\n") + 1
        else:
            assert leaf.whose, leaf


def named(documents: dict[str, Any]) -> Iterator[tuple[str, float | None]]:
    """Every number of both documents, by the name that docs/json.md gives it."""
    order: dict[tuple[str, str], int] = {}
    for key, circuit in documents["reduce"]["circuits"].items():
        if circuit["area_eff"] is None:
            continue
        for name in ("area_eff", "cd", "re_ref", "re_span", "cav_least", "slope_seen", "u_slope", "days"):
            told = circuit[name]
            yield f"circuits.{key}.{name}", told["value"] if isinstance(told, dict) else told
        for run in circuit["weights"]:
            yield f"weights.{key}.{run}", None
        for line in circuit["budget"]:
            yield line["source"], None
        for one in circuit["readings"]:
            stream = key.removesuffix(" (together)")
            number = order[one["run"], stream] = order.get((one["run"], stream), 0) + 1
            for name in ("area_eff", "u", "re", "cav", "dp", "m_dot", "cd", "t"):
                yield f"{one['run']}.{stream}[{number}].{name}", one[name]
    for run, told in documents["reduce"]["runs"].items():
        for stream in told["windows"]:
            yield f"{run}.{stream}.window", None
        if told["closure"] is not None:
            yield f"{run}.closure", told["closure"]["value"]
        for tag, zero in told["tares"].items():
            yield f"{run}.tares.{tag}", zero["before"]
    answer = documents["setpoints"]
    for path, lines in answer["budget"].items():
        place: Any = answer
        for part in path.split("."):
            place = place[part]
        yield path, place["value"]
        yield f"parts.{path}", None
        yield f"budget.{path}", None
        for line in lines:
            yield line["source"], None
    for name, value in answer["facts"].items():
        yield f"facts.{name}", value
    for name in ("correlation", "draws", "lost"):
        yield name, answer[name]
    for document in documents.values():
        for notice in document["notices"]:
            yield notice["code"], None


def test_every_printed_number_is_explained_down_to_bytes(
    world: World, documents: dict[str, Any], small_original: Path
) -> None:
    names = look_up.known(world)
    wanted = dict(named(documents))
    assert len(wanted) > 200
    for name, value in wanted.items():
        assert name in names, name
        node = names[name]()
        ends_well(node, small_original)
        if isinstance(value, float):
            told = node.quantity.value if node.quantity is not None else node.value
            assert told == pytest.approx(value, rel=1e-12), name


def test_a_budget_is_whole_and_each_source_ends_in_what_it_rests_on(world: World) -> None:
    assert world.answer is not None
    node = look_up.explain(world, "tanks.ox.p_gauge")
    sources = [one for one in node.children if one.kind == "source"]
    lines = world.answer.budgets["tanks.ox"]
    assert {one.key for one in sources} == {line.source for line in lines}
    assert sum(one.contribution**2 for one in sources if one.contribution) == pytest.approx(
        world.answer.values["tanks.ox"].u ** 2, rel=1e-6
    )
    by_key = {one.key: {leaf.file or leaf.kind for leaf in leaves(one)} for one in sources}
    assert by_key["DP-A.gain"] >= {"certificates.toml"}
    assert by_key["FV-A.c"] == {"bench.toml"}
    assert by_key["ox.feed"] == {"engine.toml"}
    assert by_key["ox.step"] == {"default"}
    assert by_key["W14.total"] >= {"runs/W14/run.toml"}
    assert by_key["DWT-2.gain"] == {"certificates.toml"}


def test_a_reading_names_its_own_lines_and_instruments(world: World) -> None:
    reading = [one for one in world.reduced.runs["W01"].readings if one.stream == "ox"][2]
    node = look_up.explain(world, "w01.OX[3]")
    assert node.quantity is not None
    assert node.quantity.value == reading.area_eff
    assert (node.children[0].file, node.children[0].lines) == ("runs/W01/W01.csv", reading.origin.lines)
    assert {"instrument PM-OX", "instrument DP-A"} <= {one.title for one in node.children}
    assert "instrument PM-FUEL" not in {one.title for one in node.children}


@pytest.mark.parametrize(
    "what", ["pc", "area_eff.ox", "W01", "W15", "bench.toml", "DP-A", "C-101", "limits.closure"]
)
def test_other_names(world: World, small_original: Path, what: str) -> None:
    node = look_up.explain(world, what)
    ends_well(node, small_original)
    told = "\n".join(explained.lines(node))
    assert all(len(line) <= 100 for line in told.split("\n"))
    assert re.search(r"sha256 [0-9a-f]{12}", told)


def test_a_name_that_nothing_has_is_answered_with_the_nearest(small_original: Path) -> None:
    with pytest.raises(InputError) as refused:
        app.explain(small_original, "tank.ox")
    assert "tanks.ox" in refused.value.problems[0].try_
    ended = headrace("explain", small_original, "W01.ox[99]")
    assert ended.code == 2
    assert "W01.ox[" in ended.err


def test_the_command_and_its_json(small_original: Path) -> None:
    ended = headrace("explain", small_original, "tanks.fuel", "--json")
    document = ended.json(shapes.EXPLAIN)
    assert ended.code == 0
    sets = headrace("setpoints", small_original, "--json").json(shapes.SETPOINTS)
    assert document["tree"]["quantity"] == sets["tanks"]["fuel"]
    plain = headrace("explain", small_original, "tanks.fuel").out
    assert "fuel: step from water" in plain
    assert "engine.toml, sha256" in plain
    assert json.loads(ended.out)["what"] == "tanks.fuel"
