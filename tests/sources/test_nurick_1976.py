"""The cavitating orifice of Nurick, J. Fluids Eng. 98 (1976) 681.

The relation is from memory, and was seen restated in a public exercise text with Cc about 0.61; the numbers are
identities of it.
"""

import numpy as np
import pytest

from headrace.physics.hydraulics.cavitation import (
    cav_onset,
    cavitating_cd,
    cavitating_flux,
    cavitation_number,
    hole_cd,
    onset_p_abs_down,
    onset_p_abs_up,
    sigma,
)
from headrace.physics.hydraulics.injector import injector_m_dot

PV, RHO_20, CC, CD_FULL = 2339.3, 998.2072, 0.62, 0.84


@pytest.mark.check("O-8")
def test_number_and_coefficient() -> None:
    cav = cavitation_number(p_abs_up=2.1e6, p_abs_down=0.1e6, p_vapour=PV)
    assert cav == pytest.approx(1.04883035, rel=1e-8)
    assert sigma(cav=cav) == pytest.approx(0.04883035, rel=1e-7)
    assert cavitating_cd(cav=cav, contraction=CC) == pytest.approx(0.634957, rel=1e-6)
    assert cavitating_cd(cav=cav) == pytest.approx(0.634957, rel=1e-6)  # 0.62 unless told otherwise


@pytest.mark.check("O-9")
def test_onset() -> None:
    onset = cav_onset(cd_full=CD_FULL, contraction=CC)
    assert onset == pytest.approx(1.83558793, rel=1e-8)
    p_down = onset_p_abs_down(p_abs_up=2.1e6, p_vapour=PV, cav=onset)
    assert p_down == pytest.approx(957_226.8, rel=1e-7)


@pytest.mark.check("O-10")
def test_flow_does_not_feel_the_back_pressure_once_cavitating() -> None:
    p_down = np.array([1.6e6, 1.2e6, 1.0e6, 0.8e6, 0.5e6, 0.101325e6])
    cav = cavitation_number(p_abs_up=2.1e6, p_abs_down=p_down, p_vapour=PV)
    assert cav == pytest.approx([4.195321, 2.330734, 1.906964, 1.613585, 1.311038, 1.049526], rel=1e-6)
    cd = hole_cd(cav=cav, cd_full=CD_FULL, contraction=CC)
    assert cd == pytest.approx([0.84, 0.84, 0.84, 0.787567, 0.709904, 0.635167], rel=1e-6)
    flux = injector_m_dot(area_eff=cd, dp=2.1e6 - p_down, rho=RHO_20)
    assert flux == pytest.approx([26539.31, 35606.22, 39364.16, 40122.19, 40122.19, 40122.19], rel=1e-6)
    held = cavitating_flux(p_abs_up=2.1e6, p_vapour=PV, rho=RHO_20, contraction=CC)
    assert flux[3:] == pytest.approx([held] * 3, rel=1e-12)


@pytest.mark.check("O-11")
def test_a_bench_that_discharges_to_air() -> None:
    onset = onset_p_abs_up(p_abs_down=101_325.0, p_vapour=PV, cav=cav_onset(cd_full=CD_FULL, contraction=CC))
    assert onset == pytest.approx(219_787.3, rel=1e-6)
    p_up = np.array([0.5e6, 1e6, 2e6, 5e6])
    cav = cavitation_number(p_abs_up=p_up, p_abs_down=101_325.0, p_vapour=PV)
    assert cav == pytest.approx([1.248287, 1.110146, 1.052134, 1.020207], rel=1e-6)
    cd = hole_cd(cav=cav, cd_full=CD_FULL, contraction=CC)
    assert cd == pytest.approx([0.692706, 0.653254, 0.635956, 0.626233], rel=2e-6)


@pytest.mark.check("O-12")
def test_the_same_hole_in_the_engine() -> None:
    cav = cavitation_number(p_abs_up=2.5e6, p_abs_down=2.0e6, p_vapour=PV)
    assert cav == pytest.approx(4.9953, rel=1e-4)
    assert hole_cd(cav=cav, cd_full=CD_FULL, contraction=CC) == CD_FULL
