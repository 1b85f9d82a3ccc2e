"""The sections of the set-point sheet, in order. To add one: write its module, add its line here.

`FRONT` is for the crew, `BACK` what the numbers rest on, `SIGNED` what is read before the names go under it, in
one piece where a page can hold it. A section is a function from the content to typst source; it returns "" when
it has nothing to say.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from headrace.paper.content import SheetContent
from headrace.paper.sections import (
    as_set,
    budgets,
    cautions,
    doubts,
    expected,
    manifolds,
    rests_on,
    seal,
    set_points,
    signatures,
    spreads,
    standing,
    stops,
    title,
)

Section = Callable[[SheetContent], str]

FRONT: Mapping[str, Section] = MappingProxyType(
    {
        "title": title.typst,
        "standing doubts": standing.typst,
        "stops": stops.typst,
        "set points": set_points.typst,
        "as set": as_set.typst,
        "expected": expected.typst,
        "manifolds": manifolds.typst,
    }
)

BACK: Mapping[str, Section] = MappingProxyType(
    {
        "rests on": rests_on.typst,
        "three spreads": spreads.typst,
        "budgets": budgets.typst,
    }
)

SIGNED: Mapping[str, Section] = MappingProxyType(
    {
        "doubts": doubts.typst,
        "cautions": cautions.typst,
        "signatures": signatures.typst,
        "seal": seal.typst,
    }
)
