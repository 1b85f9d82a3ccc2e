"""Which corrections of a certificate hold on a day, up and down, and what drifted from one to the next."""

import datetime
from dataclasses import replace
from math import sqrt

import numpy as np
import pytest

from headrace.bench.certificates import between, both_ways, change_of, change_per_year, reach
from headrace.bench.instruments import Zero, at_work, corrected
from headrace.records.given import Accuracy, Certificate, Instrument
from support.run_evidence import DAY

FIRST, LAST = datetime.date(2024, 1, 1), datetime.date(2026, 1, 1)
MIDDLE = datetime.date(2025, 1, 1)
TOP = 2e5
NONE = Accuracy(text="none")


def line(off: float) -> tuple[tuple[float, float], ...]:
    """Points of an instrument that shows so much too little everywhere."""
    return ((0.0, off), (TOP, TOP + off))


OLD = Certificate(id="C1", date=FIRST, accuracy=NONE, points=line(100.0), as_found=line(40.0))
NEW = Certificate(
    id="C2", date=LAST, accuracy=NONE, points=line(5.0), as_found=line(300.0), former="C1", valid_until=DAY
)
BOOKS = {"C1": OLD, "C2": NEW}
CELL = Instrument(tag="DP", measures="drop", low=0.0, high=TOP, accuracy=NONE, certificate="C2")


def off(on: datetime.date, **more: float) -> float:
    values = np.array([1e5])
    return float((corrected(NEW, values, certificates=BOOKS, on=on, **more) - values)[0])  # type: ignore[arg-type]  # by name


@pytest.mark.parametrize(
    ("on", "wanted"),
    [
        (LAST, 5.0),  # as left
        (datetime.date(2027, 1, 1), 5.0),
        (datetime.date(2025, 12, 31), 300.0 - 200 / 731),  # a day before: nearly as found
        (MIDDLE, 100.0 + 200 * 366 / 731),
        (FIRST, 100.0),  # as the former left it
        (datetime.date(2023, 1, 1), 40.0),  # before both: as the former found it
    ],
)
def test_a_run_lies_between_as_left_and_as_found(on: datetime.date, wanted: float) -> None:
    assert off(on) == pytest.approx(wanted, rel=1e-9)


def test_without_an_adjustment_the_points_are_as_found_too() -> None:
    books = {"C1": OLD, "C2": replace(NEW, as_found=())}
    values = np.array([1e5])
    at = corrected(books["C2"], values, certificates=books, on=MIDDLE)
    assert float(at[0]) - 1e5 == pytest.approx(100.0 - 95 * 366 / 731, rel=1e-9)
    alone = replace(NEW, former=None)
    assert float(corrected(alone, values, on=MIDDLE)[0]) - 1e5 == pytest.approx(300.0)


def test_a_way_up_and_a_way_down() -> None:
    loop = replace(OLD, points=line(20.0), falling=line(-60.0), as_found=())
    values = np.full(3, 1e5)
    at = corrected(loop, values, travel=np.array([-1.0, 0.0, 1.0]))
    np.testing.assert_allclose(at - values, [20.0, -20.0, -60.0])
    assert both_ways(loop, {})
    assert both_ways(replace(NEW, former="C1"), {"C1": loop})
    assert not both_ways(NEW, BOOKS)


def test_what_drifted_in_a_year() -> None:
    years = 731 / 365.25
    assert change_per_year(NEW, BOOKS) == pytest.approx(200 / years)
    tilted = replace(NEW, as_found=((0.0, 100.0), (TOP, TOP - 500.0)))
    assert change_per_year(tilted, {"C1": OLD, "C2": tilted}) == pytest.approx(-600 / years)
    assert change_per_year(OLD, BOOKS) is None
    assert change_per_year(replace(NEW, as_found=(), points=()), BOOKS) is None
    assert between(NEW, BOOKS, MIDDLE) == (OLD, NEW)
    assert between(NEW, BOOKS, LAST) is None
    assert reach(NEW, BOOKS, MIDDLE) == (0.0, TOP)
    assert reach(replace(NEW, points=()), BOOKS, LAST) is None


def drift_u(cell: Instrument, on: datetime.date) -> float:
    return float(drift_at(cell, on, np.array([TOP]), books=BOOKS, zero=None)[0])


def drift_at(
    cell: Instrument,
    on: datetime.date,
    values: np.ndarray,
    *,
    books: dict[str, Certificate],
    zero: Zero | None,
) -> np.ndarray:
    doubted, sources = at_work(
        cell, values, run="W", zero=zero, certificates=books, references={}, on=on,
    )  # fmt: skip
    u = {source.name: source.u for source in sources}.get("DP.drift", 0.0)
    return u * dict(doubted.terms).get("DP.drift", np.zeros_like(values))


def test_drift_between_two_certificates_and_after_the_last() -> None:
    """Between: somewhere between both, over sqrt 12. After: as it went before, over sqrt 3; as stated, where it is."""
    assert drift_u(CELL, MIDDLE) == pytest.approx(200 / sqrt(12))
    later = LAST + datetime.timedelta(days=365)
    assert drift_u(CELL, later) == pytest.approx(200 / 731 * 365 / sqrt(3))
    stated = replace(CELL, drift=1e-3)
    at_nought = Zero(before=0.0, after=0.0, u=0.0)
    found = drift_at(stated, later, np.array([TOP]), books=BOOKS, zero=at_nought)
    assert found[0] == pytest.approx(1e-3 * TOP * 365 / 365.25)
    assert drift_u(stated, MIDDLE) == pytest.approx(200 / sqrt(12))


def test_drift_that_was_drawn_spreads_as_is_claimed() -> None:
    """Known truth: the zero wandered somehow from one certificate to the next; a run in the middle."""
    dice = np.random.default_rng(4)
    step = dice.uniform(0, 1, 40_000)  # share of the drift that had happened by the day of the run
    seen = float(np.std(200 * (step - 366 / 731)))
    assert drift_u(CELL, MIDDLE) == pytest.approx(seen, rel=0.02)


TARED = Zero(before=0.0, after=0.0, u=0.0)
SHOWN = np.array([0.0, 0.25, 0.5, 0.75, 1.0]) * TOP
BOWED = np.array([40.0, 440.0, 1040.0, 890.0, 540.0])
FALL = np.linspace(0.5, 0.3, 9) * TOP


def bowed(changes: np.ndarray) -> dict[str, Certificate]:
    old = replace(OLD, points=tuple((x, x + 100.0) for x in SHOWN), as_found=())
    new = replace(NEW, as_found=tuple((x, x + 100.0 + c) for x, c in zip(SHOWN, changes, strict=True)))
    return {"C1": old, "C2": new}


def test_a_drift_of_which_a_zero_took_all_off_is_none() -> None:
    assert drift_at(CELL, MIDDLE, FALL, books=BOOKS, zero=TARED) == pytest.approx(0.0)


def test_a_drift_in_proportion_is_a_gain() -> None:
    found = drift_at(CELL, MIDDLE, FALL, books=bowed(0.005 * SHOWN), zero=TARED)
    np.testing.assert_allclose(found / FALL, 0.005 / sqrt(12), rtol=1e-9)


@pytest.mark.parametrize("zero", [TARED, Zero(before=0.1 * TOP, after=None, u=0.0), None])
def test_a_drift_that_was_seen_acts_where_it_was_seen(zero: Zero | None) -> None:
    """Known truth: so much of a bowed change had happened; its true values less their zero, against the correction."""
    books, dice, nought = bowed(BOWED), np.random.default_rng(7), 0.0 if zero is None else zero.before
    late = (MIDDLE - FIRST).days / (LAST - FIRST).days
    happened = dice.uniform(0, 1, 20_000)
    local = np.interp(FALL + nought, SHOWN, BOWED)
    if zero is not None:
        local = local - np.interp(nought, SHOWN, BOWED)
    errors = local[:, None] * (happened - late)
    found = drift_at(CELL, MIDDLE, FALL, books=books, zero=zero)
    np.testing.assert_allclose(np.abs(found), np.std(errors, axis=1), rtol=0.02)
    after = drift_at(CELL, LAST + datetime.timedelta(days=731), FALL, books=books, zero=zero)
    np.testing.assert_allclose(after, 2 * found, rtol=1e-9)  # over sqrt 3, for as long as between the two


def test_a_drift_up_and_down_is_taken_on_the_way_each_value_was_reached() -> None:
    books = bowed(BOWED)
    down = tuple((x, y + 30.0) for x, y in books["C2"].as_found)
    books["C2"] = replace(books["C2"], as_found_falling=down)
    change = change_of(books["C2"], books)
    assert change is not None
    ways = np.array([-1.0, 0.0, 1.0])
    np.testing.assert_allclose(change.at(np.full(3, 0.5 * TOP), ways), [1040.0, 1055.0, 1070.0])
    assert change.greatest == pytest.approx(1070.0)
