"""Drawings: same bytes again, no pyplot, everything that is drawn is in the table too."""

import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace

import matplotlib as mpl
import pytest

import invented_sheet as invented
from headrace.figures import budget, characteristic, diagnosis, run, style
from headrace.records.readings import Cause, ModelSeen

AREA = 6.63e-5


def readings() -> list:
    runs = invented.reduced().runs
    return [reading for name in ("W01", "W02", "W03") for reading in runs[name].readings]


def drawn(**named: float) -> style.Drawing:
    return characteristic.draw(
        invented.characteristic("ox", AREA, ("W01", "W02")), readings(), side="ox", **named
    )


def words(svg: str) -> list[str]:
    """Every text of a drawing."""
    return [element.text or "" for element in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


@pytest.mark.parametrize(
    "make",
    [
        drawn,
        lambda: run.draw(invented.reduced().runs["W01"], "ox", side="ox"),
        lambda: budget.draw(invented.lines(*invented.SHARES, u=1.0), name="O/F"),
    ],
    ids=["characteristic", "run", "budget"],
)
def test_the_same_drawing_gives_the_same_bytes(make: object) -> None:
    first = make()
    with mpl.rc_context(
        {"lines.linewidth": 9.0, "font.size": 30.0, "svg.fonttype": "path", "axes.grid": True}
    ):
        assert make() == first
    assert not re.search(r"20\d\d-\d\d-\d\dT", first.svg)
    assert len(first.rows[0]) == len(first.head)


def test_settings_are_put_back() -> None:
    before = dict(mpl.rcParams)
    drawn()
    assert dict(mpl.rcParams) == before


def test_neither_importing_nor_drawing_loads_pyplot() -> None:
    code = (
        "import sys; from headrace.figures import budget, characteristic, run, style\n"
        "assert 'matplotlib' not in sys.modules\n"
        "from headrace.records.answers import BudgetLine\n"
        "line = BudgetLine(source='a', contribution=1.0, share=1.0, scope='run', group='water', origin='')\n"
        "budget.draw([line], name='x')\n"
        "assert 'matplotlib' in sys.modules and 'matplotlib.pyplot' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_the_characteristic_names_axes_units_and_runs() -> None:
    text = words(drawn().svg)
    for wanted in ("Effective area", "E", "(mm²)", "Reynolds number", "Re", "(10³)", "W01", "W02"):
        assert wanted in text


def test_marks_stand_where_the_readings_are() -> None:
    """The band and fit are drawn at the value: read back from the artists, not from our own scaling."""
    item = invented.characteristic("ox", AREA, ("W01", "W02"))
    figure = style.blank(width=100, height=60)
    axes = style.frame(figure, left=10, bottom=10, right=10, top=10)
    characteristic._curve(axes, item, "#000000")
    band = axes.collections[0].get_paths()[0].vertices
    assert band[:, 1].min() == pytest.approx(item.area_eff.low * 1e6)
    assert band[:, 1].max() == pytest.approx(item.area_eff.high * 1e6)
    assert (band[:, 0].min(), band[:, 0].max()) == pytest.approx(item.re_span)
    assert axes.lines[0].get_ydata() == pytest.approx(66.3)


def test_a_carried_slope_passes_through_its_reference_and_widens_away_from_it() -> None:
    item = replace(
        invented.characteristic("ox", AREA, ("W01",)), model="slope", slope_seen=0.05, u_slope=0.02
    )
    axes = style.frame(style.blank(width=100, height=60), left=10, bottom=10, right=10, top=10)
    characteristic._curve(axes, item, "#000000")
    re_drawn, fit = axes.lines[0].get_data()
    assert fit[-1] / fit[0] == pytest.approx((re_drawn[-1] / re_drawn[0]) ** 0.05)
    band = axes.collections[0].get_paths()[0].vertices
    at_end = band[abs(band[:, 0] - re_drawn[-1]) < 1e-6 * re_drawn[-1], 1]
    assert (at_end.max() - at_end.min()) > 1.05 * (item.area_eff.high - item.area_eff.low) * 1e6


def test_readings_of_a_run_left_out_are_crosses_and_say_so() -> None:
    drawing = drawn()
    verdicts = {(row[0], row[-1]) for row in drawing.rows}
    assert ("W03", "no: run left out") in verdicts
    assert ("W01", "no: K below 1.5") in verdicts
    assert not any(run_id == "W03" and verdict == "yes" for run_id, verdict in verdicts)
    assert len(drawing.rows) == len(readings())
    assert style.LEFT_OUT in drawing.svg


def far_off(factor: float) -> list:
    """The readings, those of the run left out moved far away in area."""
    return [
        replace(item, used=True, area_eff=item.area_eff * factor) if item.run == "W03" else item
        for item in readings()
    ]


@pytest.mark.parametrize("factor", [1.3, 0.7])
def test_a_run_left_out_far_away_does_not_flatten_the_readings_that_count(factor: float) -> None:
    item = invented.characteristic("ox", AREA, ("W01", "W02"))
    moved = [replace(one, used=one.used and one.run != "W03") for one in far_off(factor)]
    scale = characteristic._scale(item, moved, None)
    counted = [one.area_eff * 1e6 for one in moved if one.used] + [
        item.area_eff.low * 1e6,
        item.area_eff.high * 1e6,
    ]
    span = max(counted) - min(counted)
    assert scale.area[0] <= min(counted)
    assert max(counted) <= scale.area[1]
    assert scale.area[1] - scale.area[0] < 1.2 * span
    gone = [one for one in moved if one.run == "W03"]
    assert not any(scale.inside(one) for one in gone)
    edge = scale.area[1] if factor > 1 else scale.area[0]
    assert [scale.at(one) for one in gone] == [pytest.approx((one.re, edge)) for one in gone]
    text = words(characteristic.draw(item, far_off(factor), side="ox").svg)
    assert any("W03" in one and one.endswith("left out, off scale") for one in text)


@pytest.mark.parametrize(
    ("re_hot", "wanted"), [(5.318e5, "engine 532"), (4.09e3, "engine 4.1"), (3e4, "engine 30"), (None, None)]
)
def test_the_engines_reynolds_number_is_named_where_it_lies_or_at_the_edge(
    re_hot: float | None, wanted: str | None
) -> None:
    item = invented.characteristic("ox", AREA, ("W01", "W02"))
    text = words(characteristic.draw(item, readings(), side="ox", re_hot=re_hot).svg)
    assert [one for one in text if one.startswith("engine")] == ([wanted] if wanted else [])
    scale = characteristic._scale(item, readings(), re_hot)
    assert scale.re[1] < 6e4  # an engine far beyond the tested span does not squeeze it


def test_supply_lines_are_told_apart_by_their_marks() -> None:
    assert drawn().caption == "ox: constant E, 95 % band; line A filled, B open; × left out."


def test_ticks_of_a_small_drawing_are_few_plain_numbers() -> None:
    text = words(drawn(width=68.0, height=22.0).svg)
    numbers = [one for one in text if re.fullmatch(r"[\d.]+", one)]
    assert 4 <= len(numbers) <= 8
    assert not any("e" in one or "·" in one for one in numbers)


def test_the_table_holds_units_and_doubts() -> None:
    assert drawn().rows[1][4] == f"{readings()[1].area_eff * 1e6:.1f} ±0.6 mm²"  # 2 u = 0.53, rounded up


def test_a_run_shows_its_window_and_slices() -> None:
    result = invented.reduced().runs["W01"]
    drawing = run.draw(result, "ox", side="ox")
    assert "1.50 s to 9.50 s, found" in drawing.caption
    assert drawing.rows[0][0] == "1.50 s"
    assert drawing.rows[-1][1] == "9.50 s"
    assert drawing.rows[0][2].endswith(" bar")
    text = words(drawing.svg)
    for wanted in ("Drop", "(bar)", "Flow", "(kg/s)", "Area", "(mm²)", "Time", "(s)", "window"):
        assert wanted in text
    with pytest.raises(KeyError):
        run.draw(result, "fuel", side="fuel")


def test_a_budget_draws_the_largest_first_and_tables_all() -> None:
    drawing = budget.draw(invented.lines(*invented.SHARES, u=1.0), name="O/F", most=3)
    assert len(drawing.rows) == len(invented.SHARES)
    assert drawing.rows[0][:2] == ("ox.step", "46 %")
    text = words(drawing.svg)
    assert "6 smaller, together" in text
    assert "22 %" in text
    assert budget.draw((), name="O/F").rows == ()


def test_labels_are_kept_apart_inside_their_bounds() -> None:
    placed = style.apart([1.0, 1.1, 1.2, 9.9], 1.0, 0.0, 10.0)
    assert placed == pytest.approx([0.1, 1.1, 2.1, 9.9])
    low = style.apart([0.0, 0.0], 1.0, 0.0, 10.0)
    assert low == pytest.approx([0.0, 1.0])


@pytest.mark.parametrize(("low", "high"), [(1.0e4, 1.3e4), (1.7e4, 3.6e4), (8e3, 9e4), (1e3, 1e6)])
def test_ticks_are_round_few_and_inside(low: float, high: float) -> None:
    ticks = characteristic._round_numbers(low, high)
    assert 2 <= len(ticks) <= 5
    assert all(low <= tick <= high for tick in ticks)


# --- diagnosis: the same readings against Re, K and 1/dp


def diagnosed(**named: object) -> style.Drawing:
    item = replace(invented.characteristic("ox", AREA, ("W01", "W02")), **named)
    return diagnosis.draw(item, readings(), side="ox")


def test_the_diagnosis_shows_every_reading_three_times_and_once_in_its_table() -> None:
    drawing = diagnosed()
    text = words(drawing.svg)
    for wanted in ("Reynolds", "Re", "(10³)", "Cavitation", "K", "Inverse drop", "1/Δp", "(1/bar)", "(mm²)"):
        assert wanted in text
    assert len(drawing.rows) == len(readings())
    assert all(len(row) == len(drawing.head) for row in drawing.rows)
    assert drawing == diagnosed()
    assert [row[4] for row in drawing.rows] == [f"{1e5 / one.dp:.3g} 1/bar" for one in readings()]


@pytest.mark.parametrize(
    ("cause", "curve"),
    [
        (Cause(verdict="flat", why="flat", among=(), scores={}), 0),
        (Cause(verdict="not separated", why="?", among=("reynolds",), scores={}, slope=0.1), 0),
        (Cause(verdict="reynolds", why="Re", among=("reynolds",), scores={}, slope=0.1), 1),
        (Cause(verdict="zero error", why="zero", among=("zero error",), scores={}, zero=2e3), 1),
        (Cause(verdict="cavitation", why="K", among=("cavitation",), scores={}, onset=1.8), 1),
    ],
    ids=lambda value: value.verdict if isinstance(value, Cause) else "",
)
def test_the_curve_of_a_cause_stands_in_its_own_panel_only(cause: Cause, curve: int) -> None:
    item = replace(invented.characteristic("ox", AREA, ("W01", "W02")), cause=cause)
    drawn_in = [
        panel.field for panel in diagnosis.PANELS if diagnosis._cause(panel, item, readings()) is not None
    ]
    assert drawn_in == {"reynolds": ["re"], "zero error": ["per_dp"], "cavitation": ["cav"]}.get(
        cause.verdict, []
    )
    assert len(drawn_in) == curve
    assert f"cause: {cause.why}" in diagnosed(cause=cause).caption


def test_the_curve_of_a_zero_error_is_its_formula() -> None:
    cause = Cause(verdict="zero error", why="", among=(), scores={}, zero=4e3)
    item = replace(invented.characteristic("ox", AREA, ("W01", "W02")), cause=cause)
    curve = diagnosis._cause(diagnosis.PANELS[2], item, readings())
    assert curve is not None
    per_bar, area = curve
    true = (1 - 0.04 * per_bar[-1]) / (1 - 0.04 * per_bar[0])
    assert (area[-1] / area[0]) ** 2 == pytest.approx(true)


def test_a_rival_is_drawn_dashed_and_named() -> None:
    models = (
        ModelSeen(name="constant", coefficient=0.0, u=0.0, re_ref=2.4e4, score=0.0, rival=False),
        ModelSeen(name="slope", coefficient=0.02, u=0.012, re_ref=2.4e4, score=0.5, rival=True),
    )
    item = replace(invented.characteristic("ox", AREA, ("W01", "W02")), models=models, choice="undecided")
    axes = style.frame(style.blank(width=100, height=60), left=10, bottom=10, right=10, top=10)
    characteristic._curve(axes, item, "#000000")
    re_drawn, other = axes.lines[1].get_data()
    assert other[-1] / other[0] == pytest.approx((re_drawn[-1] / re_drawn[0]) ** 0.02)
    assert "log slope, not told apart" in characteristic.draw(item, readings(), side="ox").caption
