"""article.toml: the injector under test."""

from typing import Annotated

from headrace.bench.elements import ELEMENTS
from headrace.files.schema.fields import Id, Key, Q, Said, Table, told
from headrace.physics.contraction import ALLOYS
from headrace.records.given import Stated


class CircuitTable(Table):
    """One circuit of the injector."""

    id: Annotated[str, Id()] = told("name of the circuit", "ox")
    element: Annotated[
        str, Key(what="element kind", names=tuple(name for name, one in ELEMENTS.items() if not one.part))
    ] = told("kind of its elements", "pressure-swirl")
    count: int = told("number of elements", 60, ge=1, le=100_000)
    bore: Annotated[Stated, Q("length", above=0, below=1)] = told(
        "orifice bore of one element", "1.20 mm ± 0.01 mm"
    )
    area: Annotated[Stated, Q("area", above=0)] | None = told(
        "geometric area of all orifices; default: from count and bore", "67.9 mm2 ± 1 mm2", default=None
    )
    tap: Annotated[str, Id()] = told("where its pressure is taken, in bench.toml", "T-OX")
    outlet_height: Annotated[Stated, Q("length")] = told("height of the outlets above the datum", "0.30 m")
    alloy: Annotated[str, Key(what="alloy", names=tuple(ALLOYS))] = told(
        "what the orifices are cut in, for their shrinking when cold", "austenitic-steel", default="none"
    )


class PartTable(Table):
    """A line or valve of the feed, run with water between two taps like a circuit."""

    id: Annotated[str, Id()] = told("name of the part; runs name it among their `circuits`", "OX-VALVE")
    kind: Annotated[
        str, Key(what="part kind", names=tuple(name for name, one in ELEMENTS.items() if one.part))
    ] = told("what it is", "valve")
    bore: Annotated[Stated, Q("length", above=0)] = told("bore of its pipe, for Reynolds number", "40 mm")
    tap: Annotated[str, Id()] = told("tap before it, in bench.toml", "T-VALVE")
    down_tap: Annotated[str, Id()] = told("tap behind it, on the same basis", "T-OX")


class ArticleTable(Table):
    """article.toml."""

    serial: Annotated[str, Said()] = told("serial number of the injector", "H-03")
    circuit: list[CircuitTable] = told("its circuits", [], min_length=1)
    part: list[PartTable] = told("lines and valves of its feeds, run with water", [], default=[])
