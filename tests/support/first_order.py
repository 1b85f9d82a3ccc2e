"""First-order rows of the demo's frozen chain by our engine, laid beside those of another library."""

from collections.abc import Callable, Mapping
from functools import cache

import numpy as np

from headrace.uncertainty.gum import gum
from headrace.uncertainty.source import Source
from support.demo_chain import demo_chain
from support.scalar_chain import Library, Number, outputs

ENGINE = ("tanks.ox", "tanks.fuel", "as_set.p_chamber", "as_set.of_ratio")

CLOSE = 1e-6
"""Relative: of u, and of every contribution above this share of u."""

ROUNDING = 1e-10
"""What a finite step leaves of rounding, as a share of u."""


def sources() -> tuple[Source, ...]:
    """All sources of the demo, water and engine."""
    chain = demo_chain()
    return tuple({source.name: source for source in (*chain.reduced.sources, *chain.sources)}.values())


@cache
def ours() -> dict[str, tuple[float, float, dict[str, float]]]:
    """Nominal, u and contributions by source of every output."""
    chain = demo_chain()
    out = {}
    for result in (
        gum(chain.reduced.water, sources(), step=0.01),
        gum(chain.model, sources(), step=0.01, outputs=ENGINE),
    ):
        for name in result.outputs:
            rows = {row.source: row.contribution for row in result.budget(name)}
            out[name] = (result.nominal[name], result.u[name], rows)
    return out


def theirs(
    library: Callable[[Mapping[str, Number]], Library], errors: Mapping[str, Number]
) -> dict[str, Number]:
    """The same outputs as numbers of the library."""
    chain = demo_chain()
    return outputs(chain.model, chain.reduced.water, library(errors))


def compare(name: str, nominal: float, u: float, contributions: Mapping[str, float]) -> None:
    """Hold our first order against theirs for one output."""
    own_nominal, own_u, own = ours()[name]
    assert abs(own_nominal / nominal - 1) < 1e-12
    assert abs(own_u / u - 1) < CLOSE
    assert set(own) == set(contributions)
    told = {source: value for source, value in contributions.items() if abs(value) > CLOSE * u}
    assert len(told) > 15
    off = {
        source: (own[source], value)
        for source, value in told.items()
        if not abs(own[source] - value) <= CLOSE * abs(value) + ROUNDING * u
    }
    assert off == {}
    rest = [own[source] for source in own if source not in told]
    assert np.all(np.abs(rest) < 2 * CLOSE * u)
