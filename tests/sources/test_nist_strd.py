"""Linear least squares against the certified values of the NIST Statistical Reference Datasets.

Norris: certified values and data as in scipy's own test of linregress. Longley: data and certified values as
transcribed publicly from NIST's Longley.dat, and recomputed with statsmodels 0.15.0.
"""

import numpy as np
import pytest

from headrace.stats.linear import least_squares_map, straight_line

# fmt: off
NORRIS_X = np.array([
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4,
    0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3,
    0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
])
# fmt: on
# fmt: off
NORRIS_Y = np.array([
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3,
    0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3,
    0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
])
# fmt: on
LONGLEY = np.array(
    [
        [60323, 83.0, 234289, 2356, 1590, 107608, 1947],
        [61122, 88.5, 259426, 2325, 1456, 108632, 1948],
        [60171, 88.2, 258054, 3682, 1616, 109773, 1949],
        [61187, 89.5, 284599, 3351, 1650, 110929, 1950],
        [63221, 96.2, 328975, 2099, 3099, 112075, 1951],
        [63639, 98.1, 346999, 1932, 3594, 113270, 1952],
        [64989, 99.0, 365385, 1870, 3547, 115094, 1953],
        [63761, 100.0, 363112, 3578, 3350, 116219, 1954],
        [66019, 101.2, 397469, 2904, 3048, 117388, 1955],
        [67857, 104.6, 419180, 2822, 2857, 118734, 1956],
        [68169, 108.4, 442769, 2936, 2798, 120445, 1957],
        [66513, 110.8, 444546, 4681, 2637, 121950, 1958],
        [68655, 112.6, 482704, 3813, 2552, 123366, 1959],
        [69564, 114.2, 502601, 3931, 2514, 125368, 1960],
        [69331, 115.7, 518173, 4806, 2572, 127852, 1961],
        [70551, 116.9, 554894, 4007, 2827, 130081, 1962],
    ]
)


@pytest.mark.check("R-1")
def test_norris() -> None:
    fit = least_squares_map(straight_line(NORRIS_X))
    sd = fit.residual_sd(NORRIS_Y)
    errors = np.sqrt(np.diag(fit.covariance(np.full(36, sd**2))))
    assert fit.coefficients(NORRIS_Y) == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-10)
    assert errors == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-10)
    assert sd == pytest.approx(0.884796396144373, rel=1e-10)
    assert fit.chi2(NORRIS_Y) == pytest.approx(26.6173985294224, rel=1e-10)


@pytest.mark.check("R-2")
def test_longley() -> None:
    y, x = LONGLEY[:, 0], LONGLEY[:, 1:]
    fit = least_squares_map(np.column_stack([np.ones(16), x]))
    certified = [
        -3482258.63459582,
        15.0618722713733,
        -0.0358191792925910,
        -2.02022980381683,
        -1.03322686717359,
        -0.0511041056535807,
        1829.15146461355,
    ]
    sd = fit.residual_sd(y)
    assert fit.coefficients(y) == pytest.approx(certified, rel=1e-7)
    assert np.sqrt(fit.covariance(np.full(16, sd**2))[0, 0]) == pytest.approx(890420.383607373, rel=1e-7)
    assert sd == pytest.approx(304.854073562, rel=1e-9)
