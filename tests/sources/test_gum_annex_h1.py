"""JCGM 100:2008, annex H.1 (end gauge), through the engine; also JCGM 101:2008, 9.5.

Parts and result read in a stored copy of a public worked example of H.1 and recomputed with GTC 1.5.1 (a
library of ours computes 31.6639 and 16.7519); the t factor is recalled from H.1.6. Lengths in nm.
"""

from math import sqrt

import pytest

from headrace.uncertainty.errors_map import Errors, Values
from headrace.uncertainty.gum import GumResult, gum
from headrace.uncertainty.monte_carlo import monte_carlo
from headrace.uncertainty.source import Source, half_width

COMMON = {"scope": "instrument", "origin": "JCGM 100:2008, H.1"}
SOURCES = (
    Source(name="ls", u=25.0, dist="t", dof=18, **COMMON),
    Source(name="d repeat", u=5.8, dist="t", dof=24, **COMMON),
    Source(name="d random", u=3.9, dist="t", dof=5, **COMMON),
    Source(name="d systematic", u=6.7, dist="t", dof=8, **COMMON),
    Source(name="alpha_s", u=half_width(2e-6), dist="rectangular", **COMMON),
    Source(name="d_alpha", u=half_width(1e-6), dist="inexact-rectangular", dof=50, **COMMON),
    Source(name="d_theta", u=half_width(0.05), dist="inexact-rectangular", dof=2, **COMMON),
    Source(name="theta mean", u=0.2, **COMMON),
    Source(name="theta swing", u=half_width(0.5, "arcsine"), dist="arcsine", **COMMON),
)


def gauge(e: Errors) -> dict[str, Values]:
    ls = 50_000_623.0 + e["ls"]
    d = 215.0 + e["d repeat"] + e["d random"] + e["d systematic"]
    theta = -0.1 + e["theta mean"] + e["theta swing"]
    return {"l": ls + d - ls * (e["d_alpha"] * theta + (11.5e-6 + e["alpha_s"]) * e["d_theta"])}


@pytest.fixture(scope="module")
def first() -> GumResult:
    return gum(gauge, SOURCES)


@pytest.mark.check("U-1")
@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("ls", 25.0),
        ("d_theta", 16.599),
        ("d systematic", 6.7),
        ("d repeat", 5.8),
        ("d random", 3.9),
        ("d_alpha", 2.88679),
    ],
)
def test_parts(first: GumResult, name: str, part: float) -> None:
    rows = {row.source: row for row in first.budget("l")}
    assert abs(rows[name].contribution) == pytest.approx(part, rel=1e-5)


@pytest.mark.check("U-1")
def test_combined(first: GumResult) -> None:
    assert first.nominal["l"] == 50_000_838.0
    assert first.u["l"] == pytest.approx(31.664, rel=1e-4)
    assert first.dof["l"] == pytest.approx(16.75, abs=0.005)
    zero = ("alpha_s", "theta mean", "theta swing")
    assert [row.contribution for row in first.budget("l") if row.source in zero] == [0, 0, 0]


@pytest.mark.check("U-2")
def test_expanded_at_99_per_cent(first: GumResult) -> None:
    """92.5 nm from the unrounded u; the printed 93 nm is 2.92 times the rounded 32 nm."""
    assert first.expanded("l", 0.99) == pytest.approx(92.5, abs=0.5)
    assert first.expanded("l", 0.99) / first.u["l"] == pytest.approx(2.9208, abs=5e-5)


@pytest.mark.check("U-3")
def test_second_order() -> None:
    second = gum(gauge, SOURCES, order=2)
    rows = {row.source: row.contribution for row in second.budget("l")}
    of_theta = sqrt(rows["d_alpha × theta mean"] ** 2 + rows["d_alpha × theta swing"] ** 2)
    assert 11.8 - 0.1 <= of_theta <= 11.9 + 0.1
    assert abs(rows["alpha_s × d_theta"]) == pytest.approx(1.7, abs=0.1)
    assert second.u["l"] == pytest.approx(33.9, abs=0.1)
    assert sum(part**2 for part in rows.values()) == pytest.approx(second.u["l"] ** 2, rel=1e-12)


@pytest.mark.check("U-27")
def test_by_monte_carlo() -> None:
    drawn = monte_carlo(gauge, SOURCES, draws=1_000_000, seed=5, coverage=0.99)
    low, high = drawn.interval("l")
    assert drawn.mean["l"] - 5e7 == pytest.approx(838, abs=0.5)
    assert drawn.u["l"] == pytest.approx(36, abs=0.5)
    assert (low - 5e7, high - 5e7) == pytest.approx((745, 932), abs=1)
