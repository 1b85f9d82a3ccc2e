"""Lines and valves of a feed: reduced from runs between two taps, composed in series and side by side, or refused."""

from dataclasses import replace
from math import pi, sqrt
from pathlib import Path

import numpy as np
import pytest

from headrace.chain.water import Reduced
from headrace.errors import InputError
from headrace.files.check import check
from headrace.files.folder import read
from headrace.jobs.balance import setpoints
from headrace.jobs.reduce import reduce
from headrace.records.answers import Answer
from headrace.records.given import Campaign, Engine, Feed, RunGiven, Stated, Tap
from support import golden_folder
from support import hand_made as made

VALVE, TWIN, LINE, OX, FUEL = 3.1e-4, 2.2e-4, 4.3e-4, 2.31e-4, 1.3e-4
BORE = 0.04


def taps(**changes: Tap) -> dict[str, Tap]:
    """T-UP, T-MID, T-OX, each 0.2 m below the one before."""
    own = {
        name: Tap(id=name, height=Stated(value=height, u=0.002), bore=BORE, basis="static")
        for name, height in (("T-UP", 0.9), ("T-MID", 0.7), ("T-OX", 0.5))
    }
    return {**made.bench().taps, **own, **changes}


def part(name: str, kind: str, tap: str, down: str):
    return replace(
        made.circuit(name, tap),
        element=kind,
        count=1,
        bore=Stated(value=BORE),
        area=None,
        outlet_height=Stated(value=0.0),
        down_tap=down,
    )


PARTS = {
    "VALVE": part("VALVE", "valve", "T-UP", "T-MID"),
    "TWIN": part("TWIN", "valve", "T-UP", "T-MID"),
    "LINE": part("LINE", "line", "T-MID", "T-OX"),
}


def run(name: str, circuit: str, area: float, *, behind: float = 2.0) -> RunGiven:
    """A part with a pressure of `behind` [bar] at the tap behind it."""
    one = made.metered(name, area, circuit=circuit, temp=made.WARM)
    assert one.trace is not None
    back = np.where(made.FLOWING, behind * made.BAR, 0.0)
    channels = one.trace.channels | {"PM-OX": one.trace.channels["PM-OX"] + back, "P-BACK": back}
    return replace(one, trace=made.trace(channels), flows=(replace(one.flows[0], p_back="P-BACK"),))


RUNS = (
    run("P01", "VALVE", VALVE),
    run("P02", "TWIN", TWIN),
    run("P03", "LINE", LINE),
    made.metered("W01", OX),
    made.metered("W02", FUEL, circuit="fuel", tap="PM-FUEL"),
)


def campaign(*runs: RunGiven, engine: Engine | None = None, **changed: Tap) -> Campaign:
    return made.campaign(
        *(runs or RUNS),
        article=made.article(**PARTS),
        bench=made.bench(taps=taps(**changed)),
        engine=engine or made.engine(),
    )


def with_feed(**feed: object) -> Engine:
    given = made.engine()
    plain = Feed(
        area_eff=None,
        tap="T-OX",
        basis="static",
        friction=0.0,
        bore=None,
        re_stated=None,
        head=Stated(value=1.5),
    )
    return made.with_side(given, "ox", feed=replace(plain, **feed))


def answered(reduced: Reduced, **feed: object) -> Answer:
    given = campaign(engine=with_feed(**feed))
    return setpoints(given, reduced, p_chamber=20e5, m_dot=None, of_ratio=2.2)


@pytest.fixture(scope="module")
def reduced() -> Reduced:
    return reduce(campaign())


def test_parts_are_reduced_to_their_own_area_between_their_taps(reduced: Reduced) -> None:
    for name, area in (("VALVE", VALVE), ("TWIN", TWIN), ("LINE", LINE)):
        one = reduced.characteristics[name]
        assert one.area_eff.value == pytest.approx(area, rel=2e-5)
        assert one.state == "alone"
    sources = {line.source for line in reduced.characteristics["VALVE"].budget}
    assert {"T-UP.height", "T-MID.height", "P01.PM-OX.tare"} & sources >= {"T-UP.height", "T-MID.height"}


def series(*areas: float) -> float:
    return sum(area**-2 for area in areas) ** -0.5


@pytest.mark.parametrize(
    ("parts", "area"),
    [
        ((("VALVE",), ("LINE",)), series(VALVE, LINE)),
        ((("VALVE", "TWIN"), ("LINE",)), series(VALVE + TWIN, LINE)),
    ],
    ids=["in series", "two valves side by side"],
)
def test_composed_parts_are_the_closed_form(reduced: Reduced, parts: tuple, area: float) -> None:
    """Identity: in series 1/E**2 adds, side by side E adds; against a feed stated as that area."""
    got = answered(reduced, parts=parts)
    stated = answered(reduced, area_eff=Stated(value=area))
    assert got.values["tanks.ox"].value == pytest.approx(stated.values["tanks.ox"].value, rel=2e-5)
    assert got.values["tanks.fuel"].value == pytest.approx(stated.values["tanks.fuel"].value, rel=1e-9)
    assert got.values["tanks.ox"].u > stated.values["tanks.ox"].u


def test_what_feed_and_injector_share_is_one_source(reduced: Reduced) -> None:
    """One meter for all: its coefficient moves the whole drop from tank to chamber, not that of the injector alone."""
    got = answered(reduced, parts=(("VALVE",), ("LINE",)))
    stated = answered(reduced, area_eff=Stated(value=series(VALVE, LINE)))

    def of(answer: Answer) -> float:
        (row,) = [one for one in answer.budgets["tanks.ox"] if one.source == "FV-A.c"]
        return abs(row.contribution)

    whole = series(OX, VALVE, LINE) ** -2.0
    assert of(got) / of(stated) == pytest.approx(whole / OX**-2.0, rel=0.01)


def test_the_parts_of_a_feed_are_assumptions_that_the_sheet_shows(reduced: Reduced) -> None:
    got = answered(reduced, parts=(("VALVE", "TWIN"), ("LINE",)))
    (words,) = [value for what, value, _ in got.assumptions if what == "ox: feed"]
    assert "(VALVE beside TWIN) + LINE" in words
    assert "P01, P02, P03" in words
    assert "no-feed-loss" not in {one.code for one in got.notices}


def test_friction_falls_from_the_pipe_reynolds_number_of_the_runs(reduced: Reduced) -> None:
    """All friction: the feed's loss is as if stated at the pipe Reynolds number at which the first part was run."""
    one = reduced.characteristics["VALVE"]
    re_pipe = one.re_ref * VALVE / (pi / 4 * BORE**2)
    got = answered(reduced, parts=(("VALVE",), ("LINE",)), friction=1.0, bore=BORE)
    stated = answered(
        reduced, area_eff=Stated(value=series(VALVE, LINE)), friction=1.0, bore=BORE, re_stated=re_pipe
    )
    assert got.values["tanks.ox"].value == pytest.approx(stated.values["tanks.ox"].value, rel=3e-5)
    frictionless = answered(reduced, parts=(("VALVE",), ("LINE",)))
    assert abs(got.values["tanks.ox"].value / frictionless.values["tanks.ox"].value - 1) > 1e-3


@pytest.mark.parametrize(
    ("parts", "found"),
    [
        ((("LINE",), ("VALVE",)), "VALVE from tap T-UP"),
        ((("VALVE",),), "the last part ends at tap T-MID"),
        ((("VALVE", "LINE"),), "LINE from tap T-MID to T-OX"),
    ],
    ids=["wrong order", "ends elsewhere", "side by side with other taps"],
)
def test_parts_that_do_not_meet_are_refused_with_one_message(
    reduced: Reduced, parts: tuple, found: str
) -> None:
    with pytest.raises(InputError) as refused:
        answered(reduced, parts=parts)
    (problem,) = refused.value.problems
    assert problem.key == "ox.feed.parts"
    assert found in problem.found


def test_parts_on_another_basis_than_the_feed_are_refused(reduced: Reduced) -> None:
    total = {name: replace(tap, basis="total") for name, tap in taps().items() if name in ("T-UP", "T-MID")}
    given = campaign(engine=with_feed(parts=(("VALVE",), ("LINE",))), **total)
    with pytest.raises(InputError, match="basis"):
        setpoints(given, reduced, p_chamber=20e5, m_dot=None, of_ratio=2.2)


def told(reduced: Reduced) -> str:
    return " ".join(one.text for one in reduced.notices if one.code == "run-not-reduced")


def test_a_part_needs_the_pressure_behind_it_and_one_basis() -> None:
    bare = replace(RUNS[0], flows=(replace(RUNS[0].flows[0], p_back=None),))
    assert "no `p_back`" in told(reduce(campaign(bare)))
    mixed = {"T-MID": replace(taps()["T-MID"], basis="total")}
    assert "losses add only on one basis" in told(reduce(campaign(RUNS[0], **mixed)))
    wide = {name: replace(taps()[name], basis="total") for name in ("T-UP", "T-MID")}
    wide["T-MID"] = replace(wide["T-MID"], bore=0.05)
    assert "take both as static" in told(reduce(campaign(RUNS[0], **wide)))


def test_between_total_taps_of_one_bore_the_area_is_the_same() -> None:
    both = {name: replace(taps()[name], basis="total") for name in ("T-UP", "T-MID")}
    one = reduce(campaign(RUNS[0], **both)).characteristics["VALVE"]
    assert one.area_eff.value == pytest.approx(VALVE, rel=2e-5)


def test_a_part_that_flows_with_a_circuit_leaves_both_alone() -> None:
    """A cold flow through the real line: the same water goes through part and circuit."""
    ox = made.metered("W03", OX)
    assert ox.trace is not None
    rho = made.rho_of()
    m_dot = made.flow_of(OX, ox.trace.channels["PM-OX"], rho)
    loss = np.where(made.FLOWING, m_dot**2 / (2 * rho * LINE**2) - rho * made.G * made.RISE, 0.0)
    channels = ox.trace.channels | {"PA-UP": ox.trace.channels["PM-OX"] + loss}
    line = replace(ox.flows[0], circuits=("LINE",), p_tap="PM-FUEL", p_back="PM-OX")
    channels["PM-FUEL"] = channels.pop("PA-UP")
    both = replace(ox, trace=made.trace(channels), flows=(*ox.flows, line))
    got = reduce(campaign(both)).characteristics
    assert set(got) == {"ox", "LINE"}
    assert got["LINE"].area_eff.value == pytest.approx(LINE, rel=2e-4)
    assert sqrt(got["LINE"].area_eff.u) > 0


# --- in a folder

PART = '\n[[part]]\nid = "OX-LINE"\nkind = "line"\nbore = "40 mm"\ntap = "T-FU"\ndown_tap = "T-OX"\n'


def folder(tmp_path: Path, *, part: str = PART, parts: str | None = None, stated: bool = False) -> Path:
    files = golden_folder.files()
    changed = {"article.toml": files["article.toml"] + part}
    if parts is not None:
        area = 'area_eff = "2.9e-4 m2 ± 2 %"\n'
        assert area in files["engine.toml"]
        changed["engine.toml"] = files["engine.toml"].replace(area, f"parts = {parts}\n" + area * stated)
    return golden_folder.write(tmp_path, changed)


def test_parts_are_read_from_article_and_engine(tmp_path: Path) -> None:
    given = read(folder(tmp_path, parts='[["OX-LINE", "OX-LINE"], "OX-LINE"]'))
    assert given.engine is not None
    feed = given.engine.sides["ox"].feed
    assert (feed.area_eff, feed.parts) == (None, (("OX-LINE", "OX-LINE"), ("OX-LINE",)))
    one = given.article.circuits["OX-LINE"]
    assert (one.element, one.bore.value, one.tap, one.down_tap) == ("line", 0.04, "T-FU", "T-OX")


@pytest.mark.parametrize(
    ("how", "key", "expected"),
    [
        ({"parts": '["OX-LIN"]'}, "ox.feed.parts[0]", "a part of article.toml"),
        ({"parts": '[["OX-LIN"]]'}, "ox.feed.parts[0][0]", "a part of article.toml"),
        ({"parts": '["ox"]'}, "ox.feed.parts[0]", "a part of article.toml"),
        ({"parts": '["OX-LINE"]', "stated": True}, "ox.feed.parts", "area_eff or parts, one of them"),
        ({"part": PART.replace("OX-LINE", "ox")}, "part[0].id", "no other circuit or part has"),
        ({"part": PART.replace("T-FU", "T-NONE")}, "part[0].tap", "a tap of bench.toml"),
        ({"part": PART.replace('"line"', '"pressure-swirl"')}, "part[0].kind", "line"),
    ],
    ids=str,
)
def test_one_fault_of_a_part_gives_one_message(how: dict, key: str, expected: str, tmp_path: Path) -> None:
    (problem,) = check(folder(tmp_path, **how)).problems
    assert problem.key == key
    assert expected in problem.expected


def test_a_circuit_is_no_part_and_an_empty_place_is_none(tmp_path: Path) -> None:
    files = golden_folder.files()
    swirl = files["article.toml"].replace('element = "pressure-swirl"', 'element = "valve"', 1)
    if swirl != files["article.toml"]:
        assert check(golden_folder.write(tmp_path / "a", {"article.toml": swirl})).problems
    assert check(folder(tmp_path / "b", parts="[[]]")).problems
