"""What a source of error rests on: files with their keys, certificates, defaults, published data. Start at `source`.

Rules are asked in their order; each gives leaves or nothing. The last always answers: what nobody else vouches for is a
default of this program.
"""

import re
from collections.abc import Callable, Iterator

from headrace import __version__
from headrace.paper.explain.world import World
from headrace.paper.sources import in_words
from headrace.records.answers import BudgetLine
from headrace.records.explained import Node
from headrace.records.given import Certificate, Instrument

CERTIFICATES = "certificates.toml"
BENCH = "bench.toml"
ENGINE = "engine.toml"

Rule = Callable[[World, str, str], Iterator[Node]]


def of_line(world: World, line: BudgetLine) -> Node:
    """A row of a budget: what it contributes, and what it rests on."""
    found = source(world, line.source, line.origin)
    return Node(
        kind="source", title=in_words(line.source), text=line.origin, share=line.share,
        contribution=line.contribution, key=line.source, children=found.children,
    )  # fmt: skip


def source(world: World, name: str, origin: str, *, u: float | None = None) -> Node:
    """A source of error and what it rests on. u: standard uncertainty, in its own unit."""
    leaves: dict[tuple[str, str, str, str], Node] = {}
    for rule in RULES:
        for leaf in rule(world, name, origin):
            leaves.setdefault((leaf.kind, leaf.title, leaf.key, leaf.whose), leaf)
    if not leaves:
        default = _ours(origin)
        leaves[(default.kind, default.title, default.key, default.whose)] = default
    return Node(
        kind="source", title=in_words(name), text=origin, key=name, value=u, children=tuple(leaves.values())
    )


def instrument(world: World, one: Instrument) -> Node:
    """An instrument: where it is described, and its certificate."""
    children = [_typed(world, one.origin)] if one.origin else []
    paper = world.campaign.certificates.get(one.certificate or "")
    if paper is not None:
        children.append(certificate(world, paper))
    return Node(
        kind="result", title=f"instrument {one.tag}", text=f"measures {one.measures}; {one.accuracy.text}",
        children=tuple(children) or (_ours(one.origin or "an instrument without a place"),),
    )  # fmt: skip


def certificate(world: World, one: Certificate) -> Node:
    """A certificate, the reference behind it, and where both were typed."""
    children = [world.file(CERTIFICATES, key=one.id)] if world.has(CERTIFICATES) else []
    reference = world.campaign.references.get(one.reference or "")
    if reference is not None and world.has(CERTIFICATES):
        children.append(world.file(CERTIFICATES, key=f"reference {reference.id}"))
    return Node(
        kind="certificate", title=one.id, text=f"{one.date.isoformat()}, {one.accuracy.text}; {one.origin}".strip("; "),
        children=tuple(children),
    )  # fmt: skip


def instruments(world: World) -> dict[str, Instrument]:
    """All of them: on the bench and on the stand."""
    engine = world.campaign.engine
    return dict(world.campaign.bench.instruments) | (dict(engine.instruments) if engine is not None else {})


def _typed(world: World, origin: str) -> Node:
    """A place as records keep it: "engine.toml, ox, feed, area_eff"."""
    file, _, key = origin.partition(", ")
    return world.file(file, key=key) if world.has(file) else _ours(origin)


def _ours(origin: str) -> Node:
    return Node(kind="default", title=origin, whose=f"headrace {__version__}")


def _file(world: World, name: str, origin: str) -> Iterator[Node]:  # noqa: ARG001 - one shape for all rules
    if world.has(origin.partition(", ")[0]):
        yield _typed(world, origin)


def _paper(world: World, name: str, origin: str) -> Iterator[Node]:  # noqa: ARG001 - one shape for all rules
    for word in re.findall(r"certificate ([^\s,;:]+)", origin):
        if word in world.campaign.certificates:
            yield certificate(world, world.campaign.certificates[word])


def _reference(world: World, name: str, origin: str) -> Iterator[Node]:  # noqa: ARG001 - one shape for all rules
    known = world.campaign.references.get(name.rpartition(".")[0])
    if known is not None and world.has(CERTIFICATES):
        yield world.file(CERTIFICATES, key=f"reference {known.id}")


def _instrument(world: World, name: str, origin: str) -> Iterator[Node]:
    """Class, drift, lag, reading by eye: where the instrument is described."""
    known = instruments(world)
    tags = [part for part in name.split(".") if part in known] or re.findall(r"class of ([^\s:,]+)", origin)
    for tag in tags:
        one = known.get(tag)
        if one is not None and one.origin:
            yield _typed(world, one.origin)


def _of_bench(world: World, name: str, origin: str) -> Iterator[Node]:
    """Meters, vessels and taps by their ids, where the origin does not name the place itself."""
    if world.has(origin.partition(", ")[0]):
        return
    bench = world.campaign.bench
    first = name.partition(".")[0]
    for words, known in (("meter", bench.meters), ("vessel", bench.vessels), ("tap", bench.taps)):
        if first in known and world.has(BENCH):
            yield world.file(BENCH, key=f"{words} {first}")


def _of_engine(world: World, name: str, origin: str) -> Iterator[Node]:  # noqa: ARG001 - one shape for all rules
    if name.startswith(("c_star", "throat", "stand.")) and world.has(ENGINE):
        yield world.file(ENGINE, key=name.replace(".", ", "))


def _run(world: World, name: str, origin: str) -> Iterator[Node]:  # noqa: ARG001 - one shape for all rules
    """What is a run's own: its files."""
    run = name.partition(".")[0]
    if run in world.campaign.runs:
        yield from world.raw(run)


def _day(world: World, name: str, origin: str) -> Iterator[Node]:  # noqa: ARG001 - one shape for all rules
    """A day: the runs of that day."""
    day = name.partition(".")[0]
    for key, run in world.campaign.runs.items():
        if run.date.isoformat() == day and world.has(f"runs/{key}/run.toml"):
            yield world.file(f"runs/{key}/run.toml", key="date")


def _circuit(world: World, name: str, origin: str) -> Iterator[Node]:  # noqa: ARG001 - one shape for all rules
    """What only the readings of a circuit show: scatter, models, distance in Reynolds number."""
    key, _, last = name.rpartition(".")
    item = world.reduced.characteristics.get(key)
    if item is not None and last in ("noise", "slope_noise", "model", "between_lines", "re_distance"):
        for run in item.runs:
            yield from world.raw(run)


def _default(world: World, name: str, origin: str) -> Iterator[Node]:  # noqa: ARG001 - one shape for all rules
    if (
        "default" in origin
        or "common practice" in origin
        or "beyond the tested" in origin
        or "moved by" in origin
    ):
        yield Node(
            kind="default", title=origin, whose=f"headrace {__version__}, unless campaign.toml says otherwise"
        )


def _published(world: World, name: str, origin: str) -> Iterator[Node]:  # noqa: ARG001 - one shape for all rules
    """Property tables and standards: they name a year."""
    if name.endswith((".contraction", ".density")) and re.search(r"\(?(19|20)\d\d\)?", origin):
        yield Node(kind="published", title=origin, whose=origin)


RULES: tuple[Rule, ...] = (
    _file, _paper, _reference, _instrument, _of_bench, _of_engine, _run, _day, _circuit, _default, _published,
)  # fmt: skip
"""In the order asked; all that answer are kept."""
