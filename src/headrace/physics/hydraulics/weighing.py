"""Mass of water from what a scale shows: air carries part of the water, less of the scale's steel weights."""

from headrace.physics.domain import Values, positive

RHO_AIR = 1.2
"""Conventional density of air [kg/m3] (OIML D 28)."""

RHO_WEIGHTS = 8000.0
"""Conventional density of calibration weights [kg/m3] (OIML D 28)."""


def weighed_mass(*, shown: Values, rho: Values, rho_air: Values = RHO_AIR) -> Values:
    """Mass of water that makes a scale, set with steel weights, show `shown`.

    Args:
        shown: Net reading of the scale; 0 or more. [kg]
        rho: Density of the water; above 0. [kg/m3]
        rho_air: Density of the air; above 0. [kg/m3]
    Returns:
        Mass. [kg]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        OIML D 28 (conventional mass); the same correction in ISO 4185 (from memory).

    >>> round(weighed_mass(shown=1.0, rho=998.2072), 8)
    1.00105342
    """
    rho_air = positive("rho_air", rho_air)
    return shown * (1 - rho_air / RHO_WEIGHTS) / (1 - rho_air / positive("rho", rho))
