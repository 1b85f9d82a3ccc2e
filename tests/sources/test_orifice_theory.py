"""Theory of single holes: free jets (Kirchhoff, Borda), the short tube, Lichtarowicz, Duggins and Markland.

Lichtarowicz et al., J. Mech. Eng. Sci. 7 (1965) 210: terms in Re and L/D seen in a public finite-element
program, the line without Re from memory. The others are closed forms.
"""

import numpy as np
import pytest

from headrace.physics.hydraulics.elements import (
    JET_CONTRACTIONS,
    LICHTAROWICZ_LIMITS,
    lichtarowicz_cd,
    short_tube_cd,
)
from headrace.physics.hydraulics.limits import outside


@pytest.mark.check("O-3")
def test_plane_slot() -> None:
    assert JET_CONTRACTIONS["plane slot"].ratio == pytest.approx(0.6110154704, rel=1e-10)


@pytest.mark.check("O-5")
def test_borda_mouthpiece() -> None:
    assert JET_CONTRACTIONS["re-entrant mouthpiece"].ratio == 0.5


@pytest.mark.check("O-6")
def test_short_tube_running_full() -> None:
    found = short_tube_cd(contraction=np.array([0.62, 0.64]))
    assert found == pytest.approx([0.8526013, 0.8715755], rel=1e-6)


@pytest.mark.check("O-7")
def test_long_orifice() -> None:
    length_ratio = np.array([2.0, 4, 5, 10, 2, 4])
    re = np.array([1e4, 1e4, 2e4, 1e4, 1e3, 1e5])
    expected = [0.808110, 0.790634, 0.782648, 0.738474, 0.744643, 0.792848]
    assert lichtarowicz_cd(re=re, length_ratio=length_ratio) == pytest.approx(expected, rel=1e-6)
    assert not outside(LICHTAROWICZ_LIMITS, length_ratio=10.0, re=2e4)
    for left in ({"length_ratio": 1.99}, {"length_ratio": 10.05}, {"re": 9.95}, {"re": 2.01e4}):
        assert outside(LICHTAROWICZ_LIMITS, **left)
    assert not outside(LICHTAROWICZ_LIMITS, length_ratio=2.0, re=10.0)
    (breach,) = outside(LICHTAROWICZ_LIMITS, length_ratio=4.0, re=1e5)
    assert breach.quantity == "re"
