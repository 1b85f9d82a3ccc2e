"""Bucket tables: closed forms of one catch, what is one error and what is many, tables and rows, what is refused."""

import hashlib
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from headrace.errors import NoAnswer
from headrace.files.bring import bring, look
from headrace.files.drafts import open_keys
from headrace.files.folder import gather
from headrace.files.schema.run import LoggerTable
from headrace.files.traces import row_by_row
from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.context import Context
from headrace.jobs.reduce.methods.bucket import prepare, scatter_of_repeats
from headrace.records.given import Catches, Flow, RunGiven, Stated
from support import golden_folder, hand_made

RUN = """\
kind = "water"
method = "bucket"
date = 2026-03-12
ambient = "1009 mbar(a) ± 1 mbar"
water_temperature = "17.2 degC ± 0.5 K"
[[flow]]
circuits = ["fuel"]
lines = ["B"]
p_tap = "PG-FU"
"""
CATCH = """\
[catch]
timing = "0.2 s"
scale = "SCALE-1"
full = { column = "full", unit = "lb" }
empty = { column = "empty", unit = "lb" }
duration = { column = "time" }
pressure = { column = "p" }
number = "no"
"""
TABLE = """\
no,full,empty,time [s],p [psi]
1,45.1,4.4,30.2,72.5
2,45.0,4.4,30.1,72.6
1,60.1,4.4,30.2,145.0
2,60.5,4.4,30.3,145.1
3,60.4,4.5,30.2,145.0
"""


def folder(home: Path, run: str, table: str | None = None) -> Path:
    """The golden folder with one run by bucket in place of all others."""
    changed: dict[str, str | None] = {
        name: None for name in golden_folder.files() if name.startswith("runs/")
    }
    changed["runs/B01/run.toml"] = run
    if table is not None:
        seal = hashlib.sha256(table.encode()).hexdigest()
        changed |= {"runs/B01/t.csv": table, "runs/B01/t.csv.sha256": f"{seal}  t.csv\n"}
    return golden_folder.write(home, changed)


def with_file(catch: str = CATCH) -> str:
    return RUN.replace("[[flow]]", 'file = "t.csv"\n[[flow]]') + catch


def caught(home: Path, run: str, table: str | None = None) -> Catches:
    found = gather(folder(home, run, table))
    assert (found.problems, found.questions) == ((), ())
    assert found.campaign is not None
    catches = found.campaign.runs["B01"].catches
    assert catches is not None
    return catches


# -- from text to SI ------------------------------------------------------------------------------------------------


def test_a_table_in_pounds_and_psi(tmp_path: Path) -> None:
    catches = caught(tmp_path, with_file(), TABLE)
    assert catches.mass == pytest.approx(np.array([40.7, 40.6, 55.7, 56.1, 55.9]) * 0.45359237, rel=1e-12)
    assert catches.indicated == pytest.approx(
        np.array([72.5, 72.6, 145.0, 145.1, 145.0]) * 6894.757293, rel=1e-9
    )
    assert catches.duration.tolist() == [30.2, 30.1, 30.2, 30.3, 30.2]
    assert catches.group.tolist() == [0, 0, 1, 1, 1]
    assert catches.lines.tolist() == [2, 3, 4, 5, 6]
    assert catches.u_timing == pytest.approx(0.2 / math.sqrt(3))
    assert catches.u_timing_shared == 0
    slow = caught(
        tmp_path / "slow", with_file(CATCH.replace("scale =", 'timing_shared = "0.06 s"\nscale =')), TABLE
    )
    assert slow.u_timing_shared == pytest.approx(0.06 / math.sqrt(3))


@pytest.mark.parametrize(
    ("marks", "groups"),
    [("", [0, 0, 1, 1, 1]), ('group = "set"\n', [0, 1, 1, 2, 2])],
    ids=["by pressure", "by label"],
)
def test_groups(marks: str, groups: list[int], tmp_path: Path) -> None:
    sets = iter(["set", "1", "2", "2", "3", "3"])
    table = "".join(f"{line},{next(sets)}\n" for line in TABLE.splitlines())
    catch = CATCH.replace('number = "no"\n', marks)
    assert caught(tmp_path, with_file(catch), table).group.tolist() == groups


def test_typed_rows_are_the_same_as_a_table(tmp_path: Path) -> None:
    rows = "".join(
        f'[[catch.row]]\nfull = "{full} lb"\nempty = "{empty} lb"\nduration = "{time} s"\npressure = "{p} psi(g)"\n'
        f'group = "{"low" if float(p) < 100 else "high"}"\n'
        for _, full, empty, time, p in (line.split(",") for line in TABLE.splitlines()[1:])
    )
    typed = caught(tmp_path / "a", RUN + '[catch]\ntiming = "0.2 s"\nscale = "SCALE-1"\n' + rows)
    table = caught(tmp_path / "b", with_file(), TABLE)
    for name in ("mass", "duration", "indicated"):
        assert getattr(typed, name) == pytest.approx(getattr(table, name), rel=1e-12)
    assert typed.group.tolist() == table.group.tolist()
    reduced = [reduce(gather(tmp_path / one).campaign or pytest.fail(one)) for one in "ab"]
    first, second = (one.characteristics["fuel"].area_eff for one in reduced)
    assert first.value == pytest.approx(second.value, rel=1e-12)
    lines = [reading.origin.lines for reading in reduced[1].runs["B01"].readings]
    assert lines == [(line, line) for line in range(2, 7)]


def test_incomplete_rows_are_left_out_and_told(tmp_path: Path) -> None:
    found = gather(folder(tmp_path, with_file(), TABLE + "4,60.2,,30.0,145.0\n"))
    assert found.campaign is not None
    catches = found.campaign.runs["B01"].catches
    assert catches is not None
    assert catches.lines.tolist() == [2, 3, 4, 5, 6]
    assert any("line 7" in notice.text for notice in found.notices if notice.code == "lines-refused")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('unit = "lb"', 'unit = "psi"', "a unit of mass"),
        ('column = "full"', 'column = "fool"', 'column "fool"'),
        ('timing = "0.2 s"\n', "", "timing"),
        ('empty = { column = "empty", unit = "lb" }\n', "", "full and empty"),
        ('full = { column = "full"', 'full = { column = "empty"', "not above 0"),
        ('scale = "SCALE-1"', 'scale = "PG-FU"', "measures mass"),
    ],
)
def test_nonsense_is_refused(old: str, new: str, says: str, tmp_path: Path) -> None:
    assert old in CATCH
    text = with_file(
        CATCH.replace(old, new, 1) if old != 'full = { column = "full"' else CATCH.replace(old, new)
    )
    found = gather(folder(tmp_path, text, TABLE))
    assert any(says in f"{one.key} {one.found} {one.expected}" for one in found.problems), found.problems


def test_a_unit_that_nobody_states_is_asked(tmp_path: Path) -> None:
    found = gather(folder(tmp_path, with_file(CATCH.replace(', unit = "lb"', "")), TABLE))
    assert found.problems == ()
    assert {question.key for question in found.questions} == {"catch.full", "catch.empty"}


def test_what_a_run_by_bucket_lacks(tmp_path: Path) -> None:
    def problems(name: str, text: str) -> set[str]:
        return {one.key for one in gather(folder(tmp_path / name, text, TABLE)).problems}

    assert problems("warm", with_file().replace("water_temperature", "# w")) == {"water_temperature"}
    assert problems("file", RUN + CATCH) == {"file"}
    assert problems("back", with_file().replace('p_tap = "PG-FU"', 'p_tap = "PG-FU"\np_back = "P-BACK"')) == {
        "flow[0].p_back"
    }
    wet = CATCH + 'temperature = { column = "no", unit = "degC" }\n'
    assert problems("thermometer", with_file(wet)) == {"catch.thermometer"}


# -- from SI to E ---------------------------------------------------------------------------------------------------

AREA, STEPS = 4e-5, (3e5, 3e5, 8e5, 8e5)


def run(**changes: object) -> RunGiven:
    """Four catches of a known area without errors: static tap 0.2 m above the outlet, water at 17.5 degC."""
    rho = 998.687 * (1 + 4.7e-10 * 5.5e5)  # at 17.5 degC and 5.5 bar above ambient (from memory)
    dp = np.array(STEPS) + rho * hand_made.G * hand_made.RISE
    time = np.array([30.0, 20.0, 30.0, 20.0])
    mass = AREA * np.sqrt(2 * rho * dp) * time
    shown = mass * (1 - 1.2 / rho) / (1 - 1.2 / 8000)
    catches = Catches(
        mass=shown, duration=time, indicated=np.array(STEPS), temp=None, group=np.array([0, 0, 1, 1]),
        lines=np.arange(2, 6), scale="SCALE", thermometer=None, u_timing=0.1, u_timing_shared=0.05,
    )  # fmt: skip
    given = RunGiven(
        id="B01", kind="water", method="bucket", date=hand_made.DAY, trace=None,
        flows=(Flow(circuits=("ox",), lines=("BARE",), p_tap="PG"),),
        ambient=Stated(value=hand_made.AMBIENT), water_temperature=Stated(value=hand_made.WARM, u=0.3),
        catches=catches, origin=hand_made.ORIGIN,
    )  # fmt: skip
    return replace(given, **changes)  # type: ignore[arg-type]  # any field


def frozen(given: RunGiven) -> tuple[Context, object]:
    context = Context(campaign=hand_made.campaign(given), run=given)
    return context, prepare(context, given.flows[0])


def test_the_area_is_found_and_every_error_acts_as_it_should() -> None:
    given = run()
    context = Context(campaign=hand_made.campaign(given), run=given)
    prepared = prepare(context, given.flows[0])
    zero = {name: np.zeros(1) for name in prepared.frozen.names}
    ln_area = prepared.frozen.ln_area(zero)[:, 0]
    assert np.exp(ln_area) == pytest.approx([AREA] * 4, rel=2e-5)

    def moved(name: str) -> np.ndarray:  # type: ignore[type-arg]
        u = context.sources[name].u
        return prepared.frozen.ln_area({**zero, name: np.array([u])})[:, 0] - ln_area

    assert moved("B01.catch 2.timing") == pytest.approx([0, -math.log(1 + 0.1 / 20), 0, 0], abs=1e-12)
    assert moved("B01.timing") == pytest.approx([-math.log(1 + 0.05 / t) for t in (30, 20, 30, 20)])
    gauge = 1e-2 / 3**0.5 * 10e5  # one error of the instrument: the same at every catch
    assert moved("PG.class") == pytest.approx(
        [-0.5 * math.log1p(gauge / (p + 998.7 * hand_made.G * hand_made.RISE)) for p in STEPS], rel=1e-4
    )
    eye = moved("B01.PG.catch 3.reading")
    assert np.flatnonzero(eye).tolist() == [2]
    assert eye[2] == pytest.approx(-0.5 * 0.2e5 / 4 / 3**0.5 / 8e5, rel=0.02)
    assert moved("SCALE.gain") == pytest.approx([math.log1p(5e-4)] * 4, rel=1e-6)
    assert prepared.slices[0].noise == 0.0


def test_the_scale_step_acts_on_each_catch() -> None:
    given = run()
    campaign = hand_made.campaign(given)
    tools = dict(campaign.bench.instruments)
    tools["SCALE"] = replace(tools["SCALE"], division=0.1)
    campaign = replace(campaign, bench=replace(campaign.bench, instruments=tools))
    context = Context(campaign=campaign, run=given)
    prepare(context, given.flows[0])
    assert context.sources["B01.SCALE.catch 4.step"].u == pytest.approx(0.1 / math.sqrt(6))


def test_repeats_tell_what_nothing_states() -> None:
    rng = np.random.default_rng(5)
    group = np.repeat(np.arange(400), 3)
    ln_area = np.repeat(rng.normal(size=400), 3) + rng.normal(0, 0.01, size=1200)
    assert scatter_of_repeats(ln_area, group, explained=0.0) == pytest.approx(0.01, rel=0.05)
    assert scatter_of_repeats(ln_area, group, explained=0.006**2) == pytest.approx(0.008, rel=0.07)
    assert scatter_of_repeats(ln_area, group, explained=1.0) == 0.0
    assert scatter_of_repeats(ln_area[:3], np.arange(3), explained=0.0) == 0.0
    two = scatter_of_repeats(np.array([0.0, 0.01]), np.array([0, 0]), explained=0.0)
    assert two == pytest.approx(
        0.01 / math.sqrt(2) * 12.706 / 1.96, rel=1e-3
    )  # Student's t of one difference


def test_what_timing_and_reading_explain_is_not_counted_as_scatter() -> None:
    catches = run().catches
    assert catches is not None
    off = np.array([0.02, -0.02, 0.02, -0.02])
    _, prepared = frozen(run(catches=replace(catches, mass=catches.mass * np.exp(off))))
    timing = np.mean([(0.1 / t) ** 2 for t in (30, 20, 30, 20)])
    head = 998.9 * hand_made.G * hand_made.RISE
    reading = np.mean([(0.5 * 0.2e5 / 4 / 3**0.5 / (p + head)) ** 2 for p in STEPS])
    beyond = 2 * 0.02**2 - timing - reading
    student = 4.302653 / 1.959964  # two degrees of freedom, 97.5 %
    assert prepared.slices[0].noise == pytest.approx(student * math.sqrt(beyond), rel=1e-5)  # type: ignore[attr-defined]


def test_rows_share_set_up_and_day() -> None:
    given = run()
    campaign = hand_made.campaign(given)
    reduced = reduce(campaign)
    area = reduced.characteristics["ox"]
    rows = {row.source: row.contribution / area.area_eff.value for row in area.budget}
    assert rows["B01.ox.setup"] == pytest.approx(campaign.defaults.run_to_run, rel=1e-6)
    assert rows[f"{hand_made.DAY}.ox.day"] == pytest.approx(campaign.defaults.day_to_day, rel=1e-6)
    assert len(reduced.runs["B01"].readings) == 4


def test_no_drop_and_back_pressure_have_no_answer() -> None:
    catches = run().catches
    assert catches is not None
    low = run(catches=replace(catches, indicated=np.array([-1e4, 3e5, 8e5, 8e5])))
    with pytest.raises(NoAnswer, match="no drop"):
        frozen(low)
    back = Flow(circuits=("ox",), lines=("BARE",), p_tap="PG", p_back="P-BACK")
    with pytest.raises(NoAnswer, match="back-pressure"):
        frozen(run(flows=(back,)))


def test_a_thermometer_is_read_for_each_catch() -> None:
    catches = run().catches
    assert catches is not None
    warm = run(catches=replace(catches, temp=np.array([283.0, 293.0, 303.0, 333.0]), thermometer="TW-A"))
    _, prepared = frozen(warm)
    re = [one.re for one in prepared.slices]  # type: ignore[attr-defined]
    assert re[1] / re[0] == pytest.approx(
        1.3059 / 1.0016, rel=0.01
    )  # viscosities at 10 and 20 degC, IAPWS (from memory)
    assert "TW-A.class" in prepared.frozen.names  # type: ignore[attr-defined]


# -- bring ----------------------------------------------------------------------------------------------------------


def test_bring_drafts_a_table_of_catches(tmp_path: Path) -> None:
    home = folder(tmp_path / "c", RUN + CATCH)
    raw = tmp_path / "bucket day.csv"
    raw.write_text("no,bucket full [lb],bucket empty [lb],time [s],p,water [F]\n" + "\n".join(
        f"{k % 3 + 1},{45 + k / 7:.2f},4.4,{30 - k / 9:.2f},{72.5 + 10 * (k // 3):.1f},63" for k in range(9)
    ) + "\n", encoding="utf-8")  # fmt: skip
    brought = bring(home, raw, run="B02")
    assert brought.understanding.rows == 9
    assert brought.understanding.questions == ()
    text = brought.draft
    assert 'method = "bucket"' in text
    assert 'full = { column = "bucket full" }' in text
    assert 'empty = { column = "bucket empty" }' in text
    assert 'duration = { column = "time" }' in text
    assert 'pressure = { column = "p", unit = "?" }' in text
    assert 'number = "no"' in text
    assert "timing" in "".join(open_keys(text))


@pytest.mark.parametrize(
    "heading", ["time [s],p [bar],T [degC]", "time [s],mass [kg],p [bar]"], ids=["no mass", "a logged scale"]
)
def test_a_log_is_no_table_of_catches(heading: str, tmp_path: Path) -> None:
    raw = tmp_path / "log.csv"
    raw.write_text(
        heading + "\n" + "".join(f"{k / 10},{20 + k / 7:.3f},17.5\n" for k in range(50)), encoding="utf-8"
    )
    found = look(raw)
    assert found.time.column == "time"
    assert found.rows == 50


def test_rows_have_no_clock() -> None:
    answers = row_by_row(LoggerTable())
    assert (answers.time_column, answers.sample_rate) == ("none", 1.0)
