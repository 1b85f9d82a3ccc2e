"""Pipe friction: Colebrook (1939), Blasius (1913), Hagen-Poiseuille.

The Colebrook values were computed by a scipy root-find and by the library `fluids` 1.3.1, which computes
them here once more; the others are closed forms.
"""

import warnings

import numpy as np
import pytest

from headrace.physics.hydraulics.pipe import (
    friction_blasius,
    friction_colebrook,
    friction_laminar,
    pipe_dp,
    reynolds,
    velocity,
)

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import fluids

RHO_20, MU_20 = 998.2072, 1.001596e-3
RE = np.array([1e5, 1e5, 1e5, 1e6, 4e3, 2.5e5, 1e7, 1e8])
ROUGH = np.array([1e-4, 1e-3, 0.0, 1e-5, 1e-2, 1.5e-3, 1e-4, 0.0])
FRICTION = [
    0.018513866,
    0.022174536,
    0.017989773,
    0.011869545,
    0.049082269,
    0.022600904,
    0.012166081,
    0.005940466,
]


@pytest.mark.check("P-1")
def test_colebrook() -> None:
    found = friction_colebrook(re=RE, roughness_ratio=ROUGH)
    assert found == pytest.approx(FRICTION, rel=0, abs=5e-10)  # half the last digit
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library overflows on its way and recovers
        expected = [fluids.friction.Colebrook(re, rough) for re, rough in zip(RE, ROUGH, strict=True)]
    assert found == pytest.approx(expected, rel=1e-10)


@pytest.mark.check("P-2")
def test_laminar() -> None:
    assert friction_laminar(re=1500.0) == pytest.approx(0.0426666667, rel=1e-9)
    assert friction_laminar(re=1500.0) == pytest.approx(64 / 1500, rel=1e-12)


@pytest.mark.check("P-3")
def test_blasius() -> None:
    assert friction_blasius(re=1e4) == pytest.approx(0.03164, rel=1e-9)
    assert friction_blasius(re=1e5) == pytest.approx(0.0177924795, rel=3e-9)
    smooth = friction_colebrook(re=1e5, roughness_ratio=0.0)
    assert friction_blasius(re=1e5) / smooth - 1 == pytest.approx(-0.011, abs=5e-4)


@pytest.mark.check("P-5")
def test_drop_along_six_metres() -> None:
    m_dot, d_pipe = 5.556436, 52.5e-3
    assert velocity(m_dot=m_dot, d_pipe=d_pipe, rho=RHO_20) == pytest.approx(2.571385, rel=1e-6)
    re = reynolds(m_dot=m_dot, d_pipe=d_pipe, mu=MU_20)
    assert re == pytest.approx(134_541, rel=4e-6)
    friction = friction_colebrook(re=re, roughness_ratio=45e-6 / d_pipe)
    assert friction == pytest.approx(0.02108309, rel=1e-6)
    dp = pipe_dp(m_dot=m_dot, rho=RHO_20, d_pipe=d_pipe, length=6.0, friction=friction)
    assert dp == pytest.approx(7951.537, rel=1e-6)
