"""Every kind of meter: its law against the plain formula, its sources, what leaving a standard's scope does."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.bench.meters import METERS
from headrace.bench.meters.base import Built
from headrace.bench.meters.venturi import OUT_OF_SCOPE_U
from headrace.physics.hydraulics.orifice import TAPS, orifice_c
from headrace.records.given import Accuracy, Certificate, MeterGiven, Reference, Stated
from headrace.uncertainty.errors_map import Errors

RHO, MU = 998.2, 1.0e-3
DP = np.array([[2.0e4], [6.0e4]])
IN = (3e5, 4e5)
"""A pipe Reynolds number in every venturi's scope."""

VENTURIS = {
    # kind: C, U (k = 2), a bore and diameter ratio in its scope; ISO 5167-4:2003, 5.5 and 5.7
    "venturi-machined": (0.995, 0.010, 0.10, 0.5),
    "venturi-as-cast": (0.984, 0.007, 0.20, 0.5),
    "venturi-rough-welded": (0.985, 0.015, 0.30, 0.5),
}
ORIFICES = {"orifice-corner": "corner", "orifice-flange": "flange", "orifice-d-d2": "D-D/2"}
BOOK = Certificate(id="C", date=None, accuracy=Accuracy(of_reading=2e-3, dist="normal"))  # type: ignore[arg-type]  # no drift here
REF = {"REF": Reference(id="REF", of_reading=1e-3, origin="invented")}


def given(kind: str, d_pipe: float = 0.1, beta: float = 0.5, **values: Stated) -> MeterGiven:
    bores = {"d_pipe": Stated(value=d_pipe, u=3e-5), "d_throat": Stated(value=beta * d_pipe, u=1e-5)}
    wanted = {field.name for field in METERS[kind].fields}
    return MeterGiven(
        id="FV",
        kind=kind,
        values={name: one for name, one in bores.items() if name in wanted} | values,
        instruments={},
    )


def build(
    meter: MeterGiven, *, re: tuple[float, float] = IN, certificate: Certificate | None = None
) -> Built:
    meter = replace(meter, certificate=None if certificate is None else "C")
    books = {} if certificate is None else {"C": certificate}
    return METERS[meter.kind].build(meter, certificates=books, references=REF, re_pipe=re)


def m_dot(built: Built, signal: np.ndarray = DP, **errors: float) -> np.ndarray:
    zero = dict.fromkeys((source.name for source in built.sources), 0.0)
    unknown = set(errors) - set(zero)
    assert not unknown, unknown
    return built.law.m_dot(Errors(zero | errors), signal=signal, rho=np.full_like(signal, RHO), mu=MU)


def u_of(built: Built) -> dict[str, float]:
    return {source.name: source.u for source in built.sources}


def plain(c: float | np.ndarray, d_pipe: float, beta: float) -> np.ndarray:
    """C / sqrt(1 - beta^4) * area * sqrt(2 rho dp), ISO 5167-1:2003, equation 1 for a liquid."""
    area = np.pi / 4 * (beta * d_pipe) ** 2
    return np.asarray(c / np.sqrt(1 - beta**4) * area * np.sqrt(2 * RHO * DP))


OPTIONAL = {
    "mass-flow": ["linearity", "repeatability", "zero_stability"],
    "volume-flow": ["linearity", "repeatability"],
    "turbine": ["linearity", "repeatability", "d_pipe", "nu"],
}


def test_the_kinds_are_these() -> None:
    assert set(METERS) == {*VENTURIS, *ORIFICES, "venturi-calibrated", "mass-flow", "volume-flow", "turbine"}


@pytest.mark.parametrize("kind", METERS)
def test_a_kind_declares_all_that_its_build_reads(kind: str) -> None:
    meter = METERS[kind]
    required = {
        field.name: Stated(
            value={"d_pipe": 0.1, "d_throat": 0.05, "c": 0.98, "factor": 1.01, "k": 5e4}[field.name], u=1e-5
        )
        for field in meter.fields
        if field.required
    }
    built = build(MeterGiven(id="FV", kind=kind, values=required, instruments={}))
    assert np.all(m_dot(built) > 0)
    assert {source.name for source in built.sources} >= {"FV.c"} or meter.role == "signal"
    assert all(source.scope == "instrument" and source.origin for source in built.sources)
    optional = [field for field in meter.fields if not field.required]
    assert [field.name for field in optional] == (["c"] if kind in VENTURIS else OPTIONAL.get(kind, []))
    assert all(field.help and field.dimension for field in meter.fields)
    assert meter.over
    assert meter.title


@pytest.mark.parametrize("kind", VENTURIS)
def test_a_standard_venturi(kind: str) -> None:
    c, u_expanded, d_pipe, beta = VENTURIS[kind]
    built = build(given(kind, d_pipe, beta))
    np.testing.assert_allclose(m_dot(built), plain(c, d_pipe, beta), rtol=1e-12)
    assert u_of(built) == {"FV.c": pytest.approx(u_expanded / 2), "FV.d_pipe": 3e-5, "FV.d_throat": 1e-5}
    assert not built.outside
    assert not built.own
    assert {source.dist for source in built.sources} == {"normal", "rectangular"}


@pytest.mark.parametrize("kind", VENTURIS)
@pytest.mark.parametrize(
    ("change", "quantity"), [({"d_pipe": 0.02}, "d_pipe"), ({"beta": 0.2}, "beta"), ({"re": (5e4, 3e5)}, "re"),
                             ({"re": (3e5, 5e6)}, "re")],
)  # fmt: skip
def test_a_venturi_outside_its_standard_keeps_its_coefficient_and_widens(
    kind: str, change: dict[str, float], quantity: str
) -> None:
    c, _, d_pipe, beta = VENTURIS[kind]
    place = {"d_pipe": d_pipe, "beta": beta, "re": IN} | change
    built = build(given(kind, place["d_pipe"], place["beta"]), re=place["re"])  # type: ignore[arg-type]  # by name
    np.testing.assert_allclose(m_dot(built), plain(c, place["d_pipe"], place["beta"]), rtol=1e-12)
    assert u_of(built)["FV.c"] == pytest.approx(OUT_OF_SCOPE_U / 2)
    assert [breach.quantity for breach in built.outside] == [quantity]
    assert not built.own


@pytest.mark.parametrize(
    ("place", "inside"),
    [
        ({"beta": 0.402}, True), ({"beta": 0.398}, False), ({"beta": 0.747}, True), ({"beta": 0.753}, False),
        ({"d_pipe": 0.0503}, True), ({"d_pipe": 0.0497}, False), ({"re": (2.02e5, 9.9e5)}, True),
        ({"re": (1.98e5, 9.9e5)}, False), ({"re": (2.02e5, 1.01e6)}, False),
    ],
)  # fmt: skip
def test_the_edges_of_the_machined_form(place: dict[str, float], inside: bool) -> None:
    """ISO 5167-4:2003, 5.5.3: 50 to 250 mm, diameter ratio 0.4 to 0.75, Reynolds number 2e5 to 1e6."""
    at = {"d_pipe": 0.1, "beta": 0.5, "re": IN} | place
    built = build(given("venturi-machined", at["d_pipe"], at["beta"]), re=at["re"])  # type: ignore[arg-type]  # by name
    assert (not built.outside) is inside


@pytest.mark.parametrize(("beta", "inside"), [(0.748, True), (0.752, False), (0.102, False), (0.13, True)])
def test_the_edges_of_a_plate(beta: float, inside: bool) -> None:
    """ISO 5167-2:2003, 5.3.1: diameter ratio 0.10 to 0.75, bore of 12.5 mm and more."""
    assert (not build(given("orifice-corner", 0.1, beta)).outside) is inside


def test_the_wider_doubt_is_three_per_cent() -> None:
    assert OUT_OF_SCOPE_U == 0.03


def test_a_stated_coefficient_is_the_meter_s_own_wherever_it_works() -> None:
    stated = Stated(value=0.97, u=0.0097, dist="normal", origin="bench.toml")
    for re in (IN, (2e4, 3e4)):
        built = build(given("venturi-machined", c=stated), re=re)
        np.testing.assert_allclose(m_dot(built), plain(0.97, 0.1, 0.5), rtol=1e-12)
        assert u_of(built)["FV.c"] == pytest.approx(0.01)
        assert built.own
    assert [breach.quantity for breach in built.outside] == ["re"]


@pytest.mark.parametrize("kind", ["venturi-machined", "venturi-calibrated", "orifice-corner", "mass-flow"])
def test_a_certificate_takes_the_place_of_any_other_doubt(kind: str) -> None:
    own = {
        "venturi-calibrated": {"c": Stated(value=0.98, u=0.02)},
        "mass-flow": {"factor": Stated(value=1.0, u=0.02)},
    }
    name = "FV.factor" if kind == "mass-flow" else "FV.c"
    meter = given(kind, **own.get(kind, {}))
    plain_book = build(meter, certificate=BOOK)
    assert u_of(plain_book)[name] == pytest.approx(2e-3)
    on_standard = u_of(build(meter, certificate=replace(BOOK, reference="REF")))
    assert on_standard["REF.gain"] == 1e-3
    assert on_standard[name] == pytest.approx(3e-6**0.5)


def test_a_certified_standard_venturi_outside_its_scope_is_its_own() -> None:
    built = build(given("venturi-machined"), re=(2e4, 3e4), certificate=BOOK)
    assert built.own
    assert u_of(built)["FV.c"] == pytest.approx(2e-3)
    plate = build(given("orifice-corner"), re=(2e3, 3e3), certificate=BOOK)
    assert plate.own
    assert plate.outside


def test_a_calibrated_venturi() -> None:
    built = build(given("venturi-calibrated", c=Stated(value=0.9885, u=0.0988)), re=(1e3, 1e3))
    np.testing.assert_allclose(m_dot(built), plain(0.9885, 0.1, 0.5), rtol=1e-12)
    assert u_of(built)["FV.c"] == pytest.approx(0.0988 / 0.9885)
    assert not built.outside


@pytest.mark.parametrize("kind", [*VENTURIS, "venturi-calibrated", *ORIFICES])
def test_what_each_source_of_a_differential_meter_does(kind: str) -> None:
    values = {"c": Stated(value=0.98)} if kind == "venturi-calibrated" else {}
    built = build(given(kind, **values))
    base = m_dot(built)
    np.testing.assert_allclose(m_dot(built, **{"FV.c": 0.01}) / base, 1.01, rtol=2e-4)
    wider = build(given(kind, 0.1, 0.5, **values | {"d_throat": Stated(value=0.0505)}))
    np.testing.assert_allclose(m_dot(built, **{"FV.d_throat": 5e-4}), m_dot(wider), rtol=1e-12)
    pipe = build(given(kind, 0.102, 0.05 / 0.102, **values))
    np.testing.assert_allclose(m_dot(built, **{"FV.d_pipe": 2e-3}), m_dot(pipe), rtol=1e-12)
    if kind not in ORIFICES:  # d ln m / d ln d = 2 / (1 - beta^4)
        rise = np.log(m_dot(built, **{"FV.d_throat": 5e-6}) / base) / 1e-4
        np.testing.assert_allclose(rise, 2 / (1 - 0.5**4), rtol=2e-3)


@pytest.mark.parametrize("kind", ORIFICES)
def test_an_orifice_plate_solves_for_its_own_reynolds_number(kind: str) -> None:
    d_pipe, beta = 0.1, 0.6
    built = build(given(kind, d_pipe, beta), re=(1e5, 2e5))
    flow = m_dot(built)
    re = 4 * flow / (np.pi * d_pipe * MU)
    c = orifice_c(d_pipe=d_pipe, d_throat=beta * d_pipe, re=re, taps=TAPS[ORIFICES[kind]])
    np.testing.assert_allclose(flow, plain(np.asarray(c), d_pipe, beta), rtol=1e-10)
    # ISO 5167-2:2003, 5.3.3.1: 0.5 % up to beta = 0.6, k = 2
    assert u_of(built)["FV.c"] == pytest.approx(0.0025 * (1.667 * 0.6 - 0.5) / 0.5, rel=1e-9)
    assert not built.outside


def test_an_orifice_plate_outside_its_scope_doubles_its_doubt() -> None:
    inside, below = build(given("orifice-corner")), build(given("orifice-corner"), re=(4e3, 2e4))
    assert u_of(below)["FV.c"] == pytest.approx(2 * u_of(inside)["FV.c"])
    assert [breach.quantity for breach in below.outside] == ["re"]


def test_the_uncertainty_of_a_small_plate_and_a_slow_flow_are_the_standard_s() -> None:
    small = build(
        given("orifice-corner", 0.0508, 0.5)
    )  # 2 in: + 0.9 (0.75 - beta) (2.8 - D/25.4 mm), in per cent
    assert u_of(small)["FV.c"] == pytest.approx((0.5 + 0.9 * 0.25 * 0.8) / 200, rel=1e-6)
    slow = build(given("orifice-corner", 0.1, 0.55), re=(9e3, 2e4))  # + 0.5 % below Re 1e4 and above beta 0.5
    assert u_of(slow)["FV.c"] == pytest.approx((0.5 + 0.5) / 200, rel=1e-6)


def test_meters_whose_signal_is_the_flow() -> None:
    factor = Stated(value=1.02, u=0.0051, dist="normal")
    mass, volume = (build(given(kind, factor=factor)) for kind in ("mass-flow", "volume-flow"))
    signal = np.array([[2.0], [3.0]])
    np.testing.assert_allclose(m_dot(mass, signal), 1.02 * signal, rtol=1e-12)
    np.testing.assert_allclose(m_dot(volume, signal), 1.02 * RHO * signal, rtol=1e-12)
    np.testing.assert_allclose(
        m_dot(volume, signal, **{"FV.factor": 0.01}), 1.02 * 1.01 * RHO * signal, rtol=1e-12
    )
    np.testing.assert_allclose(m_dot(mass, signal, **{"FV.factor": 0.01}), 1.02 * 1.01 * signal, rtol=1e-12)
    assert u_of(mass) == u_of(volume) == {"FV.factor": pytest.approx(0.005)}
    assert (METERS["mass-flow"].measures, METERS["volume-flow"].measures) == (
        ("mass_flow",),
        ("volume_flow",),
    )
