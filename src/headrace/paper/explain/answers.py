"""Set points and what is expected of them: `tanks.ox`, `p_chamber` (`pc`), `m_dot.fuel`, `facts.re_hot.ox`, ..."""

from functools import partial

from headrace.paper.explain.circuits import circuit
from headrace.paper.explain.origins import of_line
from headrace.paper.explain.world import Named, World
from headrace.records.answers import Answer
from headrace.records.explained import Node

WORDS = {
    "tanks": "tank pressure to set, flowing",
    "static": "tank pressure to set, static",
    "p_chamber": "chamber pressure",
    "of_ratio": "mixture ratio O/F",
    "m_dot": "flow",
    "drop": "injector drop",
    "manifold_lit": "manifold pressure, lit",
    "manifold_unlit": "manifold pressure, primed and unlit",
}
SIDES = {"ox": "oxidiser", "fuel": "fuel", "total": "total"}
SHORT = {"p_chamber": "pc", "of_ratio": "of"}
ENGINE = "engine.toml"


def names(world: World) -> Named:
    """Every quantity of the answer, also under `.p_gauge` for pressures by gauge; its facts, parts, correlation."""
    answer = world.answer
    if answer is None:
        return
    for path, estimate in answer.values.items():
        make = partial(_value, world, answer, path)
        yield path, make
        if estimate.kind is not None:
            yield f"{path}.p_{estimate.kind}", make
        if path in SHORT:
            yield SHORT[path], make
        yield f"budget.{path}", make
        yield f"parts.{path}", make
    for name in answer.facts:
        yield f"facts.{name}", partial(_fact, world, answer, name)
    for name in ("correlation", "draws", "lost"):
        yield name, partial(_of_draws, world, answer, name)


def _value(world: World, answer: Answer, path: str) -> Node:
    estimate = answer.values[path]
    return Node(
        kind="result",
        title=words(path),
        quantity=estimate,
        text=f"by {'Monte Carlo' if estimate.method == 'monte-carlo' else 'linear propagation'} of the balance",
        children=(
            *_behind(world, answer),
            *(
                of_line(world, line)
                for line in sorted(answer.budgets.get(path, ()), key=lambda one: -abs(one.share))
            ),
        ),
    )


def words(path: str) -> str:
    """A path of the answer in words.

    >>> words("tanks.ox")
    'tank pressure to set, flowing, oxidiser'
    """
    as_set = path.startswith("as_set.")
    first, _, side = path.removeprefix("as_set.").partition(".")
    told = [
        WORDS.get(first, first),
        *([SIDES.get(side, side)] if side else []),
        *(["when set so"] if as_set else []),
    ]
    return ", ".join(told)


def _behind(world: World, answer: Answer) -> tuple[Node, ...]:
    """The engine as given, what was assumed of it, and the circuits that carry it."""
    engine = world.campaign.engine
    out = [world.file(ENGINE)]
    carried = (
        [one.id for side in engine.sides.values() for one in side.circuits] if engine is not None else []
    )
    for key in carried:
        item = world.reduced.characteristics.get(key)
        if item is not None:
            whole = circuit(world, item, "area_eff")
            own = tuple(one for one in whole.children if one.kind != "source")
            out.append(Node(kind="result", title=whole.title, quantity=whole.quantity, children=own))
    for what, value, whose in answer.assumptions:
        leaf = (
            world.file(ENGINE)
            if whose.startswith(ENGINE)
            else Node(kind="default", title=what, whose=whose or "headrace")
        )
        out.append(Node(kind="result", title=f"assumed, {what}", text=value, children=(leaf,)))
    return tuple(out)


def _fact(world: World, answer: Answer, name: str) -> Node:
    return Node(kind="result", title=f"nominal number of the balance: {name}", value=answer.facts[name],
                children=_behind(world, answer))  # fmt: skip


def _of_draws(world: World, answer: Answer, name: str) -> Node:
    told = {"correlation": answer.correlation, "draws": answer.draws, "lost": answer.lost}[name]
    title = {
        "correlation": "correlation of chamber pressure and mixture ratio",
        "draws": "draws of the Monte Carlo",
        "lost": "draws without an answer",
    }[name]
    return Node(kind="result", title=title, value=None if told is None else float(told),
                children=(world.file("campaign.toml"), *_behind(world, answer)))  # fmt: skip
