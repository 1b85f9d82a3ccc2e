"""The air side against closed forms of the ideal gas; G-6 was computed by scipy's adaptive quadrature.

Air: 287.0475 J/(kg K), ratio of heat capacities 1.4. Water of 20 degC: 998.2072 kg/m3.
"""

import numpy as np
import pytest

from headrace.physics.gas.blowdown import (
    blowdown_p_abs,
    blowdown_temp,
    blowdown_time,
    blowdown_time_vacuum,
    blowdown_work,
    exponent,
)
from headrace.physics.gas.manual_run import area_eff_two_point
from headrace.physics.gas.orifice_flow import (
    R_AIR,
    choked_flux,
    choked_function,
    critical_ratio,
    subcritical_flux,
)
from headrace.physics.gas.vessel import (
    emptying_tau,
    emptying_time_isentropic,
    emptying_time_isothermal,
    equalised_p_abs,
    isentropic_temp,
)

RHO_20 = 998.2072
N = np.array([1.0, 1.2, 1.4])
HOLE = 0.8 * np.pi / 4 * 1e-3**2


@pytest.mark.check("G-3")
def test_a_fixed_charge_expands() -> None:
    charge = {"volume_start": 50e-3, "volume_out": 20e-3, "n": N}
    p_abs = blowdown_p_abs(p_abs_start=4e6, **charge)
    assert p_abs == pytest.approx([2.857142857e6, 2.671199646e6, 2.497357642e6], rel=1e-9)
    temp = blowdown_temp(temp_start=293.15, **charge)
    assert temp == pytest.approx([293.15, 274.0718, 256.2351], rel=2e-7)
    work = blowdown_work(p_abs_start=4e6, **charge)
    assert work == pytest.approx([67_294.45, 65_080.12, 62_962.41], rel=2e-7)
    assert exponent(pressure_ratio=p_abs / 4e6, volume_ratio=1.4) == pytest.approx(N, rel=1e-12)


RUN = {"p_abs_start": 4e6, "volume_start": 50e-3, "volume_out": 50e-3, "area_eff": 1e-4, "rho": RHO_20}


@pytest.mark.check("G-5")
def test_run_time_into_vacuum() -> None:
    assert blowdown_time_vacuum(n=N, **RUN) == pytest.approx([6.808035, 7.091170, 7.388865], rel=1e-7)
    end = blowdown_p_abs(p_abs_start=4e6, volume_start=50e-3, volume_out=50e-3, n=N)
    assert end == pytest.approx([2.0e6, 1.741101e6, 1.515717e6], rel=0, abs=0.5)


@pytest.mark.check("G-6")
def test_run_time_against_a_back_pressure() -> None:
    time = blowdown_time(n=N, p_abs_out=101_325.0, **RUN)
    assert time == pytest.approx([6.943906, 7.247099, 7.568458], rel=1e-6)
    nearly_constant = blowdown_time(n=1e-9, p_abs_out=101_325.0, **RUN)
    assert nearly_constant == pytest.approx(5.657269, rel=1e-6)


@pytest.mark.check("G-6")
@pytest.mark.parametrize(("n", "time"), [(1.0, 6.943906), (1.2, 7.247099), (1.4, 7.568458)])
def test_the_run_read_by_hand_returns_the_effective_area(n: float, time: float) -> None:
    """The same three runs backwards: pressures at both ends, displaced volume and stopwatch give E."""
    area = area_eff_two_point(
        p_abs_start=4e6,
        p_abs_end=4e6 * 2**-n,
        p_abs_out=101_325.0,
        volume_out=50e-3,
        time=time,
        n=n,
        rho=RHO_20,
    )
    assert area == pytest.approx(1e-4, rel=1e-6)


@pytest.mark.check("G-7")
def test_choking() -> None:
    assert choked_function(gamma=1.4) == pytest.approx(0.6847314564, rel=1e-10)
    assert critical_ratio(gamma=1.4) == pytest.approx(0.5282817877, rel=1e-10)


@pytest.mark.check("G-8")
def test_choked_air() -> None:
    assert pytest.approx(287.0475, rel=2e-7) == R_AIR
    flux = choked_flux(p_abs_up=1e6, temp_up=293.15)
    assert flux == pytest.approx(2360.4698, rel=1e-7)
    assert flux * HOLE == pytest.approx(1.483127e-3, rel=3e-7)


@pytest.mark.check("G-9")
def test_subcritical_air() -> None:
    flux = subcritical_flux(p_abs_up=1e6, p_abs_down=0.8e6, temp_up=293.15)
    assert flux == pytest.approx(1932.7627, rel=1e-7)
    at_critical = subcritical_flux(p_abs_up=1e6, p_abs_down=1e6 * critical_ratio(gamma=1.4), temp_up=293.15)
    assert at_critical == pytest.approx(choked_flux(p_abs_up=1e6, temp_up=293.15), rel=1e-12)


@pytest.mark.check("G-10")
def test_a_vessel_empties() -> None:
    tau = emptying_tau(volume=50e-3, area_eff=HOLE, temp=293.15)
    assert tau == pytest.approx(400.6342, rel=1e-6)
    assert emptying_time_isothermal(tau=tau, pressure_ratio=0.5) == pytest.approx(277.6985, rel=1e-6)
    assert emptying_time_isentropic(tau=tau, pressure_ratio=0.5) == pytest.approx(208.5091, rel=1e-6)
    assert isentropic_temp(temp_start=293.15, pressure_ratio=0.5) == pytest.approx(240.4813, rel=1e-6)


@pytest.mark.check("G-11")
def test_two_vessels_equalise() -> None:
    p_abs = equalised_p_abs(p_abs_first=20e6, volume_first=50e-3, p_abs_second=101_325.0, volume_second=50e-3)
    assert p_abs == pytest.approx(10.0506625e6, rel=1e-12)
