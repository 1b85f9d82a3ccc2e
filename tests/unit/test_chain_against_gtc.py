"""The demo's frozen chain, against itself written again number by number over GTC.

GTC (Measurement Standards Laboratory of New Zealand) differentiates by its own rules; our first-order rows come from
finite steps through blocks of columns.
"""

import GTC
import pytest

from support.first_order import ENGINE, compare, ours, sources, theirs
from support.scalar_chain import Library, Number


@pytest.fixture(scope="module")
def errors() -> dict[str, Number]:
    return {source.name: GTC.ureal(0, source.u) for source in sources()}


def library(errors: dict[str, Number]) -> Library:
    return Library(exp=GTC.exp, log=GTC.log, sqrt=GTC.sqrt, errors=errors)


def test_every_contribution_is_that_of_gtc(errors: dict[str, Number]) -> None:
    found = theirs(library, errors)
    assert set(found) == set(ours()) > set(ENGINE)
    for name, y in found.items():
        rows = {source: GTC.rp.u_component(y, error) for source, error in errors.items()}
        compare(name, GTC.value(y), GTC.uncertainty(y), rows)
