"""The demo's frozen chain, against itself written again number by number over the `uncertainties` package."""

import pytest
from uncertainties import ufloat, umath

from support.first_order import ENGINE, compare, ours, sources, theirs
from support.scalar_chain import Library, Number


@pytest.fixture(scope="module")
def errors() -> dict[str, Number]:
    return {source.name: ufloat(0, source.u) if source.u > 0 else 0.0 for source in sources()}


def library(errors: dict[str, Number]) -> Library:
    return Library(exp=umath.exp, log=umath.log, sqrt=umath.sqrt, errors=errors)


def test_every_contribution_is_that_of_uncertainties(errors: dict[str, Number]) -> None:
    found = theirs(library, errors)
    assert set(found) == set(ours()) > set(ENGINE)
    for name, y in found.items():
        slopes = y.derivatives
        rows = {
            source: slopes.get(error, 0.0) * error.std_dev if error in slopes else 0.0
            for source, error in errors.items()
        }
        compare(name, y.nominal_value, y.std_dev, rows)
