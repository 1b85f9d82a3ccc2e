"""Pressure of standing liquid: heights of taps, legs of impulse lines, air where water should be.

Heights count upwards. Start at `head_dp`.
"""

from headrace.physics.domain import Values, finite, not_negative, positive

G_STANDARD = 9.80665
"""Standard acceleration of free fall. [m/s2] Local values differ by up to 0.3 %."""


def head_dp(*, rho: Values, height: Values, g: Values = G_STANDARD) -> Values:
    """Pressure difference between bottom and top of a standing column.

    Args:
        rho: Density; above 0. [kg/m3]
        height: Top minus bottom; negative when the named end lies lower. [m]
        g: Acceleration of free fall; above 0. [m/s2]
    Returns:
        Pressure at the bottom minus pressure at the top. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Hydrostatics.

    >>> round(head_dp(rho=998.2072, height=10.0), 2)
    97890.69
    """
    return positive("rho", rho) * positive("g", g) * finite("height", height)


def tap_correction(*, rho: Values, z_sensor: Values, z_tap: Values, g: Values = G_STANDARD) -> Values:
    """What to add to a reading so that it holds at the tap; impulse leg full of liquid of density rho.

    Args:
        rho: Density of the liquid in the leg; above 0. [kg/m3]
        z_sensor: Height of the sensor. [m]
        z_tap: Height of the tap on the same datum. [m]
        g: Acceleration of free fall; above 0. [m/s2]
    Returns:
        Correction: negative when the sensor hangs below its tap and so reads high. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Hydrostatics.

    >>> round(tap_correction(rho=998.2072, z_sensor=-1.5, z_tap=0.0), 1)
    -14683.6
    """
    return head_dp(rho=rho, height=finite("z_sensor", z_sensor) - finite("z_tap", z_tap), g=g)


def air_leg_error(*, rho: Values, rho_gas: Values, height: Values, g: Values = G_STANDARD) -> Values:
    """How much a differential pressure is off when gas stands in a part of one impulse leg.

    Args:
        rho: Density of the liquid that should fill the leg; above rho_gas. [kg/m3]
        rho_gas: Density of the gas at line pressure; 0 or more. [kg/m3]
        height: Vertical extent of the gas; 0 or more. [m]
        g: Acceleration of free fall; above 0. [m/s2]
    Returns:
        Size of the error. The leg that holds the gas reads low when the sensor hangs below. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Hydrostatics.

    >>> round(air_leg_error(rho=998.2072, rho_gas=1.204, height=0.3), 2)
    2933.18
    """
    lighter = positive("rho - rho_gas", rho - not_negative("rho_gas", rho_gas))
    return head_dp(rho=lighter, height=not_negative("height", height), g=g)
