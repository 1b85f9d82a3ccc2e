"""What must hold of the whole chain whatever the numbers: kinds of pressure, units, directions, what is shared."""

import hashlib
import re
from dataclasses import replace
from datetime import date
from math import sqrt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headrace.bench.meters import METERS
from headrace.bench.meters.base import Built
from headrace.chain.contrasts import ContrastModel
from headrace.files.folder import read
from headrace.jobs.balance import setpoints
from headrace.jobs.reduce import reduce
from headrace.records.answers import Answer
from headrace.records.given import Accuracy, Certificate, MeterGiven, Reference, Stated
from headrace.records.readings import Characteristic
from headrace.uncertainty.errors_map import Errors
from headrace.uncertainty.gum import gum
from support.demo_chain import demo_chain
from support.mini import write_mini
from support.other_units import rewrite
from support.plain_engine import PlainEngine, PlainSide

ENGINE = PlainEngine(
    ox=PlainSide(rho=1141.0, injector=2.0e-5, line=6.0e-5),
    fuel=PlainSide(rho=855.6, injector=1.8e-5, line=5.0e-5),
    c_star=1600.0,
    area_throat=1.0e-3,
)
SEVERAL = settings(max_examples=40, deadline=None)
TANK = st.floats(3e6, 5e6)
MORE = st.floats(1e3, 3e5)


def answered(folder: Path) -> tuple[dict[str, Characteristic], Answer]:
    campaign = read(folder)
    reduced = reduce(campaign)
    answer = setpoints(campaign, reduced, p_chamber=20e5, m_dot=None, of_ratio=2.2)
    return dict(reduced.characteristics), answer


@SEVERAL
@given(ox=TANK, fuel=TANK, more=MORE)
def test_more_pressure_in_one_tank(ox: float, fuel: float, more: float) -> None:
    before, after = ENGINE.forward(ox, fuel), ENGINE.forward(ox + more, fuel)
    assert after.p_chamber > before.p_chamber
    assert after.m_dot[0] > before.m_dot[0]
    assert after.m_dot[1] < before.m_dot[1]
    before, after = ENGINE.forward(ox, fuel), ENGINE.forward(ox, fuel + more)
    assert after.p_chamber > before.p_chamber
    assert after.of_ratio < before.of_ratio


@SEVERAL
@given(p=st.floats(1e6, 3e6), ratio=st.floats(0.8, 3.0), more=MORE)
def test_more_wanted_needs_more_pressure(p: float, ratio: float, more: float) -> None:
    _, (ox, fuel) = ENGINE.tanks_for(p_chamber=p, of_ratio=ratio)
    _, higher = ENGINE.tanks_for(p_chamber=p + more, of_ratio=ratio)
    assert higher[0] - ox > more
    assert higher[1] - fuel > more
    _, richer = ENGINE.tanks_for(p_chamber=p, of_ratio=1.01 * ratio)
    assert richer[0] > ox
    assert richer[1] < fuel


@SEVERAL
@given(ox=TANK, fuel=TANK)
def test_forwards_undoes_backwards(ox: float, fuel: float) -> None:
    found = ENGINE.forward(ox, fuel)
    _, tanks = ENGINE.tanks_for(p_chamber=found.p_chamber, of_ratio=found.of_ratio)
    assert tanks == pytest.approx((ox, fuel), rel=1e-9)


@SEVERAL
@given(shift=st.floats(-3e4, 3e4))
def test_what_the_barometer_gains_the_gauges_lose(shift: float) -> None:
    """The chamber knows absolute pressures only."""
    chain = demo_chain()
    zero = Errors({source.name: np.zeros(1) for source in chain.sources})
    plain = chain.model.as_set
    ox, fuel = plain.tanks
    moved = replace(plain, tanks=(ox - shift, fuel - shift), ambient=plain.ambient + shift)
    before, after = plain(zero), moved(zero)
    for name in ("p_chamber", "of_ratio", "m_dot.ox", "m_dot.fuel", "drop.ox", "drop.fuel"):
        assert after[name] == pytest.approx(before[name], rel=1e-12)
    for side in ("ox", "fuel"):
        name = f"manifold_lit.{side}"
        assert after[name] - before[name] == pytest.approx(-shift, abs=1e-4)


def test_absolute_transmitters_find_what_gauges_find(tmp_path: Path) -> None:
    """The same water, its manifold pressure logged as absolute: area and O/F stay."""
    write_mini(tmp_path, 7)
    areas, answer = answered(tmp_path)
    for file in tmp_path.rglob("*.toml"):
        text = file.read_text(encoding="utf-8")
        text = text.replace(
            '"gauge"\nrange = ["0 bar(g)", "8 bar(g)"]', '"abs"\nrange = ["0 bar(a)", "8 bar(a)"]'
        )
        text = re.sub(r'(instrument = "PM-\w+", unit = "bar)\(g\)', r"\1(a)", text)
        file.write_text(text, encoding="utf-8")
    for file in tmp_path.rglob("*.csv"):
        head, *rows = file.read_text(encoding="utf-8").splitlines()
        column = head.split(",").index(next(name for name in head.split(",") if name.startswith("PM-")))
        cells = [row.split(",") for row in rows]
        for row in cells:
            row[column] = f"{float(row[column]) + 1.007:.5f}"
        file.write_text("\n".join([head, *(",".join(row) for row in cells)]) + "\n", encoding="utf-8")
        digest = hashlib.sha256(file.read_bytes()).hexdigest()
        file.with_name(f"{file.name}.sha256").write_text(f"{digest}  {file.name}\n", encoding="utf-8")
    assert {i.measures for i in read(tmp_path).bench.instruments.values() if i.tag.startswith("PM-")} == {
        "abs"
    }
    areas_abs, answer_abs = answered(tmp_path)
    for key, found in areas.items():
        assert areas_abs[key].area_eff.value == pytest.approx(found.area_eff.value, rel=1e-9)
    for name in ("of_ratio", "tanks.ox", "tanks.fuel", "p_chamber"):
        assert answer_abs.values[name].value == pytest.approx(answer.values[name].value, rel=1e-9)


def test_units_do_not_matter(tmp_path: Path) -> None:
    write_mini(tmp_path, 8)
    areas, answer = answered(tmp_path)
    assert rewrite(tmp_path) > 60
    areas_other, answer_other = answered(tmp_path)
    for key, found in areas.items():
        other = areas_other[key].area_eff
        assert (other.value, other.u) == pytest.approx((found.area_eff.value, found.area_eff.u), rel=1e-10)
        assert other.value == pytest.approx(found.area_eff.value, rel=1e-12)
    assert set(answer.values) == set(answer_other.values)
    for name, value in answer.values.items():
        same = answer_other.values[name]
        assert same.value == pytest.approx(value.value, rel=1e-12)
        assert (same.u, same.low, same.high) == pytest.approx((value.u, value.low, value.high), rel=1e-9)


def ratio_rows(folder: Path, lines: int) -> dict[str, float]:
    """Contributions to ln(E_ox/E_fuel) by source."""
    write_mini(folder, 9, lines=lines, runs=1)
    reduced = reduce(read(folder))
    model = ContrastModel(water=reduced.water, contrasts={"ratio": (("ox",), ("fuel",))})
    return {row.source: row.contribution for row in gum(model, reduced.sources).budget("ratio")}


def test_one_meter_cancels_in_the_ratio_of_two_areas(tmp_path: Path) -> None:
    one, two = ratio_rows(tmp_path / "one", 1), ratio_rows(tmp_path / "two", 2)
    for name in ("FV-A.c", "FV-A.d_pipe", "FV-A.d_throat"):
        assert abs(one[name]) < 1e-9
    u_c = 0.003
    assert two["FV-A.c"] == pytest.approx(u_c, rel=1e-5)
    assert two["FV-B.c"] == pytest.approx(-u_c, rel=1e-5)
    # the reference standard acts on both cells and both gauges: a half up, a half down, in each area
    assert abs(one["DWT-9.gain"]) < 1e-5
    assert abs(two["DWT-9.gain"]) < 1e-5
    assert abs(one["PM-OX.gain"]) > 1e-4
    assert sum(x**2 for x in two.values()) > sum(x**2 for x in one.values()) + 1.9 * u_c**2


def calibrated(name: str, reference: str | None) -> Built:
    """A venturi whose certificate says 0.5831 %: 0.3 % of its own and 0.5 % of the reference, if it names one."""
    total = Accuracy(of_reading=sqrt(0.005**2 + 0.003**2), dist="normal")
    certificate = Certificate(id="C", date=date(2025, 12, 1), accuracy=total, reference=reference)
    bores = {"d_pipe": Stated(value=0.05), "d_throat": Stated(value=0.025)}
    values = {**bores, "c": Stated(value=0.99, u=1e-3)}
    return METERS["venturi-calibrated"].build(
        MeterGiven(id=name, kind="venturi-calibrated", values=values, instruments={}, certificate="C"),
        certificates={"C": certificate},
        references={"R": Reference(id="R", of_reading=0.005, origin="example")},
        re_pipe=(3e5, 3e5),
    )


@pytest.mark.parametrize(
    ("reference", "ratio", "total"), [("R", 0.4242641, 0.5431390), (None, 0.8246211, 0.4123106)]
)
def test_a_shared_certificate_cancels_in_a_ratio_and_adds_in_a_sum(
    reference: str | None, ratio: float, total: float
) -> None:
    """Closed form for equal flows: sqrt(2) own; sqrt(shared**2 + own**2/2). Taken as independent: wrong both ways."""
    meters = [calibrated(name, reference) for name in ("one", "two")]
    sources = {source.name: source for meter in meters for source in meter.sources}

    def model(errors: Errors) -> dict[str, np.ndarray]:
        signal, rho = np.full((1, 1), 5e4), np.full((1, 1), 998.0)
        one, two = (meter.law.m_dot(errors, signal=signal, rho=rho, mu=1e-3)[0] for meter in meters)
        return {"ratio": one / two, "total": one + two}

    result = gum(model, tuple(sources.values()))
    u_rel = {name: 100 * result.u[name] / result.nominal[name] for name in result.outputs}
    assert u_rel["ratio"] == pytest.approx(ratio, rel=1e-6)
    assert u_rel["total"] == pytest.approx(total, rel=1e-6)
