"""What the hydraulics and gas formulas refuse, and what draws outside their domain become."""

from collections.abc import Callable

import numpy as np
import pytest

from headrace.errors import OutOfDomain
from headrace.physics.domain import between, kept, positive
from headrace.physics.gas import blowdown, manual_run, orifice_flow, vessel
from headrace.physics.gas.air import air_rho
from headrace.physics.hydraulics import (
    cavitation,
    differential,
    elements,
    hydrostatics,
    injector,
    losses,
    pipe,
    venturi,
)
from headrace.physics.hydraulics.limits import Limits, Range, outside
from headrace.physics.hydraulics.orifice import TAPS, orifice_c, orifice_m_dot

METER = {"d_pipe": 0.1, "d_throat": 0.06, "rho": 998.2}
PLATE = METER | {"mu": 1e-3, "taps": TAPS["flange"]}
HAND = {
    "p_abs_start": 9e5,
    "p_abs_end": 7e5,
    "p_abs_out": 1e5,
    "volume_out": 0.05,
    "time": 12.0,
    "rho": 998.2,
}
CHARGE = {"p_abs_start": 9e5, "p_abs_out": 1e5, "volume_start": 0.1, "volume_out": 0.05, "n": 1.2}
HOLE = {"p_abs_up": 9e5, "p_abs_down": 1e5, "p_vapour": 2339.0}

# function, sound arguments, then for each argument values that are nonsense on their own
CASES: list[tuple[Callable[..., object], dict[str, object], dict[str, list[float]]]] = [
    (
        venturi.venturi_m_dot,
        METER | {"dp": 25e3, "c": 0.995},
        {
            "dp": [-1.0],
            "d_pipe": [0.0, -0.1, 0.05],
            "d_throat": [0.0, 0.1, 0.2],
            "rho": [0.0, -1.0],
            "c": [0.0],
        },
    ),
    (venturi.venturi_dp, METER | {"m_dot": 2.0, "c": 0.995}, {"m_dot": [-1.0], "rho": [0.0]}),
    (differential.meter_c, METER | {"m_dot": 2.0, "dp": 1e4}, {"m_dot": [0.0], "dp": [0.0, -1.0]}),
    (
        differential.meter_d_throat,
        {"m_dot": 2.0, "dp": 1e4, "d_pipe": 0.1, "rho": 998.2, "c": 1.0},
        {"m_dot": [0.0], "dp": [0.0], "d_pipe": [0.0], "rho": [-1.0], "c": [0.0]},
    ),
    (
        venturi.venturi_expansibility,
        {"p_abs_up": 6e6, "p_abs_throat": 5.9e6, "beta": 0.6, "kappa": 1.3},
        {"p_abs_up": [0.0], "p_abs_throat": [6.1e6, 0.0], "beta": [0.0, 1.0], "kappa": [1.0]},
    ),
    (orifice_m_dot, PLATE | {"dp": 1e4}, {"dp": [0.0, -1.0], "mu": [0.0], "d_throat": [0.2]}),
    (orifice_c, {"d_pipe": 0.1, "d_throat": 0.06, "re": 1e5, "taps": TAPS["corner"]}, {"re": [0.0, -5.0]}),
    (
        pipe.friction_colebrook,
        {"re": 1e5, "roughness_ratio": 1e-4},
        {"re": [0.0], "roughness_ratio": [-1e-4]},
    ),
    (
        pipe.reynolds,
        {"m_dot": 1.0, "d_pipe": 0.1, "mu": 1e-3},
        {"m_dot": [-1.0], "d_pipe": [0.0], "mu": [0.0]},
    ),
    (
        pipe.pipe_dp,
        {"m_dot": 1.0, "rho": 998.2, "d_pipe": 0.05, "length": 2.0, "friction": 0.02},
        {"length": [-1.0], "friction": [-0.1], "rho": [0.0]},
    ),
    (losses.borda_carnot_k, {"area_ratio": 0.3}, {"area_ratio": [-0.1, 1.1]}),
    (
        losses.k_rebased,
        {"k": 1.0, "d_from": 0.01, "d_to": 0.02},
        {"k": [-1.0], "d_from": [0.0], "d_to": [0.0]},
    ),
    (losses.area_eff_from_k, {"k": 1.0, "area": 1e-3}, {"k": [0.0], "area": [0.0]}),
    (injector.area_eff, {"m_dot": 1.0, "dp": 5e5, "rho": 998.2}, {"m_dot": [-1.0], "dp": [0.0, -1.0]}),
    (
        injector.injector_m_dot,
        {"area_eff": 1e-5, "dp": 5e5, "rho": 998.2},
        {"area_eff": [-1.0], "dp": [-1.0]},
    ),
    (
        injector.static_from_total,
        {"area_eff_total": 3e-4, "area_tap": 1e-3},
        {"area_eff_total": [0.0, 1e-3, 2e-3], "area_tap": [0.0]},
    ),
    (injector.injector_dp, {"p_abs_tap": 6e5, "p_abs_out": 1e5, "rho": 998.2}, {"rho": [0.0]}),
    (injector.velocity_head, {"m_dot": 1.0, "area": 1e-3, "rho": 998.2}, {"area": [0.0], "rho": [0.0]}),
    (
        cavitation.cavitation_number,
        HOLE,
        {"p_abs_up": [1e5, 5e4, 0.0], "p_abs_down": [-1.0], "p_vapour": [-1.0]},
    ),
    (cavitation.cavitating_flux, {"p_abs_up": 9e5, "p_vapour": 2e3, "rho": 998.2}, {"p_abs_up": [1e3]}),
    (cavitation.onset_p_abs_up, {"p_abs_down": 1e5, "p_vapour": 2e3, "cav": 1.8}, {"cav": [1.0, 0.5]}),
    (cavitation.meter_throat_margin, {"p_abs_up": 9e5, "dp": 1e5, "p_vapour": 2e3}, {"dp": [-1.0]}),
    (elements.lichtarowicz_cd, {"re": 1e4, "length_ratio": 4.0}, {"re": [0.0], "length_ratio": [0.0]}),
    (elements.short_tube_cd, {"contraction": 0.62}, {"contraction": [0.0, 1.0]}),
    (hydrostatics.head_dp, {"rho": 998.2, "height": -1.0}, {"rho": [0.0]}),
    (hydrostatics.air_leg_error, {"rho": 998.2, "rho_gas": 1.2, "height": 0.3}, {"rho_gas": [999.0, -1.0]}),
    (
        blowdown.blowdown_time,
        CHARGE | {"area_eff": 1e-4, "rho": 998.2},
        {"p_abs_out": [9e5, -1.0], "n": [0.0]},
    ),
    (
        manual_run.area_eff_two_point,
        HAND | {"n": 1.2},
        {"p_abs_start": [1e5, 0.0], "p_abs_end": [1e5, 5e4], "p_abs_out": [-1.0], "time": [0.0], "n": [0.0]},
    ),
    (manual_run.area_eff_plain_mean, HAND, {"p_abs_end": [5e4], "volume_out": [0.0], "rho": [0.0]}),
    (
        orifice_flow.subcritical_flux,
        {"p_abs_up": 1e6, "p_abs_down": 8e5, "temp_up": 293.0},
        {"p_abs_down": [5e5, 1.1e6], "temp_up": [0.0]},
    ),
    (
        vessel.equalised_p_abs,
        {"p_abs_first": 2e6, "volume_first": 0.1, "p_abs_second": 1e5, "volume_second": 0.2},
        {"p_abs_first": [0.0], "volume_second": [0.0]},
    ),
    (vessel.emptying_time_isothermal, {"tau": 400.0, "pressure_ratio": 0.5}, {"pressure_ratio": [0.0, 1.0]}),
    (
        air_rho,
        {"p_abs": 1e5, "temp": 293.0, "p_water": 1e3},
        {"p_abs": [500.0], "temp": [0.0], "p_water": [-1.0]},
    ),
]
IDS = [case[0].__name__ for case in CASES]


@pytest.mark.parametrize(("formula", "sound", "nonsense"), CASES, ids=IDS)
def test_a_lone_number_outside_the_domain_is_refused(formula, sound, nonsense) -> None:
    assert np.isfinite(formula(**sound))
    for name, values in nonsense.items():
        for value in [*values, np.nan]:
            with pytest.raises(OutOfDomain):
                formula(**(sound | {name: value}))


@pytest.mark.parametrize(("formula", "sound", "nonsense"), CASES, ids=IDS)
def test_a_draw_outside_the_domain_gives_nan_there_and_nowhere_else(formula, sound, nonsense) -> None:
    """Warnings are errors in this suite, so this also shows that none is raised."""
    alone = formula(**sound)
    for name, values in nonsense.items():
        for value in [*values, np.nan]:
            draws = np.array([sound[name], value, sound[name]])
            found = formula(**(sound | {name: draws}))
            assert np.isnan(found[1]), (name, value)
            assert found[[0, 2]] == pytest.approx([alone, alone], rel=1e-14)


@pytest.mark.parametrize(("formula", "sound", "nonsense"), CASES, ids=IDS)
def test_slices_by_draws(formula, sound, nonsense) -> None:
    """Slices (first axis) and draws (last) broadcast against each other."""
    slices, draws = np.full((4, 1), 1.0), np.full(5, 1.0)
    names = list(nonsense)
    given = dict(sound)
    given[names[0]] = sound[names[0]] * slices
    given[names[-1]] = given[names[-1]] * draws
    found = formula(**given)
    assert np.shape(found) == ((4, 5) if len(names) > 1 or found.ndim == 2 else (4,))
    assert found == pytest.approx(np.full(np.shape(found), formula(**sound)), rel=1e-14)


def test_the_message_names_quantity_range_and_usual_cause() -> None:
    with pytest.raises(OutOfDomain, match=r"dp = -3\.0 is not 0 or more \(taps crossed"):
        venturi.venturi_m_dot(dp=-3.0, c=0.995, **METER)
    with pytest.raises(
        OutOfDomain, match=r"beta = 2\.0 is not between 0 and 1 \(throat and pipe bore swapped\?\)"
    ):
        venturi.venturi_m_dot(dp=3.0, c=0.995, d_pipe=0.05, d_throat=0.1, rho=998.2)


def test_infinity_is_outside_every_domain() -> None:
    with pytest.raises(OutOfDomain):
        positive("rho", np.inf)
    with pytest.raises(OutOfDomain):
        between("kappa", np.inf, 1, np.inf)


def test_a_lone_number_against_draws_becomes_nan_where_it_fails() -> None:
    found = kept("p", 2.0, np.array([True, False]), "above its limit")
    assert np.array_equal(found, [2.0, np.nan], equal_nan=True)


def test_networks_of_nothing_are_refused() -> None:
    for network in (losses.series, losses.parallel):
        with pytest.raises(OutOfDomain, match="number of resistances"):
            network([])


def test_limits_do_not_guess() -> None:
    limits = Limits(source="invented", ranges=(Range(quantity="re", low=1.0, high=2.0),))
    with pytest.raises(KeyError, match="invented sets no range for beta"):
        outside(limits, beta=0.5)
    with pytest.raises(OutOfDomain):
        outside(limits, re=float("nan"))
    assert not outside(limits)
    assert outside(limits, re=2.001)[0].found == 2.001
