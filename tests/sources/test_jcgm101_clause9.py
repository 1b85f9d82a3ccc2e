"""JCGM 101:2008, clause 9, through propagation of uncertainty and of distributions.

Sums and squares are closed forms; the mass calibration's printed table 6 is recalled and was recomputed.
A Monte Carlo number is held to its own sampling error where the row's tolerance is an analytic one.
"""

from math import log, sqrt

import numpy as np
import pytest

from headrace.uncertainty.compare import compare
from headrace.uncertainty.errors_map import Errors, Values
from headrace.uncertainty.gum import gum
from headrace.uncertainty.monte_carlo import monte_carlo
from headrace.uncertainty.source import Source, half_width

COMMON = {"scope": "instrument", "origin": "JCGM 101:2008, clause 9"}
MILLION = 1_000_000


def four(dist: str, last: float = 1.0) -> list[Source]:
    return [Source(name=f"x{k}", u=last if k == 3 else 1.0, dist=dist, **COMMON) for k in range(4)]


def total(e: Errors) -> dict[str, Values]:
    return {"y": e["x0"] + e["x1"] + e["x2"] + e["x3"]}


@pytest.mark.check("U-11")
def test_sum_of_four_normals() -> None:
    sources = four("normal")
    result, drawn = gum(total, sources), monte_carlo(total, sources, draws=MILLION, seed=1)
    assert result.u["y"] == pytest.approx(2.0, abs=1e-6)
    assert result.interval("y") == pytest.approx((-3.919928, 3.919928), abs=1e-6)
    assert drawn.interval("y") == pytest.approx((-3.919928, 3.919928), abs=0.02)
    assert drawn.u["y"] == pytest.approx(2.0, abs=0.02)


@pytest.mark.check("U-12")
def test_sum_of_four_rectangles() -> None:
    end = 2 * sqrt(3) * (2 - (3 / 5) ** 0.25)  # closed form, 3.87940674
    drawn = monte_carlo(total, four("rectangular"), draws=MILLION, seed=1)
    assert end == pytest.approx(3.87940674, abs=1e-8)
    assert drawn.interval("y") == pytest.approx((-end, end), abs=0.02)
    assert drawn.summary["y"].shortest == pytest.approx((-end, end), abs=0.06)  # its place is poorly known


@pytest.mark.check("U-13")
def test_one_wide_rectangle() -> None:
    sources = four("rectangular", last=10.0)
    result, drawn = gum(total, sources), monte_carlo(total, sources, draws=MILLION, seed=1)
    assert result.u["y"] == pytest.approx(10.148892, abs=1e-6)
    assert result.expanded("y") == pytest.approx(19.89146, abs=1e-5)
    assert drawn.interval("y") == pytest.approx((-17.01581, 17.01581), abs=0.05)
    assert not compare(result, drawn)["y"].agrees


MASS = (
    Source(name="m_R", u=0.05, **COMMON),  # mg
    Source(name="dm_R", u=0.02, **COMMON),
    Source(name="rho_air", u=half_width(0.1), dist="rectangular", **COMMON),  # kg/m3
    Source(name="rho_W", u=half_width(1000), dist="rectangular", **COMMON),
    Source(name="rho_R", u=half_width(50), dist="rectangular", **COMMON),
)


def mass(e: Errors) -> dict[str, Values]:
    m = 100_000 + e["m_R"] + 1.234 + e["dm_R"]
    air = 1.2 + e["rho_air"]
    lift = 1 / (8000 + e["rho_W"]) - 1 / (8000 + e["rho_R"])
    return {"dm": m * (1 + (air - 1.2) * lift) - 100_000}


@pytest.mark.check("U-14")
def test_mass_by_propagation_of_uncertainty() -> None:
    first, second = gum(mass, MASS), gum(mass, MASS, order=2)
    assert first.nominal["dm"] == pytest.approx(1.2340, abs=1e-5)
    assert first.u["dm"] == pytest.approx(0.0538517, abs=1e-6)
    assert first.interval("dm") == pytest.approx((1.1285, 1.3395), abs=5e-5)
    assert second.u["dm"] == pytest.approx(0.0749630, abs=1e-6)
    assert second.interval("dm") == pytest.approx((1.0871, 1.3809), abs=5e-5)
    assert second.budget("dm")[0].source == "rho_air × rho_W"


@pytest.mark.check("U-14")
def test_mass_by_propagation_of_distributions() -> None:
    drawn = monte_carlo(mass, MASS, draws=MILLION, seed=3)
    assert drawn.mean["dm"] == pytest.approx(1.23408, abs=3e-4)
    assert drawn.u["dm"] == pytest.approx(0.0754, abs=5e-4)
    assert drawn.interval("dm") == pytest.approx((1.0834, 1.3825), abs=3e-3)
    assert not compare(gum(mass, MASS), drawn)["dm"].agrees


LOSS = (Source(name="x1", u=0.005, **COMMON), Source(name="x2", u=0.005, **COMMON))


def loss_at(x1: float):  # type: ignore[no-untyped-def]  # a closure, its type is Model
    return lambda e: {"y": (x1 + e["x1"]) ** 2 + e["x2"] ** 2}


@pytest.mark.check("U-15")
@pytest.mark.parametrize(
    ("x1", "first_y", "first_u", "mean", "u"),
    [(0.0, 0, 0, 50, 50), (0.010, 100, 100, 150, 111.803399), (0.050, 2500, 500, 2550, 502.493781)],
)
def test_comparison_loss(x1: float, first_y: float, first_u: float, mean: float, u: float) -> None:
    """Unit 1e-6. The second order is exact here: a sum of squares of normals has no higher one."""
    first, second = gum(loss_at(x1), LOSS), gum(loss_at(x1), LOSS, order=2)
    assert first.nominal["y"] * 1e6 == pytest.approx(first_y, abs=1e-6)
    assert first.u["y"] * 1e6 == pytest.approx(first_u, rel=1e-6, abs=1e-6)
    assert (second.nominal["y"] + second.mean_shift["y"]) * 1e6 == pytest.approx(mean, rel=1e-6)
    assert second.u["y"] * 1e6 == pytest.approx(u, rel=1e-6)
    drawn = monte_carlo(loss_at(x1), LOSS, draws=MILLION, seed=4)
    assert drawn.mean["y"] * 1e6 == pytest.approx(mean, abs=4 * u / 1e3)
    assert drawn.u["y"] * 1e6 == pytest.approx(u, rel=0.006)


@pytest.mark.check("U-16")
def test_comparison_loss_intervals() -> None:
    """Absolute tolerance 1e-6 as in the row; the widest, whose sampling error is larger, gets 5e-6."""
    at_zero = monte_carlo(loss_at(0.0), LOSS, draws=MILLION, seed=4).summary["y"]
    low, high = at_zero.shortest
    assert low == pytest.approx(0.0, abs=1e-9)
    assert high == pytest.approx(-2 * 0.005**2 * log(0.05), abs=1e-6)
    assert high == pytest.approx(149.7866e-6, abs=1e-6)
    near = monte_carlo(loss_at(0.010), LOSS, draws=MILLION, seed=4)
    assert near.interval("y") == pytest.approx((8.5468e-6, 427.123e-6), abs=1e-6)
    far = monte_carlo(loss_at(0.050), LOSS, draws=MILLION, seed=4)
    assert far.interval("y") == pytest.approx((1638.477e-6, 3603.358e-6), abs=5e-6)
    assert np.diff(far.summary["y"].shortest)[0] < np.diff(far.interval("y"))[0]
