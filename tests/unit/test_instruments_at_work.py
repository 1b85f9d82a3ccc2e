"""What a certificate, a class, a year of drift and a zero make of a channel: sizes and shapes in closed form."""

import datetime
from dataclasses import replace

import numpy as np
import pytest

from headrace.bench.instruments import MID_RANGE, Zero, at_work, corrected, reading_by_eye
from headrace.bench.meters.factor import coefficient_sources
from headrace.records.given import Accuracy, Certificate, Instrument, MeterGiven, Reference
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.source import Source

DAY = datetime.date(2026, 3, 12)
NONE: dict[str, Certificate] = {}
ZERO = Zero(before=0.0, after=0.0, u=40.0)
REF = {"REF": Reference(id="REF", of_reading=4e-4, origin="invented tester")}
CELL = Instrument(
    tag="DP", measures="drop", low=0.0, high=2e5, accuracy=Accuracy(of_span=1e-3 / 3**0.5, text="0.1 % FS")
)
BOOK = Certificate(
    id="C", date=DAY, accuracy=Accuracy(of_reading=1e-3, of_span=5e-4, dist="normal"), reference="REF"
)


def work(
    instrument: Instrument,
    values: list[float],
    zero: Zero | None = ZERO,
    book: Certificate | None = None,
    on: datetime.date = DAY,
) -> tuple[Doubted, dict[str, Source]]:
    if book is not None:
        instrument = replace(instrument, certificate="C")
    doubted, sources = at_work(
        instrument,
        np.array(values),
        run="W01",
        zero=zero,
        certificates={} if book is None else {"C": book},
        references=REF,
        on=on,
    )
    return doubted, {source.name: source for source in sources}


def effect(made: tuple[Doubted, dict[str, Source]], name: str) -> np.ndarray:
    """What one standard uncertainty of a source adds, value by value."""
    doubted, sources = made
    return dict(doubted.terms)[name] * sources[name].u


def total(made: tuple[Doubted, dict[str, Source]], *names: str) -> np.ndarray:
    return np.sqrt(sum(effect(made, name) ** 2 for name in names))


def test_a_class_is_whole_at_mid_range_and_at_full_range() -> None:
    made = work(CELL, [1e5, 2e5])
    u_class = 1e-3 / 3**0.5 * 2e5
    np.testing.assert_allclose(total(made, "DP.gain", "DP.linearity"), u_class, rtol=1e-12)
    np.testing.assert_allclose(effect(made, "DP.gain"), [u_class / 2, u_class], rtol=1e-12)
    np.testing.assert_allclose(effect(made, "DP.linearity"), [MID_RANGE * u_class, 0], atol=1e-9)
    assert {source.dist for name, source in made[1].items() if name != "W01.DP.tare"} == {"rectangular"}


def test_linearity_is_a_bow_over_the_range() -> None:
    made = work(CELL, [0.5e5, 0.0])
    peak = MID_RANGE * 1e-3 / 3**0.5 * 2e5
    np.testing.assert_allclose(effect(made, "DP.linearity"), [0.75 * peak, 0], rtol=1e-12)


def test_a_class_of_reading_and_of_span_join_in_the_gain() -> None:
    made = work(replace(CELL, accuracy=Accuracy(of_reading=3e-3, of_span=4e-3)), [1e5])
    assert effect(made, "DP.gain")[0] == pytest.approx(5e-3 * 1e5, rel=1e-12)


def test_an_absolute_promise_is_a_part_of_the_span() -> None:
    made = work(replace(CELL, accuracy=Accuracy(absolute=300.0)), [2e5])
    assert effect(made, "DP.gain")[0] == pytest.approx(300.0, rel=1e-12)
    both = work(replace(CELL, accuracy=Accuracy(absolute=300.0, of_span=2e-3)), [2e5], zero=None)
    assert effect(both, "DP.class")[0] == pytest.approx(500.0, rel=1e-12)


def test_the_span_counts_and_not_the_upper_end() -> None:
    two_sided = replace(CELL, low=-2e5, high=2e5)
    made = work(two_sided, [2e5, -2e5])
    u_class = 1e-3 / 3**0.5 * 4e5
    np.testing.assert_allclose(np.abs(effect(made, "DP.gain")), u_class, rtol=1e-12)


def test_the_tare_is_the_run_s_own_and_the_same_at_every_reading() -> None:
    made = work(CELL, [1e4, 2e5])
    np.testing.assert_allclose(effect(made, "W01.DP.tare"), 40.0, rtol=1e-12)
    assert made[1]["W01.DP.tare"].scope == "run"
    assert made[1]["DP.gain"].scope == "instrument"


def test_a_certificate_s_total_is_its_own_part_and_the_reference_s() -> None:
    made = work(CELL, [2e5], book=BOOK)
    assert made[1]["REF.gain"].u == 4e-4
    assert made[1]["REF.gain"].scope == "shared"
    assert total(made, "DP.gain", "REF.gain")[0] == pytest.approx(1e-3 * 2e5, rel=1e-12)
    assert effect(made, "DP.gain")[0] == pytest.approx((1e-6 - 16e-8) ** 0.5 * 2e5, rel=1e-12)


def test_the_span_part_of_a_certificate_is_the_peak_of_linearity() -> None:
    made = work(CELL, [1e5, 2e5], book=BOOK)
    np.testing.assert_allclose(effect(made, "DP.linearity"), [5e-4 * 2e5, 0], atol=1e-9)
    added = work(
        CELL, [1e5], book=replace(BOOK, accuracy=Accuracy(of_reading=1e-3, of_span=3e-4, absolute=80.0))
    )
    assert effect(added, "DP.linearity")[0] == pytest.approx(100.0, rel=1e-12)


@pytest.mark.parametrize("reference", [None, "REF"])
def test_a_certificate_of_span_only_loses_nothing_near_the_top(reference: str | None) -> None:
    book = replace(BOOK, accuracy=Accuracy(of_span=1e-3, dist="normal"), reference=reference)
    made = work(replace(CELL, drift=0.0), [1e5, 2e5], book=book)
    names = ["DP.gain", "DP.linearity"] + (["REF.gain"] if reference else [])
    np.testing.assert_allclose(total(made, *names), 1e-3 * 2e5, rtol=1e-12)


def test_a_reference_that_claims_more_than_the_certificate_leaves_no_own_part() -> None:
    made = work(CELL, [2e5], book=replace(BOOK, accuracy=Accuracy(of_reading=3e-4, dist="normal")))
    assert "DP.gain" not in made[1]
    assert made[1]["REF.gain"].u == 4e-4


def test_one_reference_is_one_source_on_two_instruments_and_a_meter() -> None:
    first = work(CELL, [1e5], book=BOOK)[1]
    second = work(replace(CELL, tag="PM", measures="gauge"), [1e5], book=BOOK)[1]
    pairs, meter = coefficient_sources(
        "FV.c",
        MeterGiven(id="FV", kind="venturi-calibrated", values={}, instruments={}, certificate="C"),
        u_own=0.1,
        dist="rectangular",
        origin="not used",
        certificates={"C": replace(BOOK, accuracy=Accuracy(of_reading=1e-3, dist="normal"))},
        references=REF,
    )
    assert first["REF.gain"] == second["REF.gain"] == {s.name: s for s in meter}["REF.gain"]
    assert dict(pairs) == {"FV.c": 1.0, "REF.gain": 1.0}
    own = next(source for source in meter if source.name == "FV.c")
    assert own.u == pytest.approx((1e-6 - 16e-8) ** 0.5, rel=1e-12)
    assert own.dist == "normal"


def test_a_meter_s_certificate_loses_no_part_of_its_promise() -> None:
    book = Certificate(id="C", date=DAY, accuracy=Accuracy(of_reading=1e-3, of_span=2e-3, absolute=3e-3))
    given = MeterGiven(id="FV", kind="mass-flow", values={}, instruments={}, certificate="C")
    _, (own,) = coefficient_sources(
        "FV.c", given, u_own=0.1, dist="normal", origin="-", certificates={"C": book}, references={}
    )
    assert own.u == pytest.approx(6e-3, rel=1e-12)


def test_drift_grows_with_the_years_since_the_certificate() -> None:
    cell = replace(CELL, drift=2e-4)
    made = work(cell, [1e5, 2e5], book=BOOK, on=DAY + datetime.timedelta(days=731))
    np.testing.assert_allclose(
        effect(made, "DP.drift"), 2e-4 * 731 / 365.25 * np.array([1e5, 2e5]), rtol=1e-12
    )
    assert made[1]["DP.drift"].dist == "rectangular"
    assert "DP.drift" not in work(cell, [1e5], book=BOOK)[1]
    earlier = work(
        cell, [1e5, 2e5], book=BOOK, on=DAY - datetime.timedelta(days=731)
    )  # calibrated afterwards
    np.testing.assert_allclose(effect(earlier, "DP.drift"), effect(made, "DP.drift"), rtol=1e-12)


def test_drift_that_is_not_stated_is_the_class_once_more() -> None:
    made = work(replace(CELL, accuracy=Accuracy(of_span=3e-4, of_reading=4e-4)), [2e5], book=BOOK)
    assert effect(made, "DP.drift")[0] == pytest.approx(5e-4 * 2e5, rel=1e-12)
    assert "not stated" in made[1]["DP.drift"].origin


def test_a_class_without_a_certificate_needs_no_drift() -> None:
    assert "DP.drift" not in work(replace(CELL, drift=1e-3), [1e5], on=DAY + datetime.timedelta(days=900))[1]


def test_without_a_zero_the_class_is_one_offset_for_all_readings() -> None:
    made = work(CELL, [1e4, 2e5], zero=None)
    np.testing.assert_allclose(effect(made, "DP.class"), 1e-3 / 3**0.5 * 2e5, rtol=1e-12)
    assert set(made[1]) == {"DP.class"}
    reading = work(replace(CELL, accuracy=Accuracy(of_reading=2e-3)), [1e5], zero=None)
    assert effect(reading, "DP.gain")[0] == pytest.approx(200.0, rel=1e-12)


def test_without_a_zero_drift_joins_the_offset() -> None:
    book = replace(BOOK, accuracy=Accuracy(of_span=3e-4, of_reading=1e-3, dist="normal"))
    made = work(replace(CELL, drift=4e-4), [1e5], None, book, DAY + datetime.timedelta(days=365))
    assert effect(made, "DP.class")[0] == pytest.approx(np.hypot(3e-4, 4e-4 * 365 / 365.25) * 2e5, rel=1e-9)
    assert total(made, "DP.gain", "REF.gain")[0] == pytest.approx(1e-3 * 1e5, rel=1e-12)


def test_a_thermometer_has_an_offset_and_nothing_else() -> None:
    thermometer = Instrument(
        tag="TW",
        measures="temperature",
        low=273.15,
        high=323.15,
        accuracy=Accuracy(absolute=0.2, of_span=3e-3),
    )
    made = work(thermometer, [290.0], zero=ZERO)
    assert set(made[1]) == {"TW.class"}
    assert effect(made, "TW.class")[0] == pytest.approx(0.25, rel=1e-12)
    held = work(
        replace(thermometer, drift=0.0), [290.0], None, replace(BOOK, accuracy=Accuracy(absolute=0.1))
    )
    assert set(held[1]) == {"TW.class"}
    assert effect(held, "TW.class")[0] == pytest.approx(0.1, rel=1e-12)


def test_corrections_are_added_along_straight_lines_between_the_points() -> None:
    book = replace(BOOK, points=((2e5, 2.0006e5), (0.0, 30.0), (1e5, 0.9998e5)))
    np.testing.assert_allclose(
        corrected(book, np.array([0.0, 0.5e5, 1e5, 1.75e5, 2e5])),
        [30.0, 0.5e5 + 5.0, 0.9998e5, 1.75e5 + 40.0, 2.0006e5],
        rtol=1e-12,
    )
    np.testing.assert_allclose(
        corrected(book, np.array([2.2e5, -1e3])), [2.2e5 + 60.0, -1e3 + 30.0], rtol=1e-12
    )
    values = np.array([1.0, 2.0])
    assert corrected(None, values) is values
    assert corrected(BOOK, values) is values


def test_a_dial_is_read_to_a_quarter_of_a_division() -> None:
    dial = replace(CELL, division=2000.0)
    own = reading_by_eye(dial, run="W01", moment="start", division=None)
    typed = reading_by_eye(dial, run="W01", moment="end", division=1000.0)
    assert own is not None
    assert typed is not None
    assert own.u == pytest.approx(500.0 / 3**0.5, rel=1e-12)
    assert typed.u == pytest.approx(250.0 / 3**0.5, rel=1e-12)
    assert (own.name, typed.name) == ("W01.DP.start.reading", "W01.DP.end.reading")
    assert reading_by_eye(CELL, run="W01", moment="start", division=None) is None
