"""Classical venturi tubes against ISO 5167-4:2003.

The expansibility example of 5.6 was seen quoted in the test-suite of the library `fluids`; the table of forms
partly from secondary texts (coefficients, as-cast limits, machined beta, Re and uncertainty), partly from
memory (bore limits, rough-welded limits, the other uncertainties). V-26 is a finding of Reader-Harris et al.,
Flow Meas. Instrum. 12 (2001) 135-145 (abstract seen).
"""

import pytest

from headrace.physics.hydraulics.limits import outside
from headrace.physics.hydraulics.venturi import FORMS, too_hopeful, venturi_expansibility


@pytest.mark.check("V-4")
def test_expansibility_example() -> None:
    epsilon = venturi_expansibility(p_abs_up=60e5, p_abs_throat=59.5e5, beta=0.06 / 0.1, kappa=1.3)
    assert epsilon == pytest.approx(0.994236, rel=0, abs=1e-6)


@pytest.mark.check("V-18")
@pytest.mark.parametrize(
    ("form", "c", "u", "d_pipe", "beta", "re"),
    [
        ("as-cast", 0.984, 0.007, (0.100, 0.800), (0.30, 0.75), (2e5, 2e6)),
        ("machined", 0.995, 0.010, (0.050, 0.250), (0.40, 0.75), (2e5, 1e6)),
        ("rough-welded", 0.985, 0.015, (0.200, 1.200), (0.40, 0.70), (2e5, 2e6)),
    ],
)
def test_forms(
    form: str,
    c: float,
    u: float,
    d_pipe: tuple[float, float],
    beta: tuple[float, float],
    re: tuple[float, float],
) -> None:
    known = FORMS[form]
    assert (known.c, known.u_expanded, known.edition) == (c, u, "2003")
    ranges = {span.quantity: (span.low, span.high) for span in known.limits.ranges}
    assert ranges == {"d_pipe": d_pipe, "beta": beta, "re": re}


@pytest.mark.check("V-18")
def test_every_range_left_is_named() -> None:
    left = outside(FORMS["machined"].limits, d_pipe=0.025, beta=0.8, re=1e5)
    assert [breach.quantity for breach in left] == ["d_pipe", "beta", "re"]
    assert all(breach.source == "ISO 5167-4:2003, 5.5.3" for breach in left)
    assert not outside(FORMS["machined"].limits, d_pipe=0.050, beta=0.75, re=1e6)


@pytest.mark.check("V-26")
def test_an_uncalibrated_meter_is_not_better_than_the_best_fit_of_many() -> None:
    assert too_hopeful(u_expanded=0.0069)
    assert not too_hopeful(u_expanded=0.0071)
