"""What must hold of the hydraulics for any sound input."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headrace.physics.gas.blowdown import blowdown_time
from headrace.physics.gas.manual_run import area_eff_plain_mean, area_eff_two_point
from headrace.physics.hydraulics.cavitation import cavitation_number
from headrace.physics.hydraulics.differential import meter_c, meter_d_throat, meter_dp, meter_m_dot
from headrace.physics.hydraulics.injector import (
    area_eff,
    injector_dp,
    injector_m_dot,
    static_from_total,
    total_from_static,
)
from headrace.physics.hydraulics.losses import parallel, series
from headrace.physics.hydraulics.orifice import TAPS, orifice_m_dot
from headrace.physics.hydraulics.pipe import friction_colebrook

pressures = st.floats(1e3, 1e7)
areas = st.floats(1e-7, 1e-2)
densities = st.floats(500.0, 1500.0)
betas = st.floats(0.1, 0.75)


@given(dp=pressures, more=st.floats(1.001, 10), beta=betas, d_pipe=st.floats(0.01, 1), rho=densities)
def test_more_drop_is_more_flow(dp: float, more: float, beta: float, d_pipe: float, rho: float) -> None:
    bores = {"d_pipe": d_pipe, "d_throat": beta * d_pipe, "rho": rho}
    low, high = meter_m_dot(dp=np.array([dp, dp * more]), c=0.98, **bores)
    assert high == pytest.approx(low * np.sqrt(more), rel=1e-12)
    low, high = orifice_m_dot(dp=np.array([dp, dp * more]), mu=1e-3, taps=TAPS["flange"], **bores)
    assert high > low


@given(dp=pressures, beta=betas, d_pipe=st.floats(0.01, 1), rho=densities, c=st.floats(0.5, 1))
def test_the_meter_equation_inverts(dp: float, beta: float, d_pipe: float, rho: float, c: float) -> None:
    bores = {"d_pipe": d_pipe, "d_throat": beta * d_pipe, "rho": rho}
    m_dot = meter_m_dot(dp=dp, c=c, **bores)
    assert meter_dp(m_dot=m_dot, c=c, **bores) == pytest.approx(dp, rel=1e-12)
    assert meter_c(m_dot=m_dot, dp=dp, **bores) == pytest.approx(c, rel=1e-12)
    sized = meter_d_throat(m_dot=m_dot, dp=dp, d_pipe=d_pipe, rho=rho, c=c)
    assert sized == pytest.approx(beta * d_pipe, rel=1e-10)


@given(dp=pressures, area=areas, rho=densities)
def test_the_effective_area_inverts(dp: float, area: float, rho: float) -> None:
    m_dot = injector_m_dot(area_eff=area, dp=dp, rho=rho)
    assert area_eff(m_dot=m_dot, dp=dp, rho=rho) == pytest.approx(area, rel=1e-12)


@given(
    dp_meter=pressures, dp=pressures, rho=densities, other=densities, scale=st.floats(0.5, 2.0), beta=betas
)
def test_density_and_common_span_cancel_with_a_venturi(
    dp_meter: float, dp: float, rho: float, other: float, scale: float, beta: float
) -> None:
    """What both differential pressures share, and the density, drop out of the effective area."""

    def area(density: float, span: float) -> float:
        m_dot = meter_m_dot(dp=span * dp_meter, d_pipe=0.05, d_throat=0.05 * beta, rho=density, c=0.98)
        return float(area_eff(m_dot=m_dot, dp=span * dp, rho=density))

    assert area(other, scale) == pytest.approx(area(rho, 1.0), rel=1e-12)


@given(st.lists(areas, min_size=2, max_size=6))
def test_series_is_below_the_smallest_and_parallel_above_the_largest(resistances: list[float]) -> None:
    whole = series(resistances)
    assert min(resistances) / np.sqrt(len(resistances)) * (1 - 1e-12) <= whole <= min(resistances)
    assert parallel(resistances) >= max(resistances)
    assert series(resistances[::-1]) == pytest.approx(whole, rel=1e-12)


@given(
    p_tap=st.floats(2e5, 5e6), p_out=st.floats(0, 1e5), ambient=st.floats(8e4, 1.1e5), height=st.floats(-5, 5)
)
def test_the_drop_does_not_feel_gauge_or_absolute(
    p_tap: float, p_out: float, ambient: float, height: float
) -> None:
    gauge = injector_dp(p_abs_tap=p_tap, p_abs_out=p_out, rho=998.2, height=height)
    absolute = injector_dp(p_abs_tap=p_tap + ambient, p_abs_out=p_out + ambient, rho=998.2, height=height)
    assert absolute == pytest.approx(gauge, rel=1e-9)


@given(p_tap=st.floats(2e5, 5e6), ambient=st.floats(8e4, 1.1e5))
def test_the_cavitation_number_does_feel_it(p_tap: float, ambient: float) -> None:
    gauge = cavitation_number(p_abs_up=p_tap, p_abs_down=0.0, p_vapour=2339.0)
    absolute = cavitation_number(p_abs_up=p_tap + ambient, p_abs_down=ambient, p_vapour=2339.0)
    assert gauge < 1 < absolute


@given(share=st.floats(0.01, 0.95), area_tap=areas)
def test_the_two_bases_invert(share: float, area_tap: float) -> None:
    static = static_from_total(area_eff_total=share * area_tap, area_tap=area_tap)
    assert static > share * area_tap
    assert total_from_static(area_eff_static=static, area_tap=area_tap) == pytest.approx(
        share * area_tap, rel=1e-9
    )


@given(re=st.floats(4e3, 1e8), rough=st.floats(0, 0.05))
def test_friction_solves_its_equation_and_grows_with_roughness(re: float, rough: float) -> None:
    x = friction_colebrook(re=re, roughness_ratio=rough) ** -0.5
    assert x == pytest.approx(-2 * np.log10(rough / 3.7 + 2.51 * x / re), rel=1e-12)
    assert friction_colebrook(re=re, roughness_ratio=rough + 1e-3) > x**-2


@given(
    start=st.floats(3e5, 5e6),
    share=st.floats(0.02, 0.5),
    n=st.floats(0.9, 1.5),
    area=st.floats(1e-6, 1e-3),
)
def test_a_run_read_by_hand_gives_back_its_area(start: float, share: float, n: float, area: float) -> None:
    charge = {"p_abs_start": start, "p_abs_out": 1e5, "volume_out": 0.08 * share, "rho": 998.2}
    time = blowdown_time(volume_start=0.08, n=n, area_eff=area, **charge)
    run = charge | {"p_abs_end": start * (1 + share) ** -n, "time": time}
    assert area_eff_two_point(n=n, **run) == pytest.approx(area, rel=1e-7)
    assert area_eff_plain_mean(**run) < area
