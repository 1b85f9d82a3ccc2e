"""The c* table: it meets its points, is as smooth as a cubic spline should be, and says when it is left."""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from headrace.errors import OutOfDomain
from headrace.physics.combustion import CStarTable, area_throat_from_diameter, c_star_from_chamber
from headrace.physics.combustion.spline import spline

OF = (1.2, 1.4, 1.5, 1.6, 1.8)
P = (1e6, 2e6, 4e6)
ETHANOL_95 = (1668.13, 1706.35, 1708.77, 1704.05, 1684.65)  # m/s at 2 MPa, equilibrium, by Cantera 3.2.0
GAIN = (-9.29, 0.0, 8.45)  # m/s at 1, 2, 4 MPa, from the same for 75 % ethanol
TABLE = CStarTable(
    of_ratio=OF, p_chamber=P, c_star=tuple(tuple(value + gain for gain in GAIN) for value in ETHANOL_95)
)


def test_it_meets_its_points() -> None:
    for i, of_ratio in enumerate(OF):
        for j, p_chamber in enumerate(P):
            assert TABLE.at(of_ratio=of_ratio, p_chamber=p_chamber) == pytest.approx(
                TABLE.c_star[i][j], rel=1e-12
            )


@pytest.mark.parametrize("n", [2, 3, 4, 5, 9])
def test_spline_against_scipy(n: int) -> None:
    rng = np.random.default_rng(n)
    knots, values = np.cumsum(rng.uniform(0.3, 1.1, n)), rng.normal(size=(n, 2))
    ours, theirs = spline(knots, values), CubicSpline(knots, values, bc_type="not-a-knot")
    x = np.linspace(knots[0] - 0.4, knots[-1] + 0.4, 57)
    np.testing.assert_allclose(ours(x), theirs(x), rtol=1e-9, atol=1e-11)
    np.testing.assert_allclose(ours.slope(x), theirs(x, 1), rtol=1e-9, atol=1e-11)


def test_a_left_out_point_is_found_again() -> None:
    """Methane at 2 MPa by Cantera 3.2.0: 1845.29 m/s at O/F 3.0 from its four neighbours."""
    left = CStarTable(
        of_ratio=(2.6, 2.8, 3.2, 3.4),
        p_chamber=(2e6,),
        c_star=((1850.61,), (1852.74,), (1831.87,), (1815.39,)),
    )
    assert left.at(of_ratio=3.0, p_chamber=2e6) == pytest.approx(1845.29, abs=0.5)


def test_pressure_between_its_points_goes_with_the_logarithm() -> None:
    """1652.96 m/s at 2 MPa lies half-way in ln p between 1643.67 at 1 and 1661.41 at 4 (Cantera 3.2.0)."""
    ends = CStarTable(of_ratio=(1.3,), p_chamber=(1e6, 4e6), c_star=((1643.67, 1661.41),))
    assert ends.at(of_ratio=1.3, p_chamber=2e6) == pytest.approx((1643.67 + 1661.41) / 2, rel=1e-12)
    assert ends.at(of_ratio=9.9, p_chamber=2e6) == pytest.approx(1652.96, abs=0.5)


def test_slopes_are_the_derivatives() -> None:
    of_ratio, p_chamber, step = np.array([1.25, 1.47, 1.71]), np.array([1.3e6, 2.2e6, 3.7e6]), 1e-5
    by_of, by_ln_p = TABLE.slopes(of_ratio=of_ratio, p_chamber=p_chamber)

    def difference(d_of: float, d_ln_p: float) -> np.ndarray:
        up, down = (
            TABLE.at(of_ratio=of_ratio + s * d_of, p_chamber=p_chamber * np.exp(s * d_ln_p)) for s in (1, -1)
        )
        return (up - down) / (2 * step)

    np.testing.assert_allclose(by_of, difference(step, 0), rtol=1e-6, atol=1e-5)
    np.testing.assert_allclose(by_ln_p, difference(0, step), rtol=1e-6, atol=1e-5)


def test_it_broadcasts_over_draws() -> None:
    got = TABLE.at(of_ratio=np.linspace(1.3, 1.7, 5)[:, None], p_chamber=np.linspace(1.5e6, 3e6, 3))
    assert got.shape == (5, 3)
    assert got[1, 2] == pytest.approx(float(TABLE.at(of_ratio=1.4, p_chamber=3e6)), rel=1e-14)


def test_one_point_is_a_constant_without_ends() -> None:
    constant = CStarTable.constant(1600.0)
    assert np.all(constant.at(of_ratio=np.array([0.5, 9.0]), p_chamber=3e6) == 1600.0)
    assert constant.outside(of_ratio=50.0, p_chamber=1e3) == ()
    assert [float(one) for one in constant.slopes(of_ratio=2.0, p_chamber=1e6)] == [0.0, 0.0]


def test_outside_says_which_way() -> None:
    assert TABLE.outside(of_ratio=np.array([1.2, 1.8]), p_chamber=1e6) == ()
    assert TABLE.outside(of_ratio=1.8 * (1 + 1e-12), p_chamber=4e6 * (1 + 1e-12)) == ()
    assert len(TABLE.outside(of_ratio=1.8 * (1 + 1e-6), p_chamber=1e6 * (1 - 1e-6))) == 2
    of, p = TABLE.outside(of_ratio=np.array([1.5, 1.1]), p_chamber=5e6)
    assert (of.quantity, of.value, of.low, of.high) == ("of_ratio", 1.1, 1.2, 1.8)
    assert (p.quantity, p.value, p.low, p.high) == ("p_chamber", 5e6, 1e6, 4e6)


@pytest.mark.parametrize(
    ("of_ratio", "p_chamber", "c_star", "match"),
    [
        ((2.0, 1.0), (1e6,), ((1.0,), (1.0,)), "rising"),
        ((1.0, 2.0), (2e6, 1e6), ((1.0, 1.0), (1.0, 1.0)), "rising"),
        ((), (1e6,), (), "rising"),
        ((1.0, np.nan), (1e6,), ((1.0,), (1.0,)), "rising"),
        ((-1.0, 2.0), (1e6,), ((1.0,), (1.0,)), "above 0"),
        ((1.0, 2.0), (1e6,), ((1.0,),), "2 rows of 1"),
        ((1.0,), (1e6, 2e6), ((1.0,),), "1 rows of 2"),
        ((1.0,), (1e6,), ((np.nan,),), "above 0"),
    ],
)
def test_a_faulty_table_is_refused(of_ratio: object, p_chamber: object, c_star: object, match: str) -> None:
    with pytest.raises(OutOfDomain, match=match):
        CStarTable(of_ratio=of_ratio, p_chamber=p_chamber, c_star=c_star)  # type: ignore[arg-type]  # on purpose


@pytest.mark.parametrize("bad", [0.0, -1.0, np.nan])
def test_nonsense_is_refused(bad: float) -> None:
    with pytest.raises(OutOfDomain, match="above 0"):
        TABLE.at(of_ratio=bad, p_chamber=1e6)
    with pytest.raises(OutOfDomain, match="above 0"):
        TABLE.at(of_ratio=1.5, p_chamber=bad)
    with pytest.raises(OutOfDomain, match="above 0"):
        TABLE.outside(of_ratio=1.5, p_chamber=bad)
    for name in ("p_chamber", "area_throat", "m_dot", "c_throat"):
        arguments = {"p_chamber": 2e6, "area_throat": 1e-3, "m_dot": 1.25, "c_throat": 0.99, name: bad}
        with pytest.raises(OutOfDomain, match=name):
            c_star_from_chamber(**arguments)
    with pytest.raises(OutOfDomain, match="d_throat"):
        area_throat_from_diameter(d_throat=bad)


def test_throat_area_goes_with_the_square() -> None:
    assert area_throat_from_diameter(d_throat=2.0) == pytest.approx(np.pi, rel=1e-15)
