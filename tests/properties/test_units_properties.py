"""What must hold for every quantity, not only for examples."""

import math
from fractions import Fraction

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from headrace.errors import QuantityError
from headrace.units import (
    UNITS,
    Dimension,
    Unit,
    format_interval,
    format_range,
    format_value,
    from_si,
    parse_accuracy,
    parse_doubt,
    parse_quantity,
    to_si,
    unit_of_heading,
)
from headrace.units.names import fold, key
from headrace.units.table import DISPLAY

ALL = [unit for units in UNITS.values() for unit in units]
units = st.sampled_from(ALL)
numbers = st.floats(min_value=1e-6, max_value=1e9) | st.floats(min_value=-1e9, max_value=-1e-6)
shares = st.floats(min_value=1e-9, max_value=0.5)
kinds = st.sampled_from(["abs", "gauge", "drop"])
MARKS = {"abs": "(a)", "gauge": "(g)", "drop": ""}


def kind_of(dimension: str, kind: str) -> str | None:
    return kind if dimension == "pressure" else None


@given(units, numbers)
def test_there_and_back_within_four_ulp(unit: Unit, number: float) -> None:
    back = from_si(to_si(number, unit), unit)
    scale = max(abs(number), abs(number + float(unit.zero)), float(unit.zero))
    assert abs(back - number) <= 4 * math.ulp(scale)


@given(units, numbers, kinds)
def test_text_is_read_to_the_nearest_float(unit: Unit, number: float, kind: str) -> None:
    wanted = kind_of(unit.dimension, kind)
    exact = (Fraction(repr(number)) + unit.zero) * unit.factor
    if exact < 0 and (unit.dimension is Dimension.TEMPERATURE or wanted == "abs"):
        with pytest.raises(QuantityError, match=r"above absolute zero|of 0 or more"):
            parse_quantity(
                f"{number!r} {unit.name}{MARKS[kind] if wanted else ''}",
                dimension=unit.dimension,
                kind=wanted,
            )
        return
    text = f"{number!r} {unit.name}{MARKS[kind] if wanted else ''}"
    assert parse_quantity(text, dimension=unit.dimension, kind=wanted).value == float(exact)


@given(st.sampled_from([u for u in ALL if u.name == u.name.strip()]), kinds)
def test_printed_spelling_of_every_unit_is_read_as_it(unit: Unit, kind: str) -> None:
    wanted = kind_of(unit.dimension, kind)
    text = f"500 {unit.show}{MARKS[kind] if wanted else ''}"
    q = parse_quantity(text, dimension=unit.dimension, kind=wanted)
    assert (q.unit, q.kind) == (unit.name, wanted)


@given(st.integers(0, 99999), st.integers(0, 9999), st.integers(1, 4), st.sampled_from(["bar", "psi", "MPa"]))
def test_decimal_comma_is_the_decimal_point(whole: int, part: int, places: int, unit: str) -> None:
    digits = f"{part % 10**places:0{places}d}"
    comma, point = (f"{whole}{mark}{digits} {unit}" for mark in ",.")
    if places == 3 and 0 < whole < 1000:
        with pytest.raises(QuantityError, match="thousands separator"):
            parse_quantity(comma, dimension="pressure", kind="drop")
        return
    read = [parse_quantity(text, dimension="pressure", kind="drop").value for text in (comma, point)]
    assert read[0] == read[1]


@given(units, st.floats(1e-3, 1e6), shares, kinds)
@example(next(u for u in ALL if u.name == "%"), 65.0, 0.0153, "drop")
@example(next(u for u in ALL if u.name == "bar"), 9.96, 0.001, "gauge")
@example(next(u for u in ALL if u.name == "bar"), 31.4, 0.0296, "gauge")
def test_print_then_read_keeps_value_and_doubt(unit: Unit, number: float, share: float, kind: str) -> None:
    wanted = kind_of(unit.dimension, kind)
    value = float((Fraction(number) + unit.zero) * unit.factor)
    half = number * share * float(unit.factor)
    text = format_interval(value, half, dimension=unit.dimension, kind=wanted, unit=unit.name)
    q = parse_quantity(text, dimension=unit.dimension, kind=wanted)
    assert q.half is not None
    # never less than the doubt by more than the stated 4 %, nor wider than rounding up can make it
    assert 0.96 - 1e-9 <= q.half / half <= 1.34
    digit = last_digit(text) * float(unit.factor)
    assert abs(q.value - value) <= 0.5 * digit + 1e-9 * half + 4 * math.ulp(value)
    assert abs(q.value - value) <= half
    assert q.unit == unit.name


def last_digit(text: str) -> float:
    number, doubt = text.lstrip("(").split(" ±")
    if "." in number:
        return 10.0 ** -len(number.partition(".")[2])
    return 10.0 ** (len(doubt.split()[0].rstrip(")°")) - 1)  # of whole numbers, the doubt's first digit


@given(st.floats(1e2, 1e8), shares)
def test_a_value_is_printed_to_the_place_of_its_doubt(value: float, share: float) -> None:
    alone = format_value(value, u=value * share, dimension="pressure", kind="drop", unit="Pa")
    both = format_interval(value, value * share, dimension="pressure", kind="drop", unit="Pa")
    assert both.startswith(alone.removesuffix(" Pa") + " ±")


@given(st.floats(1e3, 1e7), st.floats(1.0, 1e6))
def test_a_printed_range_holds_the_interval(low: float, width: float) -> None:
    text = format_range(low, low + width, dimension="pressure", kind="drop", unit="bar")
    ends = [Fraction(word) * 100000 for word in text.removesuffix(" bar").split(" to ")]
    assert ends[0] <= Fraction(low)
    assert Fraction(low + width) <= ends[1]
    assert float(ends[1] - ends[0]) <= width * 2


MARKED = st.text(alphabet="0123456789.,+-±%()eEkK= mMbargpsiPC°²/'_x×10\u00a0", max_size=25)


@given(MARKED | st.text(max_size=20), st.sampled_from(list(Dimension)))
@example("1.234,5 ± 1 %", Dimension.RATIO)
@example("٣ bar", Dimension.PRESSURE)
@example("1e301 m", Dimension.LENGTH)
def test_any_text_is_read_or_refused_with_words(text: str, dimension: Dimension) -> None:
    kind = "abs-or-gauge" if dimension is Dimension.PRESSURE else None
    readers = (
        lambda: parse_quantity(text, dimension=dimension, kind=kind).value,
        lambda: parse_accuracy(text, dimension=dimension).absolute,
        lambda: parse_doubt(text, dimension=dimension).half,
    )
    words: list[tuple[str, str, str]] = []
    for read in readers:
        try:
            assert math.isfinite(read())
        except QuantityError as error:
            words.append((error.found, error.expected, error.try_))
    assert all(all(told) for told in words)
    assert unit_of_heading(text) is not None


def test_no_spelling_names_two_units_of_a_dimension() -> None:
    for units_of in UNITS.values():
        seen: dict[str, str] = {}
        for unit in units_of:
            for name in {fold(key(n)) for n in (unit.name, unit.show, *unit.aliases) if n}:
                assert seen.setdefault(name, unit.name) == unit.name


def test_every_dimension_has_units_and_one_to_print_in() -> None:
    assert set(UNITS) == set(Dimension) == set(DISPLAY)
    for dimension, units_of in UNITS.items():
        assert DISPLAY[dimension] in {unit.name for unit in units_of}
        assert all(unit.dimension is dimension and unit.factor > 0 for unit in units_of)


PINT = {
    "Pa": "pascal", "hPa": "hPa", "kPa": "kPa", "MPa": "MPa", "mbar": "mbar", "bar": "bar", "psi": "psi",
    "kgf/cm2": "kgf/cm**2", "atm": "atm", "Torr": "torr", "in": "inch", "ft": "foot", "in2": "inch**2",
    "ft2": "foot**2", "mm2": "mm**2", "L": "liter", "US gal": "US_liquid_gallon", "imp gal": "imperial_gallon",
    "lb": "pound", "lb/h": "pound/hour", "L/min": "liter/minute", "m3/h": "m**3/hour", "ft3/s": "foot**3/s",
    "g/cm3": "g/cm**3", "lb/ft3": "pound/foot**3", "mPa.s": "mPa*s", "P": "poise", "mm2/s": "mm**2/s",
    "St": "stokes", "min": "minute", "h": "hour", "km/h": "km/hour", "ft/s": "foot/s", "kgf": "kgf",
    "lbf": "lbf", "deg": "degree", "mV": "mV", "uA": "uA", "kN": "kN", "t/h": "metric_ton/hour",
    "imp gal/min": "imperial_gallon/minute", "thou": "thou", "kJ/(kg.K)": "kJ/kg/K", "g/mol": "g/mol",
}  # fmt: skip


REGISTRY = pint.UnitRegistry(cache_folder=None)


@pytest.mark.parametrize("name", PINT)
def test_factors_agree_with_an_independent_library(name: str) -> None:
    """pint computes the expected value here."""
    expected = REGISTRY.Quantity(1.0, PINT[name]).to_base_units()
    unit = next(u for u in ALL if u.name == name)
    assert float(unit.factor) == pytest.approx(float(expected.magnitude), rel=1e-12, abs=0)
