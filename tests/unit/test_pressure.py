"""Gauge becomes absolute in one place, which demands the ambient pressure."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headrace.errors import OutOfDomain
from headrace.physics.pressure import absolute, gauge


@given(st.floats(-9e4, 1e8), st.floats(9.1e4, 1.1e5), st.floats(0, 1e6))
def test_absolute_moves_by_the_ambient_pressure_alone(p: float, air: float, more: float) -> None:
    assert absolute(p_gauge=p, p_ambient=air) == pytest.approx(p + air, rel=1e-15, abs=0)
    shift = absolute(p_gauge=p, p_ambient=air + more) - absolute(p_gauge=p, p_ambient=air)
    assert shift == pytest.approx(more, rel=0, abs=1e-7)
    assert gauge(p_abs=absolute(p_gauge=p, p_ambient=air), p_ambient=air) == pytest.approx(p, rel=0, abs=1e-7)


@given(st.sampled_from([0.0, -1.0, math.nan]), st.floats(0, 1e7))
def test_an_ambient_pressure_that_is_none_is_refused(air: float, p: float) -> None:
    with pytest.raises(OutOfDomain, match="p_ambient"):
        absolute(p_gauge=p, p_ambient=air)
    with pytest.raises(OutOfDomain, match="p_ambient"):
        gauge(p_abs=p, p_ambient=air)


def test_below_vacuum_is_refused_alone_and_nan_among_draws() -> None:
    with pytest.raises(OutOfDomain, match="absolute pressure taken for a drop"):
        absolute(p_gauge=-1.1e5, p_ambient=101325.0)
    both = np.asarray(absolute(p_gauge=np.array([0.0, -1.1e5]), p_ambient=101325.0))
    assert both[0] == 101325.0
    assert math.isnan(both[1])
