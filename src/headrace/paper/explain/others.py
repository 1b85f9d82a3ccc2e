"""Sources of error by their names, notices by their codes, instruments, certificates, limits, input files."""

from dataclasses import fields
from functools import partial

from headrace import __version__
from headrace.notices import Notice, merged
from headrace.paper.explain.origins import certificate, instrument, instruments, source
from headrace.paper.explain.world import Named, World
from headrace.records.explained import Node

CAMPAIGN = "campaign.toml"


def sources(world: World) -> Named:
    """Every source of error that was met."""
    met = {one.name: (one.origin, one.u) for one in world.reduced.sources}
    for name, (origin, u) in met.items():
        yield name, partial(source, world, name, origin, u=u)
    for lines in world.answer.budgets.values() if world.answer is not None else ():
        for line in lines:
            if line.source not in met:
                yield line.source, partial(source, world, line.source, line.origin)


def notices(world: World) -> Named:
    """Every code that was raised."""
    found = merged(
        world.answer.notices if world.answer is not None else (),
        world.reduced.notices,
        world.campaign.notices,
        *(run.notices for run in world.campaign.runs.values()),
    )
    for code in dict.fromkeys(one.code for one in found):
        yield code, partial(_raised, world, code, tuple(one for one in found if one.code == code))


def _raised(world: World, code: str, found: tuple[Notice, ...]) -> Node:
    children = tuple(
        Node(
            kind="notice", title=", ".join(part for part in (one.run, one.about) if part) or "the whole campaign",
            text=one.text, whose=one.limit,
            children=(world.raw(one.run) if one.run is not None else ()) or (_limit(one),),
        )
        for one in found
    )  # fmt: skip
    return Node(
        kind="notice", title=code.replace("-", " "), text=f"raised {len(found)} times", children=children
    )


def _limit(one: Notice) -> Node:
    return Node(kind="default", title=one.limit or one.code, whose=one.limit or f"headrace {__version__}")


def bench(world: World) -> Named:
    """Instruments and certificates."""
    for tag, one in instruments(world).items():
        yield tag, partial(instrument, world, one)
    for key, paper in world.campaign.certificates.items():
        yield key, partial(certificate, world, paper)


def owned(world: World) -> Named:
    """Limits and defaults that the owner of the campaign has."""
    for word, record in (("limits", world.campaign.limits), ("defaults", world.campaign.defaults)):
        for one in fields(record):
            value = getattr(record, one.name)
            yield f"{word}.{one.name}", partial(_owned, world, f"{word}, {one.name}", value)


def _owned(world: World, title: str, value: object) -> Node:
    default = Node(kind="default", title="where it says nothing", whose=f"headrace {__version__}")
    return Node(kind="result", title=title, value=float(value) if isinstance(value, int | float) else None,
                text="" if isinstance(value, int | float) else str(value),
                children=(world.file(CAMPAIGN, key=title), default))  # fmt: skip


def files(world: World) -> Named:
    """Input files themselves."""
    for name in world.campaign.inputs:
        yield name, partial(world.file, name)
