"""Quantities as text: what is read, what is refused and with which words, and how it is printed."""

import math
import subprocess
import sys

import numpy as np
import pytest

from headrace.errors import HeadraceError, Problem, QuantityError
from headrace.units import (
    Heading,
    find_unit,
    format_interval,
    format_quantity,
    format_range,
    format_value,
    from_si,
    parse_accuracy,
    parse_doubt,
    parse_one_of,
    parse_quantity,
    printed,
    to_si,
    unit_of_cell,
    unit_of_heading,
)

ROOT3 = math.sqrt(3)


@pytest.mark.parametrize(
    ("text", "value", "kind", "u", "dist"),
    [
        ("31.5 bar(g)", 31.5e5, "gauge", None, None),
        ("1013 mbar(a)", 101300.0, "abs", None, None),
        ("12,40 bar(g)", 12.4e5, "gauge", None, None),
        ("0,234 bar(g)", 23400.0, "gauge", None, None),
        ("12.40 ± 0.05 bar(g)", 12.4e5, "gauge", 5000 / ROOT3, "rectangular"),
        ("12.40 +- 0.05 bar(g) k=2", 12.4e5, "gauge", 2500.0, "normal"),
        ("12.40 +/- 0.05 bar(g), k = 2", 12.4e5, "gauge", 2500.0, "normal"),
        ("12.40 bar(g) ± 5 kPa (k=2)", 12.4e5, "gauge", 2500.0, "normal"),
        ("(12.40 ± 0.05) bar(g)", 12.4e5, "gauge", 5000 / ROOT3, "rectangular"),
        ("12.40 bar(g) ± 0.5 %", 12.4e5, "gauge", 6200 / ROOT3, "rectangular"),
        ("12.40 ± 0.5 % bar(g), k=1", 12.4e5, "gauge", 6200.0, "normal"),
        ("100 Pa(g)", 100.0, "gauge", None, None),
        ("2 barg", 2e5, "gauge", None, None),
        ("2 bara", 2e5, "abs", None, None),
        ("2 Bar(G)", 2e5, "gauge", None, None),
        ("2 BAR abs", 2e5, "abs", None, None),
        ("2 kgf/cm²(g)", 196133.0, "gauge", None, None),
        ("2 at(g)", 196133.0, "gauge", None, None),
        ("1 psig", 6894.757293168, "gauge", None, None),
        ("1 PSIA", 6894.757293168, "abs", None, None),
        ("−0.5\u00a0bar(g)", -5e4, "gauge", None, None),
        ("1.2×10⁻³ MPa(a)", 1200.0, "abs", None, None),
        ("1.5E5 Pa(a)", 1.5e5, "abs", None, None),
    ],
)
def test_pressures(text: str, value: float, kind: str, u: float | None, dist: str | None) -> None:
    q = parse_quantity(text, dimension="pressure", kind="abs-or-gauge")
    assert q.value == pytest.approx(value, rel=1e-12)
    assert (q.kind, q.dist, q.text) == (kind, dist, text)
    assert q.u == (u if u is None else pytest.approx(u, rel=1e-12))


@pytest.mark.parametrize(
    ("text", "dimension", "value", "half"),
    [
        ("20 degC ± 0.5 K", "temperature", 293.15, 0.5),
        ("20.0 ± 0.5 °C", "temperature", 293.15, 0.5),
        ("68 deg F ± 0.9 °F", "temperature", 293.15, 0.5),
        ("527.67 °R", "temperature", 293.15, None),
        ("5 degC", "temperature_difference", 5.0, None),
        ("0.283 m2 ± 0.5 %", "area", 0.283, 0.001415),
        ("0.0613 m³ ± 0.3 L", "volume", 0.0613, 3e-4),
        ("1.00 ± 1 % (k=1)", "ratio", 1.0, 0.01),
        ("2.2 ± 1 % of value", "ratio", 2.2, 0.022),
        ("(65 ± 1) %", "ratio", 0.65, 0.01),
        ("2 %", "ratio", 0.02, None),
        (2.2, "ratio", 2.2, None),
        (150000, "count", 150000.0, None),
        ("2.0 ± 1.0 %/K", "inverse_temperature", 0.02, 0.01),
        ("16 µm/(m·K)", "inverse_temperature", 16e-6, None),
        ("1.002 mPa·s", "viscosity", 1.002e-3, None),
        ("2 mV/V", "voltage_ratio", 2e-3, None),
        ("16 mA", "current", 0.016, None),
        ("30°", "angle", math.pi / 6, None),
        ("12 L/MIN", "volume_flow", 2e-4, None),
        ("0 s ± 0.3 s", "time", 0.0, 0.3),
    ],
)
def test_other_dimensions(text: object, dimension: str, value: float, half: float | None) -> None:
    q = parse_quantity(text, dimension=dimension)
    assert q.value == pytest.approx(value, rel=1e-12)
    assert q.half == (half if half is None else pytest.approx(half, rel=1e-12))


@pytest.mark.parametrize("text", ["3.2 bar", "3.2 psid", "3.2 bar(d)"])
def test_a_drop_is_bare(text: str) -> None:
    assert parse_quantity(text, dimension="pressure", kind="drop").kind == "drop"


REFUSED = [
    ("31.5 bar", "abs-or-gauge", "does not say gauge or absolute", '"31.5 bar(g)" if it reads 0 in open air'),
    ("31.5 bar", "abs-or-gauge", "does not say gauge or absolute", '"31.5 bar(a)" if it reads the barometer'),
    ("31.5 bar", "abs", "does not say", '"31.5 bar(a)"'),
    ("31.5 bar(g)", "abs", "which says gauge", "ambient pressure"),
    ("31.5 bar(a)", "gauge", "which says absolute", "ambient pressure"),
    ("3.2 bar(g)", "drop", "which says gauge", '"3.2 bar" if it is a difference'),
    ("1,234 bar(g)", "gauge", "may be a decimal comma or a thousands separator", '"1.234" or "1234"'),
    ("-1,234 bar(g)", "gauge", "may be a decimal comma", '"-1.234" or "-1234"'),
    ("1.234,5 bar(g)", "gauge", "thousands separators or two decimal marks", '"1234.5"'),
    ("1,234.5 bar(g)", "gauge", "thousands separators or two decimal marks", '"1234.5"'),
    ("1 234 bar(g)", "gauge", "without thousands separators", '"1234 bar(g)"'),
    ("1'234 bar(g)", "gauge", "thousands separators", '"1234"'),
    ("1_000 bar(g)", "gauge", "thousands separators", '"1000"'),
    ("12.4(5) bar(g)", "gauge", "a doubt written with ±", '"12.4 ± ..."'),
    ("12.4 bar(g) ± 0.05 bar(g)", "gauge", "without a kind", '"12.4 bar(g) ± 0.05 bar"'),
    ("12.4 bar(g) ± 0.05", "gauge", "a unit after the doubt", '"± 0.05 bar" or "± 0.05 %"'),
    ("12.4 bar(g) ± 0.25 % FS", "gauge", "in % of the value", "% of span"),
    ("12.4 bar(g) ± -0.1 bar", "gauge", "without a sign", "12.4 ± 0.05"),
    ("12.4 bar(g) k=2", "gauge", "k only after a ±", "12.4 ± ... bar(g), k=2"),
    ("12.4 bar(g) ± 1 bar k=0", "gauge", "k above 0", '"k=2"'),
    ("12.4 bar(g) ± 1 bar k=1 k=2", "gauge", "one k", "k of the whole"),
    ("12 bar(g) ± 1 ± 2 bar", "gauge", "a number, then a unit", "12.4 bar"),
    ("nan bar(g)", "gauge", "a finite number", "12.4 bar(g)"),
    ("-inf bar(g)", "gauge", "a finite number", "12.4 bar(g)"),
    ("1e999 bar(g)", "gauge", "exponent within ±300", "larger or smaller unit"),
    ("-2 bar(a)", "abs", "an absolute pressure of 0 or more", '"-2 bar(g)"'),
    ("", "gauge", "nothing", '"12.4 bar(g)"'),
    ("?", "gauge", "a number, then a unit of pressure", "12.4 bar"),
    ("12.4", "gauge", "without a unit", "kgf/cm2"),
    ("12.4 ± 0.5 %", "gauge", "without a unit", "kgf/cm2"),
    ("3 brr(g)", "gauge", "no unit of pressure", "bar, if that is meant"),
    ("3 mpa(g)", "gauge", "no unit of pressure", 'MPa, if that is meant ("M" is mega'),
    ("3 MBAR(g)", "gauge", "no unit of pressure", "mbar, if that is meant"),
    ("3 ata", "abs", "no unit of pressure", "kgf/cm2(a) or atm(a)"),
    ("3 kg/cm2(g)", "gauge", "no unit of pressure", "kgf/cm2"),
    ("3 kg/s", "gauge", "no unit of pressure", '"kg/s" measures mass flow'),
]


@pytest.mark.parametrize(("text", "kind", "told", "try_"), REFUSED)
def test_refused_pressures_say_what_to_write(text: str, kind: str, told: str, try_: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, dimension="pressure", kind=kind)
    assert told in f"{caught.value.found}; {caught.value.expected}"
    assert try_ in caught.value.try_
    if text:
        assert text in caught.value.found


@pytest.mark.parametrize(
    ("text", "dimension", "told"),
    [
        ("65 ± 1 %", "ratio", '"(65 ± 1) %" or "65 ± 1 % of value"'),
        ("65 % ± 1 %", "ratio", '"(65 ± 1) %" or "65 % ± 1 % of value"'),
        ("-300 degC", "temperature", "above absolute zero"),
        ("20 degC ± 1 %", "temperature", "a difference of temperature after ±"),
        ("17 gpm", "volume_flow", "US gal/min or imp gal/min"),
        ("17 scfm", "volume_flow", "normal conditions"),
        ("1 MPa.s", "viscosity", "mPa.s, if that is meant"),
        ("12 MG", "mass", "mg, if that is meant"),
        ("5 ton", "mass", "t (1000 kg)"),
        (3, "length", "as text in quotes"),
        (True, "count", "as text in quotes"),
        (None, "mass", "as text in quotes"),
    ],
)
def test_other_refusals(text: object, dimension: str, told: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, dimension=dimension)
    assert told in str(caught.value)


def test_a_refusal_becomes_a_problem_with_its_place() -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity("31.5 bar", dimension="pressure", kind="gauge")
    problem = caught.value.as_problem(file="runs/W07/run.toml", line=12, key="hand.value")
    assert isinstance(problem, Problem)
    assert str(problem).startswith('runs/W07/run.toml, line 12, hand.value: found "31.5 bar"')
    assert isinstance(caught.value, HeadraceError)
    assert isinstance(caught.value, ValueError)


def test_asking_without_a_kind_is_our_fault() -> None:
    with pytest.raises(ValueError, match="read for a kind"):
        parse_quantity("3 bar(g)", dimension="pressure")
    with pytest.raises(ValueError, match="read for a kind"):
        parse_quantity("3 kg", dimension="mass", kind="drop")
    with pytest.raises(ValueError, match="warmth"):
        parse_quantity("3 kg", dimension="warmth")


def test_relative_doubt() -> None:
    assert parse_quantity("-2 mm ± 1 %, k=1", dimension="length").u_rel == pytest.approx(0.01)
    assert parse_quantity("2 mm", dimension="length").u_rel is None
    assert parse_quantity("2 mm ± 0 mm", dimension="length").u == 0


def test_one_of_several_dimensions() -> None:
    signal = ("current", "voltage", "voltage_ratio", "count")
    texts = ("4 mA", "0,5 V", "2 mV/V", "6400 counts")
    assert [parse_one_of(text, dimensions=signal).value for text in texts] == [0.004, 0.5, 0.002, 6400.0]
    with pytest.raises(QuantityError, match="measures pressure"):
        parse_one_of("2 bar", dimensions=signal)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("0.25 % FS", (0, 0.0025, 0, None)),
        ("±0.25 % F.S., k=2", (0, 0.0025, 0, 2)),
        ("0,25 % of span", (0, 0.0025, 0, None)),
        ("0.1 % of reading + 0.05 % FS", (0.001, 0.0005, 0, None)),
        ("±(0.1 % rdg + 0.05 % FS) (k=2)", (0.001, 0.0005, 0, 2)),
        ("0.1 % FS + 2 mbar", (0, 0.001, 200, None)),
        ("1e+2 Pa", (0, 0, 100, None)),
        ("class 1.6", (0, 0.016, 0, None)),
    ],
)
def test_accuracies(text: str, parts: tuple[float, float, float, float | None]) -> None:
    a = parse_accuracy(text, dimension="pressure")
    assert (a.of_reading, a.of_span, a.absolute, a.k) == parts


def test_accuracy_at_a_reading() -> None:
    a = parse_accuracy("0.1 % of reading + 0.05 % FS + 30 Pa", dimension="pressure")
    assert a.half(reading=-2e5, span=4e6) == pytest.approx(200 + 2000 + 30)
    assert a.u(reading=2e5, span=4e6) == pytest.approx(2230 / ROOT3)
    assert a.dist == "rectangular"
    np.testing.assert_allclose(a.half(reading=np.array([0.0, 1e6]), span=4e6), [2030.0, 3030.0])
    normal = parse_accuracy("0.1 % FS, k=2", dimension="pressure")
    assert (normal.u(reading=0.0, span=4e6), normal.dist) == (2000.0, "normal")
    assert parse_accuracy("0.3 degF", dimension="temperature").absolute == pytest.approx(0.3 / 1.8)


@pytest.mark.parametrize(
    ("text", "dimension", "told"),
    [
        ("0.25 %", "pressure", 'does not say of what.*"0.25 % FS" or "0.25 % of reading"'),
        ("0.05 bar(g)", "pressure", 'without .g. or .a.*"0.05 bar"'),
        ("0.1 % FS + 0.1 % FS", "pressure", "same part twice"),
        ("-0.1 % FS", "pressure", "expected an accuracy"),
        ("good", "pressure", "expected an accuracy"),
        ("0.2 % of reading", "temperature", "depends on its zero"),
        ("0.2 kg", "pressure", "measures mass"),
    ],
)
def test_refused_accuracies(text: str, dimension: str, told: str) -> None:
    with pytest.raises(QuantityError, match=told):
        parse_accuracy(text, dimension=dimension)


def test_doubts_of_their_own() -> None:
    assert parse_doubt("0.5 % (k=1)").u == 0.005
    step = parse_doubt("3 %", k=1)
    assert (step.u, step.relative, step.dist) == (0.03, True, "normal")
    assert parse_doubt("3 %, k=2", k=1).u == 0.015
    assert parse_doubt("0 %").u == 0
    setting = parse_doubt("± 0.2 bar", dimension="pressure")
    assert (setting.half, setting.relative, setting.dist) == (20000.0, False, "rectangular")
    assert parse_doubt("0.9 degF", dimension="temperature").half == pytest.approx(0.5)
    with pytest.raises(QuantityError, match="0 or more"):
        parse_doubt("-1 %")
    with pytest.raises(QuantityError, match="difference of temperature"):
        parse_doubt("1 %", dimension="temperature")


def test_columns_convert_and_keep_gaps() -> None:
    unit = find_unit("degF", "temperature")[0]
    kelvin = to_si(np.array([68.0, np.nan]), unit)
    np.testing.assert_allclose(kelvin, [293.15, np.nan], rtol=1e-14)
    np.testing.assert_allclose(from_si(kelvin, unit), [68.0, np.nan], rtol=1e-13)


@pytest.mark.parametrize(
    ("value", "expanded", "options", "text"),
    [
        (3.1415e6, 5.0e4, {"dimension": "pressure", "kind": "gauge"}, "31.4 ±0.5 bar(g)"),
        (3.1415e6, 1.6e4, {"dimension": "pressure", "kind": "abs"}, "31.42 ±0.16 bar(a)"),
        (3.1415e6, 2.96e4, {"dimension": "pressure", "kind": "drop"}, "31.42 ±0.30 bar"),
        (3.1415e6, 9.6e4, {"dimension": "pressure", "kind": "drop"}, "31.4 ±1.0 bar"),
        (293.15, 0.5, {"dimension": "temperature"}, "20.0 ±0.5 °C"),
        (293.15, 0.5, {"dimension": "temperature", "unit": "degF"}, "68.0 ±0.9 °F"),
        (0.65, 0.01, {"dimension": "ratio", "unit": "%"}, "(65.0 ±1.0) %"),
        (6.79e-5, 1e-6, {"dimension": "area"}, "67.9 ±1.0 mm²"),
        (12345.0, 2300.0, {"dimension": "mass"}, "12300 ±2300 kg"),
        (-0.0001, 4.0, {"dimension": "mass"}, "0 ±4 kg"),
        (-1.26, 0.4, {"dimension": "mass"}, "-1.3 ±0.4 kg"),
        (1.5, 0.0, {"dimension": "mass"}, "1.5 ±0 kg"),
    ],
)
def test_printed_by_the_doubt(value: float, expanded: float, options: dict[str, str], text: str) -> None:
    assert format_interval(value, expanded, **options) == text


def test_a_value_of_nothing_is_rounded_by_its_doubt_like_any_other() -> None:
    assert format_interval(0.0, 2.3e4, dimension="pressure", kind="gauge") == "0.00 ±0.23 bar(g)"


def test_a_doubt_is_rounded_as_the_gum_rounds_its_examples() -> None:
    """GUM 7.2.6 (from memory): 10.47 goes up to 11, 28.05 down to 28."""
    shown = [printed(100.0, dimension="mass", expanded=x).doubt for x in (10.47, 28.05, 0.349)]
    assert shown == ["11", "28", "0.4"]


def test_printing_without_a_doubt_in_pieces_and_as_range() -> None:
    assert format_value(3.14159e6, dimension="pressure", kind="gauge") == "31.42 bar(g)"
    assert format_value(3.14159e6, u=5e4, dimension="pressure", kind="gauge") == "31.4 bar(g)"
    pieces = printed(3.1415e6, dimension="pressure", kind="gauge", expanded=5e4)
    assert (pieces.number, pieces.doubt, pieces.unit) == ("31.4", "0.5", "bar(g)")
    assert format_range(3.0913e6, 3.1872e6, dimension="pressure", kind="gauge") == "30.9 to 31.9 bar(g)"
    q = parse_quantity("12,40 ± 0,05 psig", dimension="pressure", kind="gauge")
    assert format_quantity(q) == "12.40 ±0.05 psi(g)"
    assert format_interval(math.pi / 6, 0.01, dimension="angle") == "(30.0 ±0.6)°"


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"value": math.nan, "dimension": "mass"}, "no number"),
        ({"value": 1.0, "dimension": "mass", "u": math.nan}, "a doubt of nan"),
        ({"value": 1.0, "dimension": "mass", "expanded": -1.0}, "a doubt of -1"),
        ({"value": 1.0, "dimension": "mass", "unit": "bar"}, "no unit of mass"),
        ({"value": 1.0, "dimension": "pressure"}, "with a kind"),
        ({"value": 1.0, "dimension": "mass", "kind": "abs"}, "with a kind"),
    ],
)
def test_what_cannot_be_printed_is_our_fault(options: dict[str, object], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        printed(**options)


@pytest.mark.parametrize(
    ("text", "name", "unit", "kind"),
    [
        ("p_ox (psi)", "p_ox", "psi", None),
        ("[bar]", "", "bar", None),
        ("P1_barg", "P1", "bar", "gauge"),
        ("p1 [bar(a)]", "p1", "bar", "abs"),
        ("p1 bar(g)", "p1", "bar", "gauge"),
        ("dp psid", "dp", "psi", "drop"),
        ("p / Bar", "p", "bar", None),
        ("Deg F", "", "degF", None),
        ("T (°C)", "T", "degC", None),
        ("T1 (F)", "T1", "degF", None),
        ("TIME (S)", "TIME", "s", None),
        ("time_s", "time", "s", None),
        ("Flow [L/min] (avg)", "Flow (avg)", "L/min", None),
        ("mass (g)", "mass", "g", None),
        ("U (mV/V)", "U", "mV/V", None),
        ("ADC_counts", "ADC", "counts", None),
    ],
)
def test_units_in_headings(text: str, name: str, unit: str, kind: str | None) -> None:
    heading = unit_of_heading(text)
    assert (heading.name, heading.unit, heading.kind) == (name, unit, kind)
    assert heading.dimension is not None


@pytest.mark.parametrize(
    "text",
    ["T_in", "p_min", "p_s", "line (A)", "Tank (F)", "p1 (g)", "P1 (MBAR)", "(©)", "T (\ufffdC)", "V", "flow (gpm)",
     "water (blue)", "p (bar) x (mm)", "valve", "", "Date/time", "in"],
)  # fmt: skip
def test_headings_are_never_guessed(text: str) -> None:
    assert unit_of_heading(text) == Heading(text, None, None, None)


def test_cells_of_a_unit_line() -> None:
    cells = [unit_of_cell(text) for text in ("s", "[V]", "bar(a)", "name", "mpa", "")]
    assert [cell and cell.unit for cell in cells] == ["s", "V", "bar", None, None, None]


def test_importing_units_loads_no_heavy_library() -> None:
    code = (
        "import sys, headrace.units; print(sorted({'numpy', 'scipy', 'pydantic', 'pint'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
