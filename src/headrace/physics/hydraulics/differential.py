"""The working equation that all differential-pressure meters share, and its uncertainty.

m_dot = c / sqrt(1 - beta**4) * epsilon * pi/4 * d_throat**2 * sqrt(2 * rho * dp), beta = d_throat / d_pipe.
What `c` and `epsilon` are is the meter's affair (`venturi`, `orifice`). For a liquid epsilon is exactly 1,
which is the default everywhere here. Numbers outside the domain: see `headrace.physics.domain`.
Start at `meter_m_dot`.
"""

import numpy as np

from headrace.physics.domain import Values, between, not_negative, positive

LIQUID = 1.0
"""Expansibility factor of a liquid; exact (ISO 5167-1:2003, clause 3)."""


def bore_ratio(*, d_pipe: Values, d_throat: Values) -> Values:
    """Diameter ratio beta of throat to pipe.

    Args:
        d_pipe: Bore at the upstream tap; above 0. [m]
        d_throat: Bore of throat or plate; above 0, less than d_pipe. [m]
    Returns:
        beta, between 0 and 1. [-]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        ISO 5167-1:2003, clause 3 (definition).

    >>> bore_ratio(d_pipe=0.100, d_throat=0.060)
    0.6
    """
    d_pipe = positive("d_pipe", d_pipe)
    return between("beta", d_throat / d_pipe, 0, 1, "throat and pipe bore swapped?")


def velocity_of_approach(*, beta: Values) -> Values:
    """Velocity-of-approach factor 1 / sqrt(1 - beta**4).

    Args:
        beta: Diameter ratio, between 0 and 1. [-]
    Returns:
        Factor, 1 or more. [-]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        ISO 5167-1:2003, clause 3 (definition).

    >>> round(float(velocity_of_approach(beta=0.6)), 8)
    1.07186616
    """
    beta = between("beta", beta, 0, 1)
    factor: Values = 1 / np.sqrt(1 - beta**4)
    return factor


def meter_m_dot(
    *, dp: Values, d_pipe: Values, d_throat: Values, rho: Values, c: Values, epsilon: Values = LIQUID
) -> Values:
    """Mass flow through any meter that obeys the working equation.

    Args:
        dp: Upstream tap minus throat tap, tare taken off; 0 or more. [Pa]
        d_pipe: Bore at the upstream tap, at working temperature; above 0. [m]
        d_throat: Bore of throat or plate, likewise; less than d_pipe. [m]
        rho: Density at the upstream tap; above 0. [kg/m3]
        c: Discharge coefficient; above 0. [-]
        epsilon: Expansibility factor; 1 for a liquid. [-]
    Returns:
        Mass flow. [kg/s]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        ISO 5167-1:2003, clause 5, equation (1).

    >>> m_dot = meter_m_dot(dp=50e3, d_pipe=0.0525, d_throat=0.02625, rho=998.2072, c=0.995)
    >>> round(float(m_dot), 6)
    5.556436
    """
    dp = not_negative("dp", dp, "taps crossed, or tare not taken off?")
    flow: Values = _flow_at_unit_drop(d_pipe, d_throat, rho, c, epsilon) * np.sqrt(dp)
    return flow


def meter_dp(
    *, m_dot: Values, d_pipe: Values, d_throat: Values, rho: Values, c: Values, epsilon: Values = LIQUID
) -> Values:
    """Differential pressure that a mass flow makes: `meter_m_dot` turned round.

    Args:
        m_dot: Mass flow; 0 or more. [kg/s]
        d_pipe, d_throat, rho, c, epsilon: As in `meter_m_dot`.
    Returns:
        Upstream tap minus throat tap. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        ISO 5167-1:2003, clause 5, equation (1), solved for the drop.

    >>> dp = meter_dp(m_dot=2.0, d_pipe=0.0525, d_throat=0.020, rho=998.2072, c=0.995)
    >>> round(float(dp), 2)
    20073.31
    """
    m_dot = not_negative("m_dot", m_dot)
    return (m_dot / _flow_at_unit_drop(d_pipe, d_throat, rho, c, epsilon)) ** 2


def meter_c(
    *, m_dot: Values, dp: Values, d_pipe: Values, d_throat: Values, rho: Values, epsilon: Values = LIQUID
) -> Values:
    """Discharge coefficient of a meter that was calibrated in place (by weighing, say).

    Args:
        m_dot: True mass flow; above 0. [kg/s]
        dp: Differential pressure at that flow; above 0. [Pa]
        d_pipe, d_throat, rho, epsilon: As in `meter_m_dot`.
    Returns:
        Discharge coefficient. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        ISO 5167-1:2003, clause 5, equation (1), solved for the coefficient.

    >>> round(float(meter_c(m_dot=2.0, dp=20073.31, d_pipe=0.0525, d_throat=0.020, rho=998.2072)), 5)
    0.995
    """
    m_dot = positive("m_dot", m_dot)
    dp = positive("dp", dp, "taps crossed, or tare not taken off?")
    coefficient: Values = m_dot / (_flow_at_unit_drop(d_pipe, d_throat, rho, 1.0, epsilon) * np.sqrt(dp))
    return coefficient


def meter_d_throat(
    *, m_dot: Values, dp: Values, d_pipe: Values, rho: Values, c: Values, epsilon: Values = LIQUID
) -> Values:
    """Throat bore that makes a wanted drop at a wanted flow, with `c` taken as given. Closed form.

    Args:
        m_dot: Mass flow; above 0. [kg/s]
        dp: Differential pressure at that flow; above 0. [Pa]
        d_pipe: Bore at the upstream tap; above 0. [m]
        rho, c, epsilon: As in `meter_m_dot`.
    Returns:
        Bore of throat or plate, always less than d_pipe. [m]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        ISO 5167-1:2003, clause 5, equation (1), solved for the bore.

    >>> d_throat = meter_d_throat(m_dot=2.0, dp=50e3, d_pipe=0.0525, rho=998.2072, c=0.995)
    >>> round(1e3 * float(d_throat), 5)
    15.97054
    """
    m_dot = positive("m_dot", m_dot)
    dp = positive("dp", dp)
    d_pipe = positive("d_pipe", d_pipe)
    rho = positive("rho", rho)
    c = positive("c", c)
    epsilon = positive("epsilon", epsilon)
    share = m_dot / (c * epsilon * np.sqrt(2 * rho * dp)) / (np.pi / 4 * d_pipe**2)
    bore: Values = d_pipe * (share**2 / (1 + share**2)) ** 0.25
    return bore


def sensitivity_d_throat(*, beta: Values) -> Values:
    """Relative change of mass flow per relative change of the throat bore: 2 / (1 - beta**4).

    Args:
        beta: Diameter ratio, between 0 and 1. [-]
    Returns:
        d ln m_dot / d ln d_throat. [-]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        ISO 5167-1:2003, clause 8 (uncertainty of the flow rate).

    >>> round(float(sensitivity_d_throat(beta=0.5)), 6)
    2.133333
    """
    beta = between("beta", beta, 0, 1)
    return 2 / (1 - beta**4)


def sensitivity_d_pipe(*, beta: Values) -> Values:
    """Relative change of mass flow per relative change of the pipe bore: -2 beta**4 / (1 - beta**4).

    Args:
        beta: Diameter ratio, between 0 and 1. [-]
    Returns:
        d ln m_dot / d ln d_pipe, negative. [-]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        ISO 5167-1:2003, clause 8 (uncertainty of the flow rate).

    >>> round(float(sensitivity_d_pipe(beta=0.5)), 6)
    -0.133333
    """
    beta = between("beta", beta, 0, 1)
    return -2 * beta**4 / (1 - beta**4)


def relative_uncertainty(
    *,
    beta: Values,
    u_c: Values,
    u_d_pipe: Values,
    u_d_throat: Values,
    u_dp: Values,
    u_rho: Values,
    u_epsilon: Values = 0.0,
) -> Values:
    """Relative uncertainty of the flow by the standard's own formula, all parts taken as independent.

    A planning figure: a run is budgeted source by source, where shared parts may cancel.

    Args:
        beta: Diameter ratio, between 0 and 1. [-]
        u_c, u_d_pipe, u_d_throat, u_dp, u_rho, u_epsilon: Relative uncertainties, all at one and the
            same coverage; 0 or more. [-]
    Returns:
        Relative uncertainty of the mass flow, at that coverage. [-]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        ISO 5167-1:2003, clause 8 (from memory).

    >>> u = relative_uncertainty(beta=0.5, u_c=0.01, u_d_pipe=4e-3, u_d_throat=1e-3, u_dp=5e-3, u_rho=1e-3)
    >>> round(100 * float(u), 6)
    1.055157
    """
    parts = (
        not_negative("u_c", u_c),
        not_negative("u_epsilon", u_epsilon),
        sensitivity_d_pipe(beta=beta) * not_negative("u_d_pipe", u_d_pipe),
        sensitivity_d_throat(beta=beta) * not_negative("u_d_throat", u_d_throat),
        0.5 * not_negative("u_dp", u_dp),
        0.5 * not_negative("u_rho", u_rho),
    )
    total: Values = np.sqrt(sum(part**2 for part in parts))
    return total


def _flow_at_unit_drop(d_pipe: Values, d_throat: Values, rho: Values, c: Values, epsilon: Values) -> Values:
    beta = bore_ratio(d_pipe=d_pipe, d_throat=d_throat)
    rho = positive("rho", rho, "a missing value read as 0?")
    c = positive("c", c, "a missing value read as 0?")
    epsilon = positive("epsilon", epsilon)
    flow: Values = c * epsilon * (np.pi / 4) * d_throat**2 * np.sqrt(2 * rho / (1 - beta**4))
    return flow
