"""What the crew sets is what the gauge must show for the wanted pressure: a certificate's correction turned round."""

from dataclasses import replace
from math import nan

import pytest

from headrace.jobs.balance import predict, setpoints
from headrace.records.given import Accuracy, Certificate, Engine, Instrument
from support import hand_engine as hot
from support import hand_made as made

P_CHAMBER, OF, BAR = 20e5, 2.2, 1e5
WANTED: dict[str, float | None] = {"p_chamber": P_CHAMBER, "m_dot": None}
POINTS = ((0.0, 0.2 * BAR), (60 * BAR, 59.0 * BAR))


def gauged(
    points: tuple[tuple[float, float], ...], measures: str = "gauge"
) -> tuple[Engine, dict[str, Certificate]]:
    """The engine with a dial on the ox tank that is exact but for its certificate's points."""
    engine = made.engine()
    side = engine.sides["ox"]
    dial = Instrument(
        tag="PG-S", measures=measures, low=0.0, high=60 * BAR, accuracy=Accuracy(text="none"), certificate="C-S",
        drift=0.0,
    )  # fmt: skip
    paper = Certificate(id="C-S", date=made.DAY, accuracy=Accuracy(text="none"), points=points)
    tank = replace(side.tank, gauge="PG-S")
    return (
        replace(
            engine,
            instruments={**engine.instruments, "PG-S": dial},
            sides={**engine.sides, "ox": replace(side, tank=tank)},
        ),
        {"C-S": paper},
    )


def solved(points: tuple[tuple[float, float], ...], measures: str = "gauge") -> dict[str, float]:
    engine, papers = gauged(points, measures)
    campaign = replace(hot.campaign(engine), certificates=papers)
    answer = setpoints(campaign, hot.reduced(), p_chamber=P_CHAMBER, m_dot=None, of_ratio=OF)
    return {name: one.value for name, one in answer.values.items()} | {"told": nan}


def test_the_set_point_is_what_the_gauge_must_show() -> None:
    plain, off = solved(()), solved(POINTS)
    for name in ("tanks.ox", "static.ox"):
        shown = off[name]
        true = shown + 0.2 * BAR - shown * 1.2 / 60  # the straight line between the two points
        assert true == pytest.approx(plain[name], rel=1e-9)
        assert abs(shown / plain[name] - 1) > 0.005
    assert off["tanks.fuel"] == pytest.approx(plain["tanks.fuel"], rel=1e-9)
    for name in ("p_chamber", "of_ratio", "drop.ox", "manifold_lit.ox"):
        assert off[name] == pytest.approx(plain[name], rel=1e-9)


def test_a_dial_in_absolute_pressure() -> None:
    """Its points count from vacuum: the barometer is added before they are looked up."""
    ambient = made.engine().ambient.value
    plain, off = solved(()), solved(POINTS, "abs")
    shown = off["tanks.ox"] + ambient
    assert off["tanks.ox"] + 0.2 * BAR - shown * 1.2 / 60 == pytest.approx(plain["tanks.ox"], rel=1e-9)


def test_set_as_shown_gives_the_wanted_point_back() -> None:
    engine, papers = gauged(POINTS)
    campaign = replace(hot.campaign(engine), certificates=papers)
    answer = setpoints(campaign, hot.reduced(), p_chamber=P_CHAMBER, m_dot=None, of_ratio=OF)
    tanks = {name: answer.values[f"tanks.{name}"].value for name in ("ox", "fuel")}
    there = predict(campaign, hot.reduced(), tanks=tanks)
    assert there.values["p_chamber"].value == pytest.approx(P_CHAMBER, rel=1e-7)
    assert there.values["of_ratio"].value == pytest.approx(OF, rel=1e-7)
    assert any("PG-S" in what and "C-S" in origin for what, _, origin in answer.assumptions)
    assert not any("PG-S" in what for what, _, _ in setpoints(
        replace(hot.campaign(gauged(())[0]), certificates=gauged(())[1]), hot.reduced(), **WANTED, of_ratio=OF
    ).assumptions)  # fmt: skip
