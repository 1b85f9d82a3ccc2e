"""Polynomials in temperature and pressure, in scaled variables; the work-horse of the property tables."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from headrace.physics.domain import Values
from headrace.physics.fluids.kinds import Law, Table


def horner(coefficients: Sequence[float] | npt.NDArray[np.float64], y: Values) -> Values:
    """Polynomial in y, lowest power first."""
    total: Values = float(coefficients[-1])
    for coefficient in reversed(coefficients[:-1]):
        total = total * y + float(coefficient)
    return total


def polynomial(table: Table, mass_fraction: float | None) -> Law:  # noqa: ARG001 - every form takes these two
    """Sum of coefficients[i][j] * x^i * y^j, with x = (T - mid)/half (or of 1/T) and y = (p - mid)/half.

    Keys: coefficients; temp_mid, temp_half [K] (or inv_temp_mid, inv_temp_half [1/K], for a polynomial in
    1/T); p_mid, p_half [Pa] (not needed when no row goes beyond its constant).
    """
    rows = [np.atleast_1d(np.asarray(row, dtype=float)) for row in table["coefficients"]]
    inverse = "inv_temp_mid" in table
    prefix = "inv_temp" if inverse else "temp"
    mid, half = float(table[f"{prefix}_mid"]), float(table[f"{prefix}_half"])
    flat = all(row.size == 1 for row in rows)
    p_mid, p_half = (0.0, 1.0) if flat else (float(table["p_mid"]), float(table["p_half"]))

    def law(temp: Values, p_abs: Values) -> Values:
        x = ((1.0 / temp if inverse else temp) - mid) / half
        y = (p_abs - p_mid) / p_half
        total: Values = horner(rows[-1], y) + 0.0 * y
        for row in reversed(rows[:-1]):
            total = total * x + horner(row, y)
        return total

    return law


def exp_polynomial(table: Table, mass_fraction: float | None) -> Law:
    """The exponential of `polynomial`: for what falls over decades, as viscosity and vapour pressure do."""
    inner = polynomial(table, mass_fraction)
    return lambda temp, p_abs: np.exp(inner(temp, p_abs))


def vogel(table: Table, mass_fraction: float | None) -> Law:  # noqa: ARG001 - as above
    """value_ref * exp(b/(T - c) - b/(temp_ref - c)): viscosity after Vogel, anchored at one measured point.

    Keys: value_ref, temp_ref [K], b [K], c [K].
    """
    ref, temp_ref, b, c = (float(table[key]) for key in ("value_ref", "temp_ref", "b", "c"))
    at_ref = b / (temp_ref - c)
    return lambda temp, p_abs: ref * np.exp(b / (temp - c) - at_ref) + 0.0 * p_abs
