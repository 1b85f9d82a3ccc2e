"""Local losses: Borda-Carnot, entrance figures of the handbooks (seen in the library `fluids`), Kv, Cv, networks.

All others are closed forms.
"""

import numpy as np
import pytest

from headrace.physics.hydraulics.losses import (
    ENTRANCES,
    area_eff_from_k,
    area_eff_from_kv,
    borda_carnot_k,
    k_from_area_eff,
    k_rebased,
    kv_from_cv,
    parallel,
    series,
)


@pytest.mark.check("P-6")
def test_sudden_enlargement() -> None:
    assert borda_carnot_k(area_ratio=(25 / 50) ** 2) == 0.5625


@pytest.mark.check("P-7")
def test_exit_into_a_vessel() -> None:
    assert borda_carnot_k(area_ratio=0.0) == 1.0


@pytest.mark.check("P-8")
def test_sharp_entrance_names_whose_figure_it_is() -> None:
    assert (ENTRANCES["sharp"].k, ENTRANCES["sharp (Rennels)"].k) == (0.5, 0.57)
    assert "Crane" in ENTRANCES["sharp"].source
    assert "Rennels" in ENTRANCES["sharp (Rennels)"].source


@pytest.mark.check("P-9")
def test_projecting_entrance() -> None:
    assert ENTRANCES["projecting"].k == 0.78
    assert "Crane TP-410" in ENTRANCES["projecting"].source


@pytest.mark.check("P-12")
def test_rebasing() -> None:
    assert k_rebased(k=32.688757, d_from=0.010, d_to=0.020) == pytest.approx(523.02011, rel=1e-8)


@pytest.mark.check("P-13")
def test_kv() -> None:
    assert area_eff_from_kv(kv=10.0) == pytest.approx(1.964186e-4, rel=1e-6)


@pytest.mark.check("P-14")
def test_cv() -> None:
    assert kv_from_cv(cv=1.0) == pytest.approx(0.8649777, rel=1e-6)


@pytest.mark.check("P-15")
def test_loss_coefficient_and_effective_area() -> None:
    area = np.pi / 4 * 52.5e-3**2
    assert area_eff_from_k(k=10.0, area=area) == pytest.approx(6.8455522e-4, rel=1e-7)
    assert k_from_area_eff(area_eff=6.8455522e-4, area=area) == pytest.approx(10.0, rel=1e-7)


@pytest.mark.check("P-16")
def test_series() -> None:
    assert series([1e-5, 2e-5]) == pytest.approx(8.94427191e-6, rel=1e-9)


@pytest.mark.check("P-17")
def test_parallel() -> None:
    assert parallel([1e-5, 1e-5, 1e-5]) == pytest.approx(3e-5, rel=1e-15)
