"""Formulas that no published row covers, against arithmetic done apart from them."""

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from headrace.physics.gas.blowdown import blowdown_time, blowdown_work
from headrace.physics.gas.manual_run import area_eff_plain_mean, area_eff_two_point
from headrace.physics.hydraulics.cavitation import meter_throat_margin
from headrace.physics.hydraulics.injector import (
    area_eff_from_mass,
    element_re,
    element_re_ideal,
    inertance,
    injector_dp,
    static_from_total,
    total_from_static,
    velocity_head,
)
from headrace.physics.hydraulics.orifice import SMALL_PIPE, TAPS, orifice_c
from headrace.physics.hydraulics.pipe import pipe_k

RHO = 998.2072


def test_every_term_of_the_injector_drop_has_its_sign() -> None:
    bare = {"p_abs_tap": 6.1e5, "p_abs_out": 1.01e5, "rho": RHO}
    drop = injector_dp(**bare)
    assert drop == pytest.approx(5.09e5, rel=1e-12)
    assert injector_dp(**bare, height=1.7) - drop == pytest.approx(RHO * 9.80665 * 1.7, rel=1e-9)
    assert injector_dp(**bare, dp_velocity=800.0) - drop == pytest.approx(800.0, rel=1e-9)
    assert injector_dp(**bare, dp_line=900.0) - drop == pytest.approx(-900.0, rel=1e-9)
    dying = injector_dp(**bare, inertance=1000.0, m_dot_rate=-2.0)
    assert dying - drop == pytest.approx(2000.0, rel=1e-9)  # the measured drop was too small


def test_inertance_of_two_metres_of_pipe() -> None:
    """2 m of 50 mm: 10 kg/s dying with a time of 5 s makes 2 kPa, ramping in 0.1 s makes 102 kPa."""
    line = inertance(lengths=[1.5, 0.5], areas=[np.pi / 4 * 0.05**2] * 2)
    assert line * 10 / 5 == pytest.approx(2.04e3, rel=2e-3)
    assert line * 10 / 0.1 == pytest.approx(101.9e3, rel=1e-3)


@pytest.mark.parametrize(("share", "per_cent"), [(0.1, 0.5), (0.2, 2.1), (0.3, 4.8), (0.4, 9.1)])
def test_static_basis_makes_the_area_look_larger(share: float, per_cent: float) -> None:
    static = static_from_total(area_eff_total=share * 1e-3, area_tap=1e-3)
    assert 100 * (static / (share * 1e-3) - 1) == pytest.approx(per_cent, abs=0.051)
    assert total_from_static(area_eff_static=static, area_tap=1e-3) == pytest.approx(share * 1e-3, rel=1e-12)


def test_both_bases_give_one_flow() -> None:
    """The static drop with the static area, and the total drop with the total area, are the same flow."""
    total, tap, dp_total = 3.1e-4, 9e-4, 4.4e5
    m_dot = total * np.sqrt(2 * RHO * dp_total)
    dp_static = dp_total - velocity_head(m_dot=m_dot, area=tap, rho=RHO)
    static = static_from_total(area_eff_total=total, area_tap=tap)
    assert static * np.sqrt(2 * RHO * dp_static) == pytest.approx(m_dot, rel=1e-12)


def test_reynolds_numbers_of_an_element_differ_by_its_coefficient() -> None:
    d, mu, cd, dp = 0.8e-3, 1.0016e-3, 0.71, 6e5
    m_dot = 37 * cd * np.pi / 4 * d**2 * np.sqrt(2 * RHO * dp)
    mean = element_re(m_dot=m_dot, mu=mu, d_element=d, count=37)
    assert element_re(m_dot=m_dot / 37, mu=mu, d_element=d) == pytest.approx(mean, rel=1e-12)
    assert mean == pytest.approx(cd * element_re_ideal(dp=dp, rho=RHO, mu=mu, d_element=d), rel=1e-12)


def test_one_mass_and_a_trace() -> None:
    """A drop falling so that its root is a straight line: integral by hand; noise about zero cancels."""
    time = np.array([0.0, 0.5, 2.0, 3.0, 7.0])
    root = 1000.0 - 100.0 * time  # sqrt(2 rho dp)
    dp = root**2 / (2 * RHO)
    integral = 1000 * 7 - 50 * 49
    area = area_eff_from_mass(mass=0.091, dp=dp, time=time, rho=RHO)
    assert area == pytest.approx(0.091 / integral, rel=1e-12)
    draws = area_eff_from_mass(mass=np.full(3, 0.091), dp=dp[:, None] * np.ones(3), time=time, rho=RHO)
    assert draws == pytest.approx([area] * 3, rel=1e-12)
    flutter = np.concatenate([[9.0, -9.0, 9.0, -9.0, 0.0], dp])
    longer = np.concatenate([np.arange(-5.0, 0.0), time])
    steps = area_eff_from_mass(mass=0.091, dp=flutter, time=longer, rho=RHO)
    rise = root[0] / 2 - 0.5 * np.sqrt(2 * RHO * 9.0)  # the first sample counts half, the rest is -1 +1 -1
    assert steps == pytest.approx(0.091 / (integral + rise), rel=1e-12)


def test_throat_margin() -> None:
    assert meter_throat_margin(p_abs_up=4.2e5, dp=3.5e5, p_vapour=2339.0) == pytest.approx(67_661.0)


def test_the_small_pipe_term_starts_without_a_step() -> None:
    plate = {"re": 1e5, "taps": TAPS["corner"]}
    below, above = SMALL_PIPE * (1 - 1e-9), SMALL_PIPE * (1 + 1e-9)
    difference = orifice_c(d_pipe=below, d_throat=0.5 * below, **plate) - orifice_c(
        d_pipe=above, d_throat=0.5 * above, **plate
    )
    assert abs(difference) < 1e-9


def test_pipe_loss_coefficient() -> None:
    assert pipe_k(friction=0.021, length=6.0, d_pipe=0.0525) == pytest.approx(2.4, rel=1e-12)


def test_work_is_smooth_through_the_isothermal_exponent() -> None:
    charge = {"p_abs_start": 4e6, "volume_start": 0.05, "volume_out": 0.02}
    n = np.array([1 - 1e-6, 1 - 2e-9, 1.0, 1 + 2e-9, 1 + 1e-6])
    work = blowdown_work(n=n, **charge)
    assert work == pytest.approx(np.full(5, 4e6 * 0.05 * np.log(1.4)), rel=1e-6)
    assert np.all(np.diff(work) < 0) or np.ptp(work[1:4]) < 1e-3


def test_blowdown_time_near_its_stated_edge() -> None:
    """End pressure 20 % above the back-pressure, against adaptive quadrature."""
    p0, v0, out, n, pb = 2.4e5, 0.1, 0.1, 1.0, 1.0e5
    expected = (
        quad(lambda v: (2 * (p0 * (v0 / (v0 + v)) ** n - pb) / RHO) ** -0.5, 0, out, epsrel=1e-12)[0] / 1e-4
    )
    found = blowdown_time(
        p_abs_start=p0, p_abs_out=pb, volume_start=v0, volume_out=out, n=n, area_eff=1e-4, rho=RHO
    )
    assert found == pytest.approx(expected, rel=1e-6)


def simulated_run(n: float) -> dict[str, float]:
    """A blowdown stepped in time by an integrator that knows nothing of the estimator; E = 3.172e-5 m2."""
    p0, v0, pb = 8.4e5, 0.061, 1.003e5

    def rate(_: float, out: np.ndarray) -> list[float]:
        p = p0 * (v0 / (v0 + out[0])) ** n
        return [3.172e-5 * np.sqrt(2 * (p - pb) / RHO)]

    time = 11.3
    out = solve_ivp(rate, (0, time), [0.0], rtol=1e-11, atol=1e-14).y[0, -1]
    return {
        "p_abs_start": p0,
        "p_abs_end": p0 * (v0 / (v0 + out)) ** n,
        "p_abs_out": pb,
        "volume_out": out,
        "time": time,
        "rho": RHO,
    }


@pytest.mark.parametrize("n", [1.0, 1.23, 1.4])
def test_two_readings_and_a_stopwatch_return_the_planted_area(n: float) -> None:
    run = simulated_run(n)
    assert area_eff_two_point(n=n, **run) == pytest.approx(3.172e-5, rel=1e-8)
    plain = area_eff_plain_mean(**run) / 3.172e-5 - 1
    assert -0.02 < plain < -0.002  # the plain mean is visibly low


def test_the_exponent_moves_the_two_point_area_little() -> None:
    run = simulated_run(1.2)
    areas = area_eff_two_point(n=np.array([1.0, 1.4]), **run)
    assert 1e-5 < abs(areas[1] / areas[0] - 1) < 2e-3


def test_equal_pressures_are_no_special_case() -> None:
    run = simulated_run(1.2) | {"p_abs_start": 8e5}
    ends = 8e5 * np.array([1 - 1e-7, 1.0, 1 + 1e-7])
    areas = area_eff_two_point(n=1.2, **(run | {"p_abs_end": ends}))
    flat = run["volume_out"] / run["time"] * np.sqrt(RHO / (2 * (8e5 - run["p_abs_out"])))
    assert areas[1] == pytest.approx(flat, rel=1e-13)
    assert areas[0] - areas[1] == pytest.approx(areas[1] - areas[2], rel=1e-4)
    assert areas[0] > areas[1]


def test_exchanging_the_ends_keeps_the_area_when_the_gas_is_pushed_back() -> None:
    """The mean over the volume does not know the direction of time."""
    run = simulated_run(1.3)
    back = run | {"p_abs_start": run["p_abs_end"], "p_abs_end": run["p_abs_start"]}
    assert area_eff_two_point(n=1.3, **back) == pytest.approx(area_eff_two_point(n=1.3, **run), rel=1e-12)
