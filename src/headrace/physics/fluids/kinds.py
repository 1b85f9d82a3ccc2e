"""The few types that the rooms of `fluids` share."""

from collections.abc import Callable, Mapping
from typing import Any, TypeAlias

from headrace.physics.domain import Values

Law: TypeAlias = Callable[[Values, Values], Values]
"""Value of a property at (temp [K], p_abs [Pa])."""

Table: TypeAlias = Mapping[str, Any]
"""One property's part of a fluid's TOML file."""
