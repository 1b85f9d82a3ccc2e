"""The liquids: what they refuse, what each file must say, and that they stay smooth beyond their range."""

import importlib.util
import shutil
import tomllib
from pathlib import Path

import CoolProp
import numpy as np
import pytest

import headrace.physics.fluids
from headrace.errors import OutOfDomain
from headrace.physics.fluids import PROPELLANTS, Fluid, fluid
from headrace.physics.fluids.ethanol_water import density, mass_fraction_from_volume
from headrace.physics.fluids.forms import FORMS

DATA = Path(headrace.physics.fluids.__file__).parent / "data"
NAMES = ["water", "lox", "kerosene", "rp-1", "ethanol-75"]
MIDDLE = {"water": 293.15, "lox": 90.0}  # K; 293.15 K for the rest


@pytest.fixture(params=NAMES)
def liquid(request: pytest.FixtureRequest) -> Fluid:
    return fluid(request.param)


def test_every_file_is_in_the_registry_and_every_form_is_known() -> None:
    files = {one.stem for one in DATA.glob("*.toml")}
    assert set(PROPELLANTS) == files == {"water", "lox", "kerosene", "rp-1", "ethanol-water"}
    used = {table["form"] for recipe in PROPELLANTS.values() for table in recipe.tables.values()}
    assert used == set(FORMS)


def test_committed_tables_are_what_the_script_makes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    script = Path(__file__).parents[2] / "tools" / "make_property_tables.py"
    spec = importlib.util.spec_from_file_location("make_property_tables", script)
    assert spec is not None
    assert spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    shutil.copytree(made.DATA, tmp_path / "data")
    monkeypatch.setattr(made, "DATA", tmp_path / "data")
    made.main()
    for file in sorted(made.DATA.glob("*.toml")):
        committed, fresh = (
            tomllib.loads((folder / file.name).read_text("utf-8")) for folder in (DATA, made.DATA)
        )
        before, after = _numbers(committed), _numbers(fresh)
        assert before.size == after.size
        np.testing.assert_allclose(after, before, rtol=1e-6, atol=1e-6)


def _numbers(value: object) -> np.ndarray:
    """All numbers of a parsed file, in order."""
    if isinstance(value, dict):
        return np.concatenate([_numbers(one) for one in value.values()] or [np.array([])])
    if isinstance(value, list):
        return np.concatenate([_numbers(one) for one in value])
    return np.array([value] if isinstance(value, int | float) else [], dtype=float)


def test_every_property_says_where_it_comes_from(liquid: Fluid) -> None:
    for quantity in ("rho", "mu", "p_vap"):
        one = liquid.properties[quantity]
        assert len(liquid.source(quantity)) > 15
        assert len(one.u_origin) > 5
        assert one.how_known in {"published", "computed", "from memory"}
        assert 0 < liquid.u_rel(quantity) <= 0.5
        assert one.temp_min < MIDDLE.get(liquid.name, 293.15) < one.temp_max
        assert one.p_min < 3e6 < one.p_max
    with pytest.raises(ValueError, match="none of rho, mu, p_vap"):
        liquid.u_rel("viscosity")


def test_it_broadcasts_and_nu_is_mu_over_rho(liquid: Fluid) -> None:
    temps = MIDDLE.get(liquid.name, 293.15) + np.array([[-1.0], [0.0], [2.0]])
    pressures = np.array([1e6, 2e6, 3e6, 4e6])
    for law in (liquid.rho, liquid.mu, liquid.nu):
        assert np.shape(law(temps, pressures)) == (3, 4)
        assert np.shape(law(temps, 1e6)) == (3, 1)
        assert law(temps, pressures)[1, 2] == pytest.approx(float(law(temps[1, 0], 3e6)), rel=1e-14)
    assert np.shape(liquid.p_vap(temps)) == (3, 1)
    np.testing.assert_allclose(liquid.nu(temps, 2e6) * liquid.rho(temps, 2e6), liquid.mu(temps, 2e6))


def test_warmer_is_lighter_thinner_and_nearer_to_boiling(liquid: Fluid) -> None:
    temps = MIDDLE.get(liquid.name, 293.15) + np.linspace(-8, 15, 24)
    assert np.all(np.diff(liquid.rho(temps, 3e6)) < 0)
    assert np.all(np.diff(liquid.mu(temps, 3e6)) < 0)
    assert np.all(np.diff(liquid.p_vap(temps)) > 0)
    assert np.all(np.diff(liquid.rho(temps[0], np.linspace(1e6, 9e6, 9))) > 0)


def test_no_kink_at_the_edge_of_the_range(liquid: Fluid) -> None:
    """Third differences over the edge stay as small as inside: nothing is clipped or switched there."""
    edge = max(one.temp_max for one in liquid.properties.values())
    for law in (lambda t: liquid.rho(t, 5e6), lambda t: np.log(liquid.mu(t, 5e6))):
        across, inside = (np.diff(law(at + np.linspace(-2, 2, 41)), 3) for at in (edge, edge - 5))
        assert np.max(np.abs(across)) < 20 * np.max(np.abs(inside)) + 1e-9


@pytest.mark.parametrize(
    ("name", "library", "span"), [("water", "Water", (274, 372)), ("lox", "Oxygen", (61, 119))]
)
def test_tables_against_the_reference_library_off_the_nodes(
    name: str, library: str, span: tuple[float, float]
) -> None:
    state = CoolProp.AbstractState("HEOS", library)
    liquid, rng = fluid(name), np.random.default_rng(71)
    top = liquid.properties["rho"].p_max
    for temp, share in zip(rng.uniform(*span, 200), rng.uniform(0.001, 1, 200), strict=True):
        p_abs = float(liquid.p_vap(temp)) + share * 0.9 * top
        state.update(CoolProp.PT_INPUTS, p_abs, temp)
        assert liquid.rho(temp, p_abs) == pytest.approx(state.rhomass(), rel=6e-6)
        assert liquid.mu(temp, p_abs) == pytest.approx(state.viscosity(), rel=6e-4)


def test_a_little_beyond_the_range_is_still_near_the_reference() -> None:
    state = CoolProp.AbstractState("HEOS", "Oxygen")
    for temp, p_abs in [(57.0, 3e6), (123.0, 3e6), (90.0, 13e6)]:
        state.update(CoolProp.PT_INPUTS, p_abs, temp)
        assert fluid("lox").rho(temp, p_abs) == pytest.approx(state.rhomass(), rel=1e-4)


@pytest.mark.parametrize(
    ("asked", "hint"),
    [
        ("oxigen", "lox"),
        ("kerosine", "nearest: kerosene"),
        ("ethanol", "ethanol-75"),
        ("ethanol-water", "95 % by volume"),
        ("ethanol-75mass", "ethanol-75"),
        ("ethanol-120", "between 0 and 100"),
        ("", "one of"),
    ],
)
def test_an_unknown_name_is_told_the_known_ones(asked: str, hint: str) -> None:
    with pytest.raises(OutOfDomain, match=hint) as told:
        fluid(asked)
    assert told.value.quantity == "propellant"


def test_a_state_out_of_range_is_named_with_the_range() -> None:
    water = fluid("water")
    assert water.outside(temp=300.0, p_abs=3e6) == ()
    (fact,) = water.outside(temp=np.array([300.0, 270.0, 272.0]), p_abs=3e6)
    assert (fact.code, fact.value, fact.low) == ("temp-outside", 270.0, 273.15)
    (fact,) = water.outside(temp=300.0, p_abs=np.array([1e6, 25e6]))
    assert (fact.code, fact.quantity, fact.value, fact.high) == ("p-outside", "p_abs", 25e6, 20e6)
    with pytest.raises(OutOfDomain, match=r"temp = 400 is not between 273\.15 and 373\.15"):
        water.check(temp=400.0, p_abs=3e6)
    with pytest.raises(OutOfDomain, match="boils"):
        water.check(temp=300.0, p_abs=np.array([1e5, 3000.0]))
    assert [fact.code for fact in water.outside(temp=400.0, p_abs=1e5)] == ["temp-outside", "boils"]


def test_a_mixture_is_in_range_only_where_all_its_properties_are() -> None:
    """Viscosity begins at 0 degC, the density table ends at 40 degC."""
    spirit = fluid("ethanol-75")
    assert spirit.outside(temp=273.15, p_abs=2e6) == ()
    assert spirit.outside(temp=272.0, p_abs=2e6)[0].low == 273.15
    assert spirit.outside(temp=314.0, p_abs=2e6)[0].high == 313.15


@pytest.mark.parametrize(
    ("temp", "p_abs"), [(np.nan, 1e5), (0.0, 1e5), (-5.0, 1e5), (300.0, 0.0), (300.0, np.nan)]
)
def test_nonsense_is_refused(temp: float, p_abs: float) -> None:
    with pytest.raises(OutOfDomain, match="above 0"):
        fluid("water").check(temp=temp, p_abs=p_abs)


@pytest.mark.parametrize("bad", [75.0, -0.1, np.nan])
def test_a_strength_is_a_fraction(bad: float) -> None:
    with pytest.raises(OutOfDomain, match="between 0 and 1"):
        density(mass_fraction=bad, temp=293.15)
    with pytest.raises(OutOfDomain, match="between 0 and 1"):
        mass_fraction_from_volume(volume_share=bad)


def test_the_ends_of_the_mixture_are_the_pure_liquids() -> None:
    weak, water = fluid("ethanol-0"), fluid("water")
    assert weak.rho(293.15, 101_325.0) == pytest.approx(water.rho(293.15, 101_325.0), rel=1e-5)
    assert weak.rho(293.15, 4e6) == pytest.approx(water.rho(293.15, 4e6), rel=1e-5)
    assert weak.mu(293.15, 101_325.0) == pytest.approx(water.mu(293.15, 101_325.0), rel=6e-3)
    assert weak.p_vap(293.15) == pytest.approx(water.p_vap(293.15), rel=1e-12)
