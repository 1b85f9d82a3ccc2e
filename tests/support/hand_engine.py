"""The invented engine of `hand_made` on water that was measured without a fault: areas known, then reduced once."""

from dataclasses import replace
from functools import cache
from typing import Any

from headrace.chain.water import Reduced
from headrace.jobs.balance.build import Builder
from headrace.jobs.reduce import reduce
from headrace.records.given import Campaign, Circuit, Engine, SideCircuit
from support import hand_made as made

AREAS = {"ox": 2.31e-4, "fuel": 1.243e-4, "film": 2.0e-5, "tot": 2.0e-4}
P = {"ox": (8e5, 4e5)}


@cache
def water() -> Campaign:
    """Two runs of each circuit, on two days."""
    runs = [
        made.metered(
            f"{name}-{day}", area, circuit=name, tap="PM-OX" if name == "ox" else "PM-FUEL",
            p=(8e5, 4e5), date=made.DAY.replace(day=day),
        )
        for name, area in AREAS.items()
        for day in (11, 12)
    ]  # fmt: skip
    return made.campaign(*runs)


@cache
def reduced() -> Reduced:
    """Its characteristics."""
    return reduce(water())


def campaign(engine: Engine | None = None, **circuits: Circuit) -> Campaign:
    """The same water with an engine, and circuits changed after the fact."""
    one = replace(water(), engine=engine or made.engine())
    return replace(one, article=made.article(**circuits)) if circuits else one


def builder(given: Campaign | None = None, water_of: Reduced | None = None) -> Builder:
    """Ready to freeze."""
    return Builder(campaign=given or campaign(), reduced=water_of or reduced())


def with_circuit(side: str, **changes: Any) -> Engine:
    """The engine with the one circuit of a side changed."""
    one = SideCircuit(**({"id": side} | changes))
    return made.with_side(made.engine(), side, circuits=(one,))
