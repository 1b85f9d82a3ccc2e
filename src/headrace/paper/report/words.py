"""SI numbers of a report as text: by what an instrument measures, by the kind of a total. Start at `measured`."""

from headrace.records.given import Stated
from headrace.units import format_value, printed

NONE = "–"

MEASURED: dict[str, tuple[str, str | None]] = {
    "drop": ("pressure", "drop"),
    "gauge": ("pressure", "gauge"),
    "abs": ("pressure", "abs"),
    "temperature": ("temperature", None),
    "mass": ("mass", None),
    "length": ("length", None),
    "time": ("time", None),
    "volume": ("volume", None),
    "volume_flow": ("volume_flow", None),
    "mass_flow": ("mass_flow", None),
}
"""Dimension and kind of pressure of what an instrument may measure."""


def measured(value: float | None, measures: str, *, digits: int = 4, least: float | None = None) -> str:
    """A value of an instrument, with unit and kind. least: what it can tell apart [SI], which rounds it."""
    if value is None:
        return NONE
    dimension, kind = MEASURED.get(measures, ("", None))
    if not dimension:
        return f"{value:.{digits}g} (SI)"
    return format_value(value, dimension=dimension, kind=kind, digits=digits, u=least).replace("-", "−")


def shifted(value: float | None, measures: str, *, least: float | None = None) -> str:
    """A difference of two values of an instrument: of pressures a drop, of temperatures in kelvin."""
    kinds = {"gauge": "drop", "abs": "drop"}
    return measured(value, kinds.get(measures, measures), digits=3, least=least)


def spanned(low: float, high: float, measures: str) -> str:
    """A range of an instrument."""
    dimension, kind = MEASURED.get(measures, ("", None))
    if not dimension:
        return f"{low:.4g} to {high:.4g} (SI)"
    first, last = (printed(end, dimension=dimension, kind=kind, u=(high - low) / 100) for end in (low, high))
    return f"{first.number} to {last}".replace("-", "−")


def temperature(stated: Stated | None) -> str:
    """A typed temperature as it was typed, else in degrees."""
    if stated is None:
        return NONE
    return stated.text or format_value(stated.value, dimension="temperature", digits=4)


def barometer(value: float) -> str:
    """Ambient pressure."""
    return format_value(value, dimension="pressure", kind="abs", unit="mbar", digits=4)


def small(value: float, digits: int = 2) -> str:
    """A number by itself to a few digits, with a power of ten where it is far from 1.

    >>> small(1.73e-05), small(0.003), small(8.3), small(5774.0)
    ('1.7 × 10⁻⁵', '0.003', '8.3', '5800')
    """
    text = f"{value:.{digits - 1}e}"
    number, _, power = text.partition("e")
    if -4 <= int(power) <= 4:
        decimals = max(digits - 1 - int(power), 0)
        told = f"{float(text):.{decimals}f}"
        return (told.rstrip("0").rstrip(".") if decimals else told).replace("-", "−")
    raised = str(int(power)).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{number.replace('-', '−')} × 10{raised}"
