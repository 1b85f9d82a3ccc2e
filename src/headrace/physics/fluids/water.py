"""Vapour pressure of water by the saturation-pressure equation of the industrial formulation.

Density and viscosity are tables made from the reference equations (`data/water.toml`); this equation is
short enough to be used as it stands.
"""

import numpy as np

from headrace.physics.domain import Values
from headrace.physics.fluids.kinds import Law, Table

N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)


def saturation_pressure(*, temp: Values) -> Values:
    """Vapour pressure of water.

    Args:
        temp: Temperature, 273.15 to 647.096. [K]
    Returns:
        Vapour pressure, absolute. [Pa]
    Source:
        IAPWS R7-97(2012), section 8.1, equation (30), coefficients of Table 34. Published points (its
        Table 35): tests/sources/.

    >>> round(float(saturation_pressure(temp=300.0)), 5)
    3536.58941
    """
    theta = temp + N[8] / (temp - N[9])
    a = theta**2 + N[0] * theta + N[1]
    b = N[2] * theta**2 + N[3] * theta + N[4]
    c = N[5] * theta**2 + N[6] * theta + N[7]
    value: Values = 1e6 * (2 * c / (-b + np.sqrt(b**2 - 4 * a * c))) ** 4
    return value


def saturation_form(table: Table, mass_fraction: float | None) -> Law:  # noqa: ARG001 - every form takes the same two
    """The equation above as a form; it has no keys of its own."""
    return lambda temp, p_abs: saturation_pressure(temp=temp) + 0.0 * p_abs
