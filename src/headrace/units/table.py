"""The units headrace reads and prints: one table per dimension, with exact factors.

Refuses nothing; it is data. To add a unit, add its line to its dimension. Start at `UNITS` and `DISPLAY`.

Factors are exact fractions built from the definitions: the international inch, foot and pound (0.0254 m,
0.3048 m, 0.45359237 kg), standard gravity (9.80665 m/s2), the standard atmosphere (101 325 Pa), the US gallon
(231 cubic inches). Source: NIST SP 811 (2008), appendix B.8. Only the few units "at" a stated
temperature are rounded, because they rest on a measured density; they are marked.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType


class Dimension(StrEnum):
    """What a number measures. The value is the name that schemas and meters use."""

    PRESSURE = "pressure"
    LENGTH = "length"
    AREA = "area"
    VOLUME = "volume"
    MASS = "mass"
    MASS_FLOW = "mass_flow"
    VOLUME_FLOW = "volume_flow"
    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature_difference"
    INVERSE_TEMPERATURE = "inverse_temperature"
    DENSITY = "density"
    VISCOSITY = "viscosity"
    KINEMATIC_VISCOSITY = "kinematic_viscosity"
    SPECIFIC_HEAT = "specific_heat"
    MOLAR_MASS = "molar_mass"
    TIME = "time"
    FREQUENCY = "frequency"
    VELOCITY = "velocity"
    ACCELERATION = "acceleration"
    FORCE = "force"
    ENERGY = "energy"
    ANGLE = "angle"
    VOLTAGE = "voltage"
    CURRENT = "current"
    VOLTAGE_RATIO = "voltage_ratio"
    RATIO = "ratio"
    COUNT = "count"
    PER_LENGTH = "per_length"
    PER_VOLUME = "per_volume"


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: SI value = (number + zero) * factor.

    name: canonical spelling in plain letters ("kgf/cm2"); show: how it is printed ("kgf/cm²");
    factor: SI per unit, exact; zero: what is added first, in this unit (temperatures only);
    aliases: other spellings in common use, compared after `names.key`.
    """

    name: str
    dimension: Dimension
    factor: Fraction
    show: str
    zero: Fraction = Fraction(0)
    aliases: tuple[str, ...] = ()

    def to_si(self, number: Fraction) -> Fraction:
        """A number in this unit, in SI, exactly."""
        return (number + self.zero) * self.factor

    def from_si(self, value: Fraction) -> Fraction:
        """An SI value, in this unit, exactly."""
        return value / self.factor - self.zero


INCH = Fraction("0.0254")
FOOT = 12 * INCH
POUND = Fraction("0.45359237")
GRAVITY = Fraction("9.80665")
ATMOSPHERE = Fraction(101325)
MERCURY = Fraction("13595.1")  # conventional density, kg/m3
WATER = Fraction(1000)  # conventional density, kg/m3
LITRE = Fraction(1, 1000)
US_GALLON = 231 * INCH**3
IMPERIAL_GALLON = Fraction("4.54609") * LITRE
MINUTE, HOUR = 60, 3600
MILLI, MICRO = Fraction(1, 1000), Fraction(1, 1000000)
FAHRENHEIT = Fraction(5, 9)
ICE = Fraction("273.15")

_Row = tuple[str, Fraction | int, str] | tuple[str, Fraction | int, str, str]
"""Name, factor, printed form, then (optionally) other spellings with a blank between them."""

_PLAIN: dict[Dimension, tuple[_Row, ...]] = {
    Dimension.PRESSURE: (
        ("Pa", 1, "Pa", "N/m2 pascal"),
        ("hPa", 100, "hPa"),
        ("kPa", 1000, "kPa", "kN/m2"),
        ("MPa", 10**6, "MPa", "N/mm2 MN/m2"),
        ("mbar", 100, "mbar", "millibar"),
        ("bar", 10**5, "bar"),
        ("psi", POUND * GRAVITY / INCH**2, "psi", "lbf/in2"),
        ("kgf/cm2", GRAVITY * 10**4, "kgf/cm²", "at kp/cm2"),
        ("atm", ATMOSPHERE, "atm"),
        ("Torr", ATMOSPHERE / 760, "Torr"),
        ("mmHg", MERCURY * GRAVITY * MILLI, "mmHg"),
        ("inHg", MERCURY * GRAVITY * INCH, "inHg", "in.Hg"),
        ("inHg@32degF", Fraction("3386.38"), "inHg@32°F", "inHg(32degF)"),  # rounded; from memory
        ("mmH2O", WATER * GRAVITY * MILLI, "mmH2O", "mmWC mmWS"),
        ("mH2O", WATER * GRAVITY, "mH2O", "mWC mWS"),
        ("inH2O", WATER * GRAVITY * INCH, "inH2O", "inWC in.H2O in.WC"),
        ("inH2O@4degC", Fraction("249.082"), "inH2O@4°C", "inH2O(4degC)"),  # rounded; from memory
        ("inH2O@60degF", Fraction("248.84"), "inH2O@60°F", "inH2O(60degF)"),  # rounded; from memory
        ("ftH2O", WATER * GRAVITY * FOOT, "ftH2O", "ft.H2O"),
    ),
    Dimension.LENGTH: (
        ("m", 1, "m"),
        ("cm", Fraction(1, 100), "cm"),
        ("mm", MILLI, "mm"),
        ("um", MICRO, "µm", "micron"),
        ("in", INCH, "in", 'inch "'),
        ("thou", INCH / 1000, "thou"),
        ("ft", FOOT, "ft"),
    ),
    Dimension.AREA: (
        ("m2", 1, "m²"),
        ("cm2", Fraction(1, 10**4), "cm²"),
        ("mm2", MICRO, "mm²"),
        ("in2", INCH**2, "in²"),
        ("ft2", FOOT**2, "ft²"),
    ),
    Dimension.VOLUME: (
        ("m3", 1, "m³"),
        ("L", LITRE, "L", "dm3 litre liter"),
        ("mL", LITRE / 1000, "mL", "cm3 cc"),
        ("mm3", MICRO * MILLI, "mm³"),
        ("US gal", US_GALLON, "US gal", "gal(US)"),
        ("imp gal", IMPERIAL_GALLON, "imp gal", "gal(imp) UKgal"),
        ("ft3", FOOT**3, "ft³"),
        ("in3", INCH**3, "in³"),
    ),
    Dimension.MASS: (
        ("kg", 1, "kg"),
        ("g", MILLI, "g", "gram"),
        ("mg", MICRO, "mg"),
        ("t", 1000, "t", "tonne"),
        ("lb", POUND, "lb", "lbs lbm"),
    ),
    Dimension.MASS_FLOW: (
        ("kg/s", 1, "kg/s", "kg.s-1"),
        ("g/s", MILLI, "g/s"),
        ("kg/min", Fraction(1, MINUTE), "kg/min"),
        ("g/min", MILLI / MINUTE, "g/min"),
        ("kg/h", Fraction(1, HOUR), "kg/h", "kg/hr"),
        ("t/h", Fraction(1000, HOUR), "t/h"),
        ("lb/s", POUND, "lb/s", "lbm/s lb/sec"),
        ("lb/min", POUND / MINUTE, "lb/min", "lbm/min"),
        ("lb/h", POUND / HOUR, "lb/h", "lb/hr lbm/h"),
    ),
    Dimension.VOLUME_FLOW: (
        ("m3/s", 1, "m³/s"),
        ("m3/min", Fraction(1, MINUTE), "m³/min"),
        ("m3/h", Fraction(1, HOUR), "m³/h", "m3/hr"),
        ("L/s", LITRE, "L/s", "dm3/s"),
        ("L/min", LITRE / MINUTE, "L/min", "lpm dm3/min"),
        ("L/h", LITRE / HOUR, "L/h"),
        ("mL/s", MICRO, "mL/s", "cm3/s cc/s"),
        ("mL/min", MICRO / MINUTE, "mL/min", "cm3/min cc/min"),
        ("US gal/min", US_GALLON / MINUTE, "US gal/min", "USgpm gal(US)/min"),
        ("imp gal/min", IMPERIAL_GALLON / MINUTE, "imp gal/min", "gal(imp)/min"),
        ("ft3/min", FOOT**3 / MINUTE, "ft³/min", "cfm"),
        ("ft3/s", FOOT**3, "ft³/s"),
    ),
    Dimension.TEMPERATURE_DIFFERENCE: (
        ("K", 1, "K", "kelvin"),
        ("degC", 1, "°C", "C celsius"),
        ("degF", FAHRENHEIT, "°F", "F fahrenheit"),
        ("degR", FAHRENHEIT, "°R", "R rankine"),
    ),
    Dimension.INVERSE_TEMPERATURE: (
        ("1/K", 1, "1/K", "K-1 /K 1/degC m/(m.K)"),
        ("ppm/K", MICRO, "ppm/K", "ppm/degC um/(m.K) um/m/K"),
        ("%/K", Fraction(1, 100), "%/K", "%/degC"),
        ("1/degF", 1 / FAHRENHEIT, "1/°F", "/degF 1/degR"),
    ),
    Dimension.DENSITY: (
        ("kg/m3", 1, "kg/m³", "kg.m-3"),
        ("g/cm3", 1000, "g/cm³", "g/mL g/cc kg/L kg/dm3"),
        ("lb/ft3", POUND / FOOT**3, "lb/ft³", "lbm/ft3"),
    ),
    Dimension.VISCOSITY: (
        ("Pa.s", 1, "Pa·s", "Pas"),
        ("mPa.s", MILLI, "mPa·s", "mPas cP"),
        ("uPa.s", MICRO, "µPa·s", "uPas"),
        ("P", Fraction(1, 10), "P", "poise"),
    ),
    Dimension.KINEMATIC_VISCOSITY: (
        ("m2/s", 1, "m²/s"),
        ("mm2/s", MICRO, "mm²/s", "cSt"),
        ("St", Fraction(1, 10**4), "St", "cm2/s"),
    ),
    Dimension.SPECIFIC_HEAT: (
        ("J/(kg.K)", 1, "J/(kg·K)", "J/kg/K J/(kgK) J/kgK"),
        ("kJ/(kg.K)", 1000, "kJ/(kg·K)", "kJ/kg/K kJ/(kgK) kJ/kgK"),
    ),
    Dimension.MOLAR_MASS: (("kg/mol", 1, "kg/mol"), ("g/mol", MILLI, "g/mol", "kg/kmol")),
    Dimension.TIME: (
        ("s", 1, "s", "sec second seconds"),
        ("ms", MILLI, "ms", "msec"),
        ("us", MICRO, "µs", "usec"),
        ("min", MINUTE, "min"),
        ("h", HOUR, "h", "hr hour"),
    ),
    Dimension.FREQUENCY: (("Hz", 1, "Hz", "1/s s-1 S/s"), ("kHz", 1000, "kHz")),
    Dimension.VELOCITY: (
        ("m/s", 1, "m/s", "m.s-1"),
        ("mm/s", MILLI, "mm/s"),
        ("km/h", Fraction(1000, HOUR), "km/h"),
        ("ft/s", FOOT, "ft/s", "fps"),
        ("in/s", INCH, "in/s"),
    ),
    Dimension.ACCELERATION: (("m/s2", 1, "m/s²"), ("ft/s2", FOOT, "ft/s²")),
    Dimension.FORCE: (
        ("N", 1, "N", "newton"),
        ("kN", 1000, "kN"),
        ("kgf", GRAVITY, "kgf", "kp"),
        ("lbf", POUND * GRAVITY, "lbf"),
    ),
    Dimension.ENERGY: (("J", 1, "J", "joule"), ("kJ", 1000, "kJ"), ("MJ", 10**6, "MJ")),
    Dimension.ANGLE: (
        ("rad", 1, "rad"),
        ("mrad", MILLI, "mrad"),
        ("deg", Fraction(math.pi) / 180, "°", "degree degrees"),
    ),
    Dimension.VOLTAGE: (("V", 1, "V", "volt volts"), ("mV", MILLI, "mV"), ("uV", MICRO, "µV")),
    Dimension.CURRENT: (("A", 1, "A", "amp ampere"), ("mA", MILLI, "mA"), ("uA", MICRO, "µA")),
    Dimension.VOLTAGE_RATIO: (("V/V", 1, "V/V"), ("mV/V", MILLI, "mV/V"), ("uV/V", MICRO, "µV/V")),
    Dimension.RATIO: (
        ("1", 1, "", "-"),
        ("%", Fraction(1, 100), "%", "percent"),
        ("ppm", MICRO, "ppm"),
    ),
    Dimension.COUNT: (("1", 1, "", "-"), ("counts", 1, "counts", "count cts pulses")),
    Dimension.PER_LENGTH: (("1/m", 1, "1/m", "m-1"), ("1/mm", 1000, "1/mm")),
    Dimension.PER_VOLUME: (
        ("1/m3", 1, "1/m³", "pulses/m3"),
        ("1/L", 1000, "1/L", "pulses/L"),
        ("1/US gal", 1 / US_GALLON, "1/US gal", "pulses/USgal"),
    ),
}

TEMPERATURES: tuple[Unit, ...] = (
    Unit("K", Dimension.TEMPERATURE, Fraction(1), "K", aliases=("kelvin", "degK")),
    Unit("degC", Dimension.TEMPERATURE, Fraction(1), "°C", ICE, ("C", "celsius")),
    Unit("degF", Dimension.TEMPERATURE, FAHRENHEIT, "°F", Fraction("459.67"), ("F", "fahrenheit")),
    Unit("degR", Dimension.TEMPERATURE, FAHRENHEIT, "°R", aliases=("R", "rankine")),
)
"""Temperatures on their scales: the only units with a zero of their own."""


def _unit(dimension: Dimension, row: _Row) -> Unit:
    name, factor, show, *more = row
    aliases = tuple(" ".join(more).split())
    return Unit(name, dimension, Fraction(factor), show, aliases=aliases)


UNITS: Mapping[Dimension, tuple[Unit, ...]] = MappingProxyType(
    {dimension: tuple(_unit(dimension, row) for row in rows) for dimension, rows in _PLAIN.items()}
    | {Dimension.TEMPERATURE: TEMPERATURES}
)
"""Every unit, by dimension."""

BARE: frozenset[Dimension] = frozenset({Dimension.RATIO, Dimension.COUNT})
"""Dimensions whose numbers may stand without a unit."""

DISPLAY: Mapping[Dimension, str] = MappingProxyType(
    {
        Dimension.PRESSURE: "bar",
        Dimension.LENGTH: "mm",
        Dimension.AREA: "mm2",
        Dimension.VOLUME: "L",
        Dimension.MASS: "kg",
        Dimension.MASS_FLOW: "kg/s",
        Dimension.VOLUME_FLOW: "L/min",
        Dimension.TEMPERATURE: "degC",
        Dimension.TEMPERATURE_DIFFERENCE: "K",
        Dimension.INVERSE_TEMPERATURE: "ppm/K",
        Dimension.DENSITY: "kg/m3",
        Dimension.VISCOSITY: "mPa.s",
        Dimension.KINEMATIC_VISCOSITY: "mm2/s",
        Dimension.SPECIFIC_HEAT: "J/(kg.K)",
        Dimension.MOLAR_MASS: "g/mol",
        Dimension.TIME: "s",
        Dimension.FREQUENCY: "Hz",
        Dimension.VELOCITY: "m/s",
        Dimension.ACCELERATION: "m/s2",
        Dimension.FORCE: "kN",
        Dimension.ENERGY: "MJ",
        Dimension.ANGLE: "deg",
        Dimension.VOLTAGE: "V",
        Dimension.CURRENT: "mA",
        Dimension.VOLTAGE_RATIO: "mV/V",
        Dimension.RATIO: "1",
        Dimension.COUNT: "1",
        Dimension.PER_LENGTH: "1/m",
        Dimension.PER_VOLUME: "1/L",
    }
)
"""The unit in which a quantity is printed when nobody asks for another."""
