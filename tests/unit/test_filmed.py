"""Gauges read off film: a record out of typed frames, and what parallax, divisions and the film's clock do to E."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from headrace.files.check import check
from headrace.files.folder import read
from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.context import Context, Prepared
from headrace.jobs.reduce.methods import METHODS
from headrace.jobs.reduce.samples import at_zero
from headrace.records.filmed import Filmed
from headrace.records.given import RunGiven, TimeShift
from headrace.uncertainty.errors_map import Errors
from support import golden_folder
from support import hand_made as made

E, BAR = 2.31e-4, made.BAR
FRAMES = np.arange(0.0, 13.0, 0.25)
PARALLAX, CLOCK, STEP = 0.06 * BAR, 0.3, 0.05 * BAR
P = (6 * BAR, 3 * BAR)


def on_film(
    parallax: float = 0.0,
    clock: float = 0.0,
    *,
    zero: float = 0.0,
    rounded: bool = False,
    step: float | None = STEP,
) -> RunGiven:
    """A metered run whose tap gauge was read off film, so wrong; its cell was logged, and goes by the run's clock."""
    run = made.metered("W01", E, p=P)
    assert run.trace is not None
    tap = np.interp(FRAMES + clock, made.TIME, run.trace.channels["PM-OX"])
    tap = np.where(tap > 0, tap + parallax, tap) + zero
    if rounded:
        tap = STEP * np.round(tap / STEP)
    channels = {
        "DP-A": np.interp(FRAMES, made.TIME, run.trace.channels["DP-A"]),
        "PM-OX": tap,
    }
    trace = replace(
        run.trace,
        time=FRAMES,
        channels=channels,
        lines=np.zeros(FRAMES.size, dtype=np.int64),
        filmed={"PM-OX": Filmed(camera="CAM", u_parallax=PARALLAX / 3**0.5, step=step)},
        shifts={
            "PM-OX": (TimeShift(name="W01.CAM.clock", u=CLOCK / 3**0.5, dist="rectangular", origin="x"),)
        },
    )
    return replace(run, trace=trace)


def prepared(run: RunGiven) -> tuple[Prepared, Context]:
    context = Context(campaign=made.campaign(run), run=run)
    return METHODS[run.method](context, run.flows[0]), context


def mean_ln_area(run: RunGiven) -> float:
    one, _ = prepared(run)
    return float(np.mean(one.frozen.ln_area(at_zero(one.frozen.names))[:, 0]))


def claimed(run: RunGiven, name: str) -> float:
    """Standard uncertainty of the mean of ln E by one source."""
    one, context = prepared(run)
    zero = dict(at_zero(one.frozen.names))
    u = context.sources[name].u
    moved = one.frozen.ln_area(Errors(zero | {name: u}))[:, 0] - one.frozen.ln_area(Errors(zero))[:, 0]
    return abs(float(np.mean(moved)))


def test_a_film_without_fault_gives_the_area_back() -> None:
    assert np.exp(mean_ln_area(on_film())) == pytest.approx(E, rel=2e-3)


@pytest.mark.parametrize(
    ("name", "half"), [("CAM.PM-OX.parallax", ("parallax", PARALLAX)), ("W01.CAM.clock", ("clock", CLOCK))]
)
def test_what_parallax_and_clock_do_spreads_as_is_claimed(name: str, half: tuple[str, float]) -> None:
    """Known truth: the pointer seen from aside, or the film's clock off, by anything within limits."""
    dice = np.random.default_rng(3)
    what, limit = half
    found = [mean_ln_area(on_film(**{what: float(x)})) for x in dice.uniform(-limit, limit, 40)]
    u = claimed(on_film(), name)
    assert u > 0.003
    # of 40 draws from a rectangle the spread is known to about 8 %
    assert float(np.std(found)) == pytest.approx(u, rel=0.2)
    full = mean_ln_area(on_film(**{what: limit})) - mean_ln_area(on_film(**{what: -limit}))
    assert abs(full) / 2 / 3**0.5 == pytest.approx(u, rel=0.04)


def test_rounded_frames_spread_as_is_claimed() -> None:
    """Known truth: frames rounded to a step. A falling pointer averages; its zero, which rests, does not."""
    dice = np.random.default_rng(9)
    seen = [
        mean_ln_area(on_film(zero=float(x), rounded=True)) - mean_ln_area(on_film(zero=float(x)))
        for x in dice.uniform(-STEP, STEP, 60)
    ]
    u = claimed(on_film(), "W01.PM-OX.frames")
    assert u == pytest.approx(STEP / 12**0.5 / 4.5e5 / 2, rel=0.1)
    assert float(np.std(seen)) == pytest.approx(u, rel=0.2)


def test_parallax_is_the_set_up_s_and_not_the_run_s() -> None:
    one, context = prepared(on_film())
    assert context.sources["CAM.PM-OX.parallax"].scope == "instrument"
    assert context.sources["W01.CAM.clock"].scope == "run"
    assert "W01.PM-OX.frames" in one.frozen.names
    bare, _ = prepared(on_film(step=None))
    assert "W01.PM-OX.frames" not in bare.frozen.names


# --- in the folder

RUN = """kind = "water"
method = "{method}"
date = 2026-03-12
ambient = "1009 mbar(a) ± 1 mbar"
water_temperature = "17.2 degC ± 0.5 K"
[[flow]]
circuits = ["ox"]
lines = ["A"]
p_tap = "PG-TAP"
{total}
"""


def film(tag: str, values: np.ndarray, unit: str, more: str = "") -> str:
    rows = ", ".join(f'["{t:.2f} s", "{v:.4f} {unit}"]' for t, v in zip(FRAMES, values, strict=True))
    return f'[[filmed]]\ninstrument = "{tag}"\nvalues = [{rows}]\n{more}\n'


def folder(tmp_path: Path, text: str) -> Path:
    gone = dict.fromkeys(name for name in golden_folder.files() if name.startswith("runs/"))
    return golden_folder.write(tmp_path, {**gone, "runs/F01/run.toml": text})


def courses() -> tuple[np.ndarray, np.ndarray]:
    run = made.metered("W01", E, p=P)
    assert run.trace is not None
    return tuple(np.interp(FRAMES, made.TIME, run.trace.channels[tag]) for tag in ("PM-OX", "DP-A"))  # type: ignore[return-value]  # two


def metered(more: str = "") -> str:
    tap, drop = courses()
    films = film("PG-TAP", tap / BAR, "bar(g)", more) + film("DP-A", drop / 100, "mbar", 'camera = "CAM-2"')
    return RUN.format(method="metered", total="") + films


def test_a_run_without_a_logger_is_reduced_by_its_filmed_gauges(tmp_path: Path) -> None:
    campaign = read(folder(tmp_path, metered('parallax = "0.1 bar"\nclock = "0.2 s"\ndivision = "0.2 bar"')))
    trace = campaign.runs["F01"].trace
    assert trace is not None
    np.testing.assert_allclose(trace.time, FRAMES)
    assert trace.filmed["PG-TAP"] == Filmed(
        camera="film", u_parallax=pytest.approx(1e4 / 3**0.5), step=pytest.approx(1e4), between=0.25
    )
    assert trace.filmed["DP-A"].camera == "CAM-2"
    (shift,) = trace.shifts["PG-TAP"]
    assert (shift.name, shift.u) == ("F01.film.clock", pytest.approx(0.2 / 3**0.5))
    assert "DP-A" not in trace.shifts
    result = reduce(campaign)
    readings = [one for one in result.runs["F01"].readings if one.used]
    assert len(readings) >= 2
    names = {source.name for source in result.sources}
    assert {"film.PG-TAP.parallax", "F01.film.clock", "F01.PG-TAP.frames"} <= names
    assert "CAM-2.DP-A.parallax" not in names


def test_a_weighed_run_by_its_filmed_gauge(tmp_path: Path) -> None:
    tap, _ = courses()
    total = '[total]\nmass = "40 kg ± 0.05 kg"\n'
    text = RUN.format(method="weighed", total="") + film("PG-TAP", tap / BAR, "bar(g)") + total
    result = reduce(read(folder(tmp_path, text)))
    assert len(result.runs["F01"].readings) == 1


def test_films_go_to_the_clock_of_the_raw_file(tmp_path: Path) -> None:
    text = golden_folder.files()["runs/W07/run.toml"]
    rows = '[["2.0 s", "0 bar(g)"], ["4.0 s", "8 bar(g)"], ["8.0 s", "4 bar(g)"]]'
    golden_folder.write(
        tmp_path, {"runs/W07/run.toml": text + f'[[filmed]]\ninstrument = "PG-TAP"\nvalues = {rows}\n'}
    )
    trace = read(tmp_path).runs["W07"].trace
    assert trace is not None
    at = np.interp([1.0, 3.0, 5.0], trace.time, trace.channels["PG-TAP"])
    assert np.isnan(at[0])
    np.testing.assert_allclose(at[1:], [4e5, 7e5], rtol=1e-9)
    assert np.isnan(trace.channels["PG-TAP"][trace.time > 8.0]).all()


FAULTS = [
    ('instrument = "PG-TAP"', 'instrument = "PG-TOP"', "filmed[0].instrument", "an instrument"),
    ('"0.50 s"', '"0.25 s"', "filmed[0].values", "in the order of time"),
    ('"0.50 s"', '"0.50 bar"', "filmed[0].values[2][0]", "a unit of time"),
    ('bar(g)"', 'K"', "filmed[0].values[0][1]", "a unit of pressure"),
    ("PARALLAX", 'parallax = "2 %"', "filmed[0].parallax", ""),
    ("PARALLAX", 'division = "0 bar"', "filmed[0].division", "above 0"),
]


@pytest.mark.parametrize(("old", "new", "key", "words"), FAULTS)
def test_nonsense_is_refused(old: str, new: str, key: str, words: str, tmp_path: Path) -> None:
    text = metered("PARALLAX")
    assert old in text
    told = check(folder(tmp_path, text.replace(old, new, 1).replace("PARALLAX", "")))
    assert any(one.key == key and words in one.expected for one in told.problems), told.problems


def test_values_stand_in_one_place(tmp_path: Path) -> None:
    text = golden_folder.files()["runs/W07/run.toml"]
    rows = '[["2.0 s", "0 bar(g)"], ["4.0 s", "8 bar(g)"], ["8.0 s", "4 bar(g)"]]'
    twice = f'[[filmed]]\ninstrument = "PM-OX"\nvalues = {rows}\n'
    golden_folder.write(tmp_path, {"runs/W07/run.toml": text + twice})
    assert any(one.key == "filmed[0].values" for one in check(tmp_path).problems)
    nowhere = '[[filmed]]\ninstrument = "PG-TAP"\n'
    golden_folder.write(tmp_path, {"runs/W07/run.toml": text + nowhere})
    assert any(one.key == "filmed[0].values" for one in check(tmp_path).problems)
    marked = '[[filmed]]\ninstrument = "PM-OX"\nparallax = "0.1 bar"\n'
    golden_folder.write(tmp_path, {"runs/W07/run.toml": text + marked})
    trace = read(tmp_path).runs["W07"].trace
    assert trace is not None
    assert trace.filmed["PM-OX"].u_parallax == pytest.approx(1e4 / 3**0.5)
