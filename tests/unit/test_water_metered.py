"""Water that a run metered, for the day: what flowed, and neither noise at rest nor another number than closure's."""

import numpy as np
import pytest

from headrace.jobs.day.find import _flowing
from headrace.records.readings import Window


def test_rest_is_no_water() -> None:
    """4 kg/s from 90 to 100 s; at rest a rectified zero of 0.04 kg/s, which over 180 s would be 7 kg."""
    time = np.arange(0.0, 190.0, 0.1)
    m_dot = np.where((time >= 90) & (time <= 100), 4.0, 0.04)
    window = Window(
        start=93.0, end=97.0, chosen="found", phases=(("opening", 90.0, 93.0), ("closing", 97.0, 100.0))
    )
    inside = _flowing(window, time)
    assert time[inside].min() == pytest.approx(89.5)
    assert time[inside].max() == pytest.approx(100.5)
    assert np.trapezoid(m_dot[inside], time[inside]) == pytest.approx(40.4, abs=0.2)
