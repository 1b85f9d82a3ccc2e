"""Where liquid turns to vapour in a hole or a meter's throat, and what the flow then is.

Pressures are absolute. The cavitation number here is K = (p1 - pv) / (p1 - p2), called `cav`; it falls
towards 1 as cavitation deepens. The model of a cavitating hole is a nominal judgement with a corner in it,
not a part of any chain of draws. Start at `cavitation_number`.
"""

import numpy as np

from headrace.physics.domain import Values, between, finite, not_negative, positive

CONTRACTION_SHARP = 0.62
"""Contraction of the jet behind a sharp inlet edge (Nurick 1976, from memory). [-]"""


def cavitation_number(*, p_abs_up: Values, p_abs_down: Values, p_vapour: Values) -> Values:
    """Cavitation number K = (p1 - pv) / (p1 - p2).

    Args:
        p_abs_up: Absolute pressure before the hole; above p_abs_down. [Pa]
        p_abs_down: Absolute pressure behind it; 0 or more. [Pa]
        p_vapour: Vapour pressure of the liquid; 0 or more. [Pa]
    Returns:
        K: well above 2 is clear of cavitation in a sharp hole; below 1 the liquid boils behind it. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Nurick, J. Fluids Eng. 98 (1976), 681 (from memory).

    >>> round(cavitation_number(p_abs_up=2.1e6, p_abs_down=0.1e6, p_vapour=2339.3), 8)
    1.04883035
    """
    p_abs_down = not_negative("p_abs_down", p_abs_down, "a gauge pressure taken for absolute?")
    dp = positive("p_abs_up - p_abs_down", p_abs_up - p_abs_down, "taps crossed?")
    return (positive("p_abs_up", p_abs_up) - not_negative("p_vapour", p_vapour)) / dp


def sigma(*, cav: Values) -> Values:
    """The other common cavitation number, (p2 - pv) / (p1 - p2) = K - 1.

    Args:
        cav: Cavitation number K. [-]
    Returns:
        sigma. [-]
    Raises:
        OutOfDomain: a lone number that is not finite (in arrays such entries give NaN).
    Source:
        Definition.

    >>> sigma(cav=1.5)
    0.5
    """
    return finite("cav", cav) - 1


def cavitating_cd(*, cav: Values, contraction: Values = CONTRACTION_SHARP) -> Values:
    """Discharge coefficient of a hole that cavitates: contraction * sqrt(K).

    Args:
        cav: Cavitation number K; above 0, below `cav_onset`. [-]
        contraction: Contraction of the jet, between 0 and 1. [-]
    Returns:
        Discharge coefficient on the hole's area. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Nurick, J. Fluids Eng. 98 (1976), 681 (from memory).

    >>> round(float(cavitating_cd(cav=1.04883035)), 6)
    0.634957
    """
    cd: Values = between("contraction", contraction, 0, 1) * np.sqrt(positive("cav", cav))
    return cd


def cav_onset(*, cd_full: Values, contraction: Values = CONTRACTION_SHARP) -> Values:
    """Cavitation number below which a hole cavitates: (cd_full / contraction)**2.

    Args:
        cd_full: Discharge coefficient of the hole running full; above contraction, below 1. [-]
        contraction: Contraction of the jet, between 0 and 1. [-]
    Returns:
        Critical K. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Nurick, J. Fluids Eng. 98 (1976), 681 (from memory).

    >>> round(cav_onset(cd_full=0.84), 8)
    1.83558793
    """
    contraction = between("contraction", contraction, 0, 1)
    return between("cd_full", cd_full, 0, 1) ** 2 / contraction**2


def hole_cd(*, cav: Values, cd_full: Values, contraction: Values = CONTRACTION_SHARP) -> Values:
    """Discharge coefficient of a hole on either side of the onset; has a corner there.

    Args:
        cav: Cavitation number K; above 0. [-]
        cd_full: Discharge coefficient of the hole running full, between 0 and 1. [-]
        contraction: Contraction of the jet, between 0 and 1. [-]
    Returns:
        The smaller of `cd_full` and `cavitating_cd`. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Nurick, J. Fluids Eng. 98 (1976), 681 (from memory).

    >>> hole_cd(cav=4.9953, cd_full=0.84)
    0.84
    """
    cd: Values = np.minimum(
        between("cd_full", cd_full, 0, 1), cavitating_cd(cav=cav, contraction=contraction)
    )
    return cd if np.ndim(cd) else float(cd)


def cavitating_flux(
    *, p_abs_up: Values, p_vapour: Values, rho: Values, contraction: Values = CONTRACTION_SHARP
) -> Values:
    """Mass flux of a cavitating hole, which no longer feels the pressure behind it.

    Args:
        p_abs_up: Absolute pressure before the hole; above p_vapour. [Pa]
        p_vapour: Vapour pressure; 0 or more. [Pa]
        rho: Density of the liquid; above 0. [kg/m3]
        contraction: Contraction of the jet, between 0 and 1. [-]
    Returns:
        Mass flow over the hole's area. [kg/(m2 s)]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Nurick, J. Fluids Eng. 98 (1976), 681 (from memory).

    >>> round(float(cavitating_flux(p_abs_up=2.1e6, p_vapour=2339.3, rho=998.2072)), 1)
    40122.2
    """
    drive = positive("p_abs_up - p_vapour", p_abs_up - not_negative("p_vapour", p_vapour))
    flux: Values = between("contraction", contraction, 0, 1) * np.sqrt(2 * positive("rho", rho) * drive)
    return flux


def onset_p_abs_down(*, p_abs_up: Values, p_vapour: Values, cav: Values) -> Values:
    """Pressure behind a hole at which a given cavitation number is reached, pressure before it held.

    Args:
        p_abs_up: Absolute pressure before the hole; above p_vapour. [Pa]
        p_vapour: Vapour pressure; 0 or more. [Pa]
        cav: Cavitation number K wanted, as from `cav_onset`; above 0. [-]
    Returns:
        Absolute pressure behind the hole: the back-pressure that a test needs. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definition of K.

    >>> round(onset_p_abs_down(p_abs_up=2.1e6, p_vapour=2339.3, cav=1.83558793))
    957227
    """
    drive = positive("p_abs_up - p_vapour", p_abs_up - not_negative("p_vapour", p_vapour))
    return p_abs_up - drive / positive("cav", cav)


def onset_p_abs_up(*, p_abs_down: Values, p_vapour: Values, cav: Values) -> Values:
    """Pressure before a hole at which a given cavitation number is reached, pressure behind it held.

    Args:
        p_abs_down: Absolute pressure behind the hole; above p_vapour. [Pa]
        p_vapour: Vapour pressure; 0 or more. [Pa]
        cav: Cavitation number K wanted, as from `cav_onset`; above 1. [-]
    Returns:
        Absolute pressure before the hole; above it the hole cavitates. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definition of K.

    >>> round(onset_p_abs_up(p_abs_down=101325.0, p_vapour=2339.3, cav=1.83558793), 1)
    219787.3
    """
    positive("p_abs_down - p_vapour", p_abs_down - not_negative("p_vapour", p_vapour))
    return (cav * p_abs_down - p_vapour) / positive("cav - 1", cav - 1)


def meter_throat_p_abs(*, p_abs_up: Values, dp: Values) -> Values:
    """Absolute pressure at the throat tap of a venturi tube.

    Args:
        p_abs_up: Absolute pressure at the upstream tap; above 0. [Pa]
        dp: Upstream tap minus throat tap; 0 or more. [Pa]
    Returns:
        Absolute pressure in the throat; what comes out below 0 is impossible in a sound record. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Definition of the drop.

    >>> meter_throat_p_abs(p_abs_up=3e5, dp=0.5e5)
    250000.0
    """
    return positive("p_abs_up", p_abs_up) - not_negative("dp", dp)


def meter_throat_margin(*, p_abs_up: Values, dp: Values, p_vapour: Values) -> Values:
    """How far the throat of a venturi tube stays above vapour pressure.

    Args:
        p_abs_up: Absolute pressure at the upstream tap; above 0. [Pa]
        dp: Upstream tap minus throat tap; 0 or more. [Pa]
        p_vapour: Vapour pressure; 0 or more. [Pa]
    Returns:
        Margin; common practice wants 30 to 50 kPa or more, and at 0 the meter chokes. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        Common practice.

    >>> meter_throat_margin(p_abs_up=3e5, dp=0.5e5, p_vapour=2339.0)
    247661.0
    """
    return meter_throat_p_abs(p_abs_up=p_abs_up, dp=dp) - not_negative("p_vapour", p_vapour)
