"""Orifice plates against ISO 5167-2:2003, as the open library `fluids` has it.

V-21, V-23 and V-24 are figures of that library's own test-suite (seen); V-22 was computed with it, and is
computed with it here once more over a wide span.
"""

import warnings

import numpy as np
import pytest

from headrace.physics.hydraulics.limits import outside
from headrace.physics.hydraulics.orifice import (
    TAPS,
    orifice_c,
    orifice_expansibility,
    orifice_k,
    orifice_limits,
    orifice_loss_ratio,
    orifice_loss_ratio_short,
    orifice_m_dot,
    orifice_u_c,
)
from headrace.physics.hydraulics.pipe import reynolds
from headrace.physics.hydraulics.venturi import FORMS, venturi_expansibility, venturi_m_dot

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import fluids

NAMES = {"corner": "corner", "flange": "flange", "D-D/2": "D and D/2"}  # ours: the library's


@pytest.mark.check("V-21")
@pytest.mark.parametrize(
    ("taps", "c"), [("corner", 0.6000085121), ("D-D/2", 0.5988219225), ("flange", 0.5990042536)]
)
def test_coefficient_by_tap(taps: str, c: float) -> None:
    re = reynolds(m_dot=0.124431876, d_pipe=0.07391, mu=1.85861753095e-5)
    assert orifice_c(d_pipe=0.07391, d_throat=0.0222, re=re, taps=TAPS[taps]) == pytest.approx(c, rel=1e-9)


@pytest.mark.check("V-22")
@pytest.mark.parametrize(
    ("d_pipe", "beta", "re", "taps", "c"),
    [
        (0.1, 0.5, 1e5, "corner", 0.6068732),
        (0.1, 0.5, 1e5, "flange", 0.6062010),
        (0.1, 0.5, 1e5, "D-D/2", 0.6061848),
        (0.05, 0.6, 5e4, "corner", 0.6147268),
        (0.05, 0.6, 5e4, "flange", 0.6155415),
        (0.2, 0.2, 1e6, "D-D/2", 0.5966079),
        (0.05, 0.75, 1e4, "flange", 0.6482735),
    ],
)
def test_coefficient_by_reynolds_number(d_pipe: float, beta: float, re: float, taps: str, c: float) -> None:
    """The fourth, fifth and last rows have the small-pipe term (below 71.12 mm)."""
    found = orifice_c(d_pipe=d_pipe, d_throat=beta * d_pipe, re=re, taps=TAPS[taps])
    assert found == pytest.approx(c, rel=1e-6)


@pytest.mark.check("V-22")
@pytest.mark.parametrize("taps", TAPS)
def test_coefficient_over_the_whole_scope_computed_with_fluids(taps: str) -> None:
    rng = np.random.default_rng(5167)
    d_pipe, beta = rng.uniform(0.05, 0.3, 60), rng.uniform(0.1, 0.75, 60)
    re, mu = 10 ** rng.uniform(3.7, 7, 60), 1e-3
    expected = [
        fluids.flow_meter.C_Reader_Harris_Gallagher(
            D=d, Do=b * d, rho=1000.0, mu=mu, m=r * np.pi * d * mu / 4, taps=NAMES[taps]
        )
        for d, b, r in zip(d_pipe, beta, re, strict=True)
    ]
    found = orifice_c(d_pipe=d_pipe, d_throat=beta * d_pipe, re=re, taps=TAPS[taps])
    assert found == pytest.approx(expected, rel=1e-12)


BENCH = {"d_pipe": 73.66e-3, "d_throat": 50e-3, "rho": 999.1}
STATE = {"p_abs_up": 200e3, "beta": 50 / 73.66, "kappa": 1.33}


@pytest.mark.check("V-23")
def test_flow_solved_with_the_gas_expansibility_of_the_print() -> None:
    """The printed figures treat water as a gas; they are met with that factor, and only with it."""
    epsilon = orifice_expansibility(p_abs_down=183e3, **STATE)
    m_dot = orifice_m_dot(dp=17e3, mu=1.1e-3, taps=TAPS["D-D/2"], epsilon=epsilon, **BENCH)
    assert m_dot == pytest.approx(7.702338, rel=1e-6)
    throat = venturi_expansibility(p_abs_throat=183e3, **STATE)
    assert throat == pytest.approx(0.9353633, rel=1e-6)
    printed = {"as-cast": 11.867774, "machined": 12.000442, "rough-welded": 11.879835}
    for form, expected in printed.items():
        gas = venturi_m_dot(dp=17e3, c=FORMS[form].c, epsilon=throat, **BENCH)
        assert gas == pytest.approx(expected, rel=1e-6)


@pytest.mark.check("V-23")
def test_a_liquid_keeps_expansibility_one() -> None:
    assert venturi_m_dot(dp=17e3, c=FORMS["machined"].c, **BENCH) == pytest.approx(12.829712, rel=1e-6)


@pytest.mark.parametrize("taps", TAPS)
def test_flow_and_coefficient_agree(taps: str) -> None:
    """The solved flow, put back into the coefficient, gives itself."""
    dp, mu = np.geomspace(2e2, 2e5, 31), 1.1e-3
    m_dot = orifice_m_dot(dp=dp, mu=mu, taps=TAPS[taps], **BENCH)
    re = reynolds(m_dot=m_dot, d_pipe=BENCH["d_pipe"], mu=mu)
    c = orifice_c(d_pipe=BENCH["d_pipe"], d_throat=BENCH["d_throat"], re=re, taps=TAPS[taps])
    assert venturi_m_dot(dp=dp, c=c, **BENCH) == pytest.approx(m_dot, rel=1e-13)


@pytest.mark.check("V-24")
def test_permanent_loss_and_k() -> None:
    beta = 50 / 73.66
    assert orifice_k(beta=beta, c=0.61512) == pytest.approx(5.2314292, rel=1e-7)
    assert 17e3 * orifice_loss_ratio(beta=beta, c=0.61512) == pytest.approx(9069.4747, rel=1e-7)


def test_permanent_loss_of_a_half_bore_plate() -> None:
    """Equation (7) at beta 0.5, C 0.60, by hand to three digits; the quick form agrees to 1 %."""
    assert orifice_loss_ratio(beta=0.5, c=0.60) == pytest.approx(0.734, abs=5e-4)
    assert orifice_loss_ratio_short(beta=0.5) == pytest.approx(0.7321, abs=5e-4)


@pytest.mark.parametrize(
    ("d_pipe", "beta", "re", "per_cent"),
    [
        (0.1, 0.15, 1e5, 0.55),  # 0.7 - beta
        (0.1, 0.40, 1e5, 0.50),
        (0.1, 0.70, 1e5, 0.6669),  # 1.667 beta - 0.5
        (0.05, 0.50, 1e5, 0.5 + 0.9 * 0.25 * (2.8 - 50 / 25.4)),  # a small pipe
        (0.1, 0.55, 9e3, 1.0),  # beta above 0.5 and little flow
        (0.1, 0.50, 9e3, 0.5),
    ],
)
def test_uncertainty_clause(d_pipe: float, beta: float, re: float, per_cent: float) -> None:
    """ISO 5167-2:2003, 5.3.3.1 (seen), parts added by hand."""
    found = orifice_u_c(d_pipe=d_pipe, d_throat=beta * d_pipe, re=re)
    assert 100 * found == pytest.approx(per_cent, rel=1e-9)


@pytest.mark.parametrize(
    ("taps", "d_pipe", "beta", "re_low"),
    [
        ("corner", 0.1, 0.5, 5000.0),
        ("corner", 0.1, 0.7, 16_000 * 0.49),
        ("D-D/2", 0.1, 0.7, 16_000 * 0.49),
        ("flange", 0.1, 0.5, 5000.0),  # 170 * 0.25 * 100 = 4250 is less
        ("flange", 0.1, 0.7, 170 * 0.49 * 100),
    ],
)
def test_least_reynolds_number(taps: str, d_pipe: float, beta: float, re_low: float) -> None:
    """ISO 5167-2:2003, 5.3.1 (from memory): 5000, 16 000 beta2 above 0.56, flange 170 beta2 D (D in mm)."""
    limits = orifice_limits(taps=TAPS[taps], d_pipe=d_pipe, d_throat=beta * d_pipe)
    assert {span.quantity: span.low for span in limits.ranges}["re"] == pytest.approx(re_low, rel=1e-9)
    assert outside(limits, re=0.999 * re_low)
    assert not outside(limits, re=1.001 * re_low, d_pipe=d_pipe, beta=beta, d_throat=beta * d_pipe)
