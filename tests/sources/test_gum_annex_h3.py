"""JCGM 100:2008, annex H.3 (calibration line of a thermometer), through the fit and the engine.

All values read in a public copy of the example and recomputed.
"""

import numpy as np
import pytest

from headrace.stats.linear import least_squares_map, straight_line
from headrace.uncertainty.errors_map import Errors, Values
from headrace.uncertainty.gum import GumResult, gum
from headrace.uncertainty.source import Source

T = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
B = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160])  # degC
FIT = least_squares_map(straight_line(T, 20.0))
SOURCES = [
    Source(name=f"b{k}", u=FIT.residual_sd(B), dof=FIT.dof, scope="run", origin="JCGM 100:2008, H.3")
    for k in range(B.size)
]


def line(e: Errors) -> dict[str, Values]:
    seen = np.stack([b + e[f"b{k}"] for k, b in enumerate(B)])  # readings first, draws last
    y1, y2 = FIT.coefficients(seen)
    return {"y1": y1, "y2": y2, "at 30 degC": y1 + y2 * 10.0}


@pytest.fixture(scope="module")
def result() -> GumResult:
    return gum(line, SOURCES)


@pytest.mark.check("U-8")
def test_line(result: GumResult) -> None:
    assert (result.nominal["y1"], result.nominal["y2"]) == pytest.approx(
        (-0.17120379, 0.0021826977), rel=1e-6
    )
    assert (result.u["y1"], result.u["y2"]) == pytest.approx((0.0028776, 0.00066794), rel=1e-5)
    assert result.correlation[0, 1] == pytest.approx(-0.930430, abs=1e-6)
    assert FIT.residual_sd(B) == pytest.approx(0.0034975640, rel=1e-6)
    assert FIT.chi2(B) == pytest.approx(1.10096583e-4, rel=1e-6)


@pytest.mark.check("U-8")
def test_the_fit_alone_gives_the_same_covariance(result: GumResult) -> None:
    own = FIT.covariance(np.full(B.size, FIT.residual_sd(B) ** 2))
    assert own == pytest.approx(result.covariance[:2, :2], rel=1e-9)
    assert np.sqrt(own[1, 1]) == pytest.approx(0.00066794, rel=1e-5)


@pytest.mark.check("U-9")
def test_correction_at_30_degrees(result: GumResult) -> None:
    assert result.nominal["at 30 degC"] == pytest.approx(-0.1493768, abs=1e-6)
    assert result.u["at 30 degC"] == pytest.approx(0.0041386, abs=1e-6)
    without_r = np.hypot(result.u["y1"], 10 * result.u["y2"])
    assert without_r == pytest.approx(0.0072729, abs=1e-6)
