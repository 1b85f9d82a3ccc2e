"""Quantities as text, at the edges: read into SI floats, and printed from them.

Text with units is spoken by files, doors, paper and serial only; below them every number is SI. Nothing here
loads numpy. Read: `parse_quantity`, `parse_accuracy`, `parse_doubt`, `unit_of_heading`. Print: `format_interval`,
`format_value`, `printed`. Gauge never becomes absolute here: that is `headrace.physics.pressure`. Refusals are
`QuantityError`s.
"""

from headrace.errors import QuantityError
from headrace.units.accuracy import Accuracy, Doubt, parse_accuracy, parse_doubt
from headrace.units.headings import Heading, unit_of_cell, unit_of_heading
from headrace.units.names import Kind, find_unit, from_si, read_unit, to_si
from headrace.units.printing import (
    Printed,
    format_interval,
    format_quantity,
    format_range,
    format_value,
    printed,
)
from headrace.units.quantity import Quantity, parse_one_of, parse_quantity
from headrace.units.table import DISPLAY, UNITS, Dimension, Unit

__all__ = [
    "DISPLAY",
    "UNITS",
    "Accuracy",
    "Dimension",
    "Doubt",
    "Heading",
    "Kind",
    "Printed",
    "Quantity",
    "QuantityError",
    "Unit",
    "find_unit",
    "format_interval",
    "format_quantity",
    "format_range",
    "format_value",
    "from_si",
    "parse_accuracy",
    "parse_doubt",
    "parse_one_of",
    "parse_quantity",
    "printed",
    "read_unit",
    "to_si",
    "unit_of_cell",
    "unit_of_heading",
]
