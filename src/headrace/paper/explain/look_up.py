"""A name to its tree. A name that nothing has is refused (KeyError; `near` says what was meant). Start at `explain`."""

import difflib
from collections.abc import Callable, Mapping
from types import MappingProxyType

from headrace.paper.explain import answers, circuits, others, runs
from headrace.paper.explain.world import Make, Named, World
from headrace.records.explained import Node

KINDS: Mapping[str, Callable[[World], Named]] = MappingProxyType(
    {
        "set points": answers.names,
        "circuits": circuits.names,
        "runs and readings": runs.names,
        "sources of error": others.sources,
        "instruments and certificates": others.bench,
        "doubts": others.notices,
        "limits and defaults": others.owned,
        "input files": others.files,
    }
)
"""What can be explained, in the order in which names are looked up."""


def known(world: World) -> dict[str, Make]:
    """Every name, the first kind that has it."""
    out: dict[str, Make] = {}
    for kind in KINDS.values():
        for name, make in kind(world):
            out.setdefault(name, make)
    return out


def explain(world: World, what: str) -> Node:
    """The tree of one name, whatever its case.

    Raises:
        KeyError: nothing has this name.
    """
    return _found(known(world), what)()


def _found(names: Mapping[str, Make], what: str) -> Make:
    wanted = what.strip()
    if wanted in names:
        return names[wanted]
    folded = {name.casefold(): make for name, make in names.items()}
    return folded[wanted.casefold()]


def near(world: World, what: str, *, most: int = 5) -> tuple[str, ...]:
    """The nearest known names; some of every kind where none is near."""
    names = known(world)
    close = difflib.get_close_matches(what, names, n=most, cutoff=0.5)
    close += [name for name in names if what.casefold() in name.casefold() and name not in close][
        : most - len(close)
    ]
    return tuple(close) or tuple(
        next(iter(kind(world)))[0] for kind in KINDS.values() if any(True for _ in kind(world))
    )
