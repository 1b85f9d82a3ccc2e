"""Closed forms every engine of uncertainty must reproduce: shared parts, degrees of freedom, factors.

The Welch-Satterthwaite example is recalled from JCGM 100:2008, G.4.1, and recomputed; the rest are identities.
"""

from math import inf, sqrt

import numpy as np
import pytest

from headrace.stats.series import effective_size
from headrace.uncertainty.budget import welch_satterthwaite
from headrace.uncertainty.errors_map import Errors, Values
from headrace.uncertainty.gum import gum
from headrace.uncertainty.source import Source, half_width, resolution


def per_cent(name: str, u: float, scope: str = "run") -> Source:
    return Source(name=name, u=u / 100, scope=scope, origin="closed form")


@pytest.mark.check("U-17")
def test_welch_satterthwaite() -> None:
    u, dof = [0.25, 0.57, 0.82], [9.0, 4.0, 14.0]
    sources = [
        Source(name=str(k), u=a, dof=b, scope="run", origin="JCGM 100:2008, G.4.1")
        for k, (a, b) in enumerate(zip(u, dof, strict=True))
    ]
    result = gum(lambda e: {"y": e["0"] + e["1"] + e["2"]}, sources)
    assert result.u["y"] == pytest.approx(1.029466, rel=1e-5 / 1.03)
    assert result.dof["y"] == pytest.approx(18.9987, abs=5e-5)
    assert result.expanded("y") / result.u["y"] == pytest.approx(2.100922, abs=1e-6)  # t of 18, tables


@pytest.mark.check("U-18")
def test_welch_satterthwaite_with_a_part_known_for_certain() -> None:
    assert welch_satterthwaite([0.010, 0.008, 0.005], [4, inf, 9]) == pytest.approx(13.9022, abs=5e-5)


@pytest.mark.check("U-19")
def test_factors_of_limits() -> None:
    assert half_width(0.7) == pytest.approx(0.7 / 3**0.5, rel=1e-12)
    assert half_width(0.7, "triangular") == pytest.approx(0.7 / 6**0.5, rel=1e-12)
    assert half_width(0.7, "arcsine") == pytest.approx(0.7 / 2**0.5, rel=1e-12)
    assert resolution(0.7) == pytest.approx(0.7 / 12**0.5, rel=1e-12)


def relative_u(model, sources: list[Source], output: str = "y") -> float:  # type: ignore[no-untyped-def]  # a Model
    result = gum(model, sources, step=1e-3)
    return 100 * result.u[output] / result.nominal[output]


@pytest.mark.check("U-20")
def test_effective_area_of_three_gauges() -> None:
    def area(e: Errors) -> dict[str, Values]:
        return {"y": 1.3 * (1 + e["m"]) / np.sqrt(2 * 998.0 * (1 + e["rho"]) * 6e5 * (1 + e["dp"]))}

    u = relative_u(area, [per_cent("m", 0.5), per_cent("dp", 1.0), per_cent("rho", 0.05)])
    assert u == pytest.approx(0.7075486, abs=1e-7)


def meters(e: Errors) -> dict[str, Values]:
    first, second = ((1 + e["certificate"]) * (1 + e[own]) for own in ("own 1", "own 2"))
    return {"ratio": first / second, "sum": first + second}


@pytest.mark.check("U-21")
def test_a_shared_certificate_cancels_in_a_ratio_and_adds_in_a_sum() -> None:
    own = [per_cent("own 1", 0.3), per_cent("own 2", 0.3)]
    sources = [per_cent("certificate", 0.5, "shared"), *own]
    assert relative_u(meters, sources, "ratio") == pytest.approx(0.4242641, abs=1e-7)
    assert relative_u(meters, sources, "sum") == pytest.approx(0.5431390, abs=1e-7)

    def unshared(e: Errors) -> dict[str, Values]:
        first, second = ((1 + e[f"certificate {k}"]) * (1 + e[f"own {k}"]) for k in (1, 2))
        return {"ratio": first / second, "sum": first + second}

    sources = [per_cent("certificate 1", 0.5), per_cent("certificate 2", 0.5), *own]
    assert relative_u(unshared, sources, "ratio") == pytest.approx(0.8246211, abs=1e-7)
    assert relative_u(unshared, sources, "sum") == pytest.approx(0.4123106, abs=1e-7)


@pytest.mark.check("U-22")
def test_what_is_wholly_shared_doubles_in_a_sum_and_is_gone_in_a_difference() -> None:
    source = Source(name="zero", u=0.37, scope="shared", origin="closed form")
    result = gum(
        lambda e: {"sum": (5 + e["zero"]) + (2 + e["zero"]), "less": (5 + e["zero"]) - (2 + e["zero"])},
        [source],
    )
    assert result.u["sum"] == pytest.approx(0.74, rel=1e-9)
    assert result.u["less"] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.check("U-23")
def test_mixture_ratio_from_two_venturis_of_one_certificate() -> None:
    def ratio(e: Errors) -> dict[str, Values]:
        flows = [
            (1 + e["C"]) * np.sqrt((1 + e[f"dp {side}"]) * (1 + e[f"rho {side}"])) for side in ("ox", "fuel")
        ]
        return {"y": 2.3 * flows[0] / flows[1]}

    sources = [per_cent("C", 0.7, "shared")]
    sources += [per_cent(f"dp {side}", 0.2) for side in ("ox", "fuel")]
    sources += [per_cent(f"rho {side}", 0.03) for side in ("ox", "fuel")]
    assert relative_u(ratio, sources) == pytest.approx(0.1430035, abs=1e-6)


@pytest.mark.check("U-24")
def test_repeats_do_not_shrink_what_they_share() -> None:
    repeats = [per_cent(f"repeat {k}", 0.3) for k in range(10)]

    def mean(e: Errors) -> dict[str, Values]:
        return {"y": (1 + e["system"]) * (1 + sum(e[f"repeat {k}"] for k in range(10)) / 10)}

    u = relative_u(mean, [per_cent("system", 0.5, "shared"), *repeats])
    assert u == pytest.approx(sqrt(0.5**2 + 0.3**2 / 10), abs=1e-7)
    assert u == pytest.approx(0.5089204, abs=1e-7)


@pytest.mark.check("U-26")
def test_effective_size_of_an_autoregressive_series() -> None:
    assert effective_size(1000, 0.9) == pytest.approx(1000 * 0.1 / 1.9, abs=1e-4)
    assert effective_size(1000, 0.9) == pytest.approx(52.63, abs=5e-3)
