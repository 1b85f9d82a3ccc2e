"""JCGM 100:2008, annex H.2 (resistance, reactance and impedance measured together), through the engine.

The correlated means enter as shared parts. Data and printed results recalled from tables H.2 to H.4, the
unrounded results recomputed; the rounded inputs were read in a public copy.
"""

import numpy as np
import pytest

from headrace.uncertainty.errors_map import Errors, Values
from headrace.uncertainty.gum import GumResult, gum
from headrace.uncertainty.monte_carlo import monte_carlo
from headrace.uncertainty.shared_parts import shared_parts
from headrace.uncertainty.source import Source

DATA = np.array(
    [
        [5.007, 4.994, 5.005, 4.990, 4.999],  # V
        [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],  # A
        [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],  # rad
    ]
)
MEAN = DATA.mean(axis=1)
COVARIANCE = np.cov(DATA) / DATA.shape[1]
NAMES = ("V", "I", "phi")
PARTS = shared_parts(NAMES, COVARIANCE, scope="run", origin="JCGM 100:2008, H.2")


def impedance(v: Values, i: Values, phi: Values) -> dict[str, Values]:
    return {"R": v / i * np.cos(phi), "X": v / i * np.sin(phi), "Z": v / i}


def together(e: Errors) -> dict[str, Values]:
    moved = PARTS.spread(e)
    return impedance(*(mean + moved[name] for mean, name in zip(MEAN, NAMES, strict=True)))


def apart(e: Errors) -> dict[str, Values]:
    return impedance(*(mean + e[name] for mean, name in zip(MEAN, NAMES, strict=True)))


@pytest.fixture(scope="module")
def result() -> GumResult:
    return gum(together, PARTS.sources)


@pytest.mark.check("U-4")
def test_the_parts_stand_for_the_measured_covariance() -> None:
    u = np.sqrt(np.diag(PARTS.covariance))
    r = PARTS.covariance / np.outer(u, u)
    assert u * [1, 1e3, 1] == pytest.approx([0.00320936, 0.00947101, 0.000752064], abs=1e-6)
    assert (r[0, 1], r[0, 2], r[1, 2]) == pytest.approx((-0.355311, 0.857624, -0.645111), abs=1e-6)


@pytest.mark.check("U-5")
def test_estimates_and_uncertainties(result: GumResult) -> None:
    assert result.outputs == ("R", "X", "Z")
    assert [result.nominal[n] for n in "RXZ"] == pytest.approx([127.73217, 219.84651, 254.25970], abs=1e-5)
    assert [result.u[n] for n in "RXZ"] == pytest.approx([0.0710714, 0.2955817, 0.2363361], abs=1e-6)


@pytest.mark.check("U-5")
def test_correlations(result: GumResult) -> None:
    r = result.correlation
    assert (r[0, 1], r[0, 2], r[1, 2]) == pytest.approx((-0.588430, -0.485259, 0.992512), abs=1e-6)


@pytest.mark.check("U-5")
def test_monte_carlo_finds_the_same_covariance(result: GumResult) -> None:
    drawn = monte_carlo(together, PARTS.sources, draws=200_000, seed=2)
    assert drawn.outputs == result.outputs
    assert drawn.covariance == pytest.approx(result.covariance, rel=0.015)
    assert drawn.correlation == pytest.approx(result.correlation, abs=0.006)


@pytest.mark.check("U-7")
def test_dropping_the_correlations_is_wrong() -> None:
    sources = [
        Source(name=name, u=float(u), scope="run", origin="JCGM 100:2008, H.2")
        for name, u in zip(NAMES, np.sqrt(np.diag(COVARIANCE)), strict=True)
    ]
    wrong = gum(apart, sources)
    assert [wrong.u[n] for n in "RXZ"] == pytest.approx([0.1945445, 0.2009093, 0.2040764], abs=1e-6)
