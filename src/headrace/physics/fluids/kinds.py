"""The few types that the rooms of `fluids` share."""

from collections.abc import Callable, Mapping
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

Num: TypeAlias = float | npt.NDArray[np.float64]
"""A number, or an array of draws."""

Law: TypeAlias = Callable[[Num, Num], Num]
"""Value of a property at (temp [K], p_abs [Pa])."""

Table: TypeAlias = Mapping[str, Any]
"""One property's part of a fluid's TOML file."""
