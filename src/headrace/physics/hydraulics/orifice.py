"""Orifice plates by ISO 5167-2: coefficient, its uncertainty and scope, flow from the drop, permanent loss.

The coefficient depends on the flow it serves to find; `orifice_m_dot` solves that by a fixed number of
Newton steps, the same for every draw. For a liquid the expansibility is exactly 1. Start at `orifice_m_dot`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from headrace.physics.domain import Values, between, positive
from headrace.physics.hydraulics.differential import LIQUID, bore_ratio, meter_m_dot
from headrace.physics.hydraulics.limits import Limits, Range

INCH = 0.0254
SMALL_PIPE = 2.8 * INCH
"""Pipes narrower than this (71.12 mm) carry an extra term in coefficient and uncertainty. [m]"""

NEWTON_STEPS = 5
"""Steps of the flow solution. The coefficient changes so little with Reynolds number that 4 already reach
rounding error inside the standard's scope; the fifth is reserve."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Taps:
    """Where the pressure is taken. Distances from the plate are `fixed` [m] plus `pipes` pipe bores.

    re_beta2, re_beta2_d: least Reynolds number as re_beta2 * beta**2 (where beta exceeds `beta_above`)
    and as re_beta2_d * beta**2 * d_pipe [1/m]; never below 5000.
    """

    upstream_pipes: float
    upstream_fixed: float
    downstream_pipes: float
    downstream_fixed: float
    re_beta2: float
    beta_above: float
    re_beta2_d: float


TAPS: Mapping[str, Taps] = MappingProxyType(
    {
        "corner": Taps(
            upstream_pipes=0.0,
            upstream_fixed=0.0,
            downstream_pipes=0.0,
            downstream_fixed=0.0,
            re_beta2=16_000.0,
            beta_above=0.56,
            re_beta2_d=0.0,
        ),
        "flange": Taps(
            upstream_pipes=0.0,
            upstream_fixed=INCH,
            downstream_pipes=0.0,
            downstream_fixed=INCH,
            re_beta2=0.0,
            beta_above=0.0,
            re_beta2_d=170e3,
        ),
        "D-D/2": Taps(
            upstream_pipes=1.0,
            upstream_fixed=0.0,
            downstream_pipes=0.47,
            downstream_fixed=0.0,
            re_beta2=16_000.0,
            beta_above=0.56,
            re_beta2_d=0.0,
        ),
    }
)


def orifice_limits(*, taps: Taps, d_pipe: float, d_throat: float) -> Limits:
    """Scope of the plate coefficient; the least Reynolds number depends on the plate itself.

    Args:
        taps: Kind of pressure tap, one of `TAPS`.
        d_pipe: Pipe bore; above 0. [m]
        d_throat: Plate bore; less than d_pipe. [m]
    Returns:
        Ranges of d_pipe [m], d_throat [m], beta [-] and re (of the pipe) [-].
    Raises:
        OutOfDomain: a number outside its range.
    Source:
        ISO 5167-2:2003, 5.3.1 (from memory).

    >>> orifice_limits(taps=TAPS["corner"], d_pipe=0.1, d_throat=0.07).ranges[3].low
    7840.0
    """
    beta = float(bore_ratio(d_pipe=d_pipe, d_throat=d_throat))
    by_beta = taps.re_beta2 * beta**2 if beta > taps.beta_above else 0.0
    re_low = max(5e3, round(by_beta, 6), taps.re_beta2_d * beta**2 * d_pipe)
    return Limits(
        source="ISO 5167-2:2003, 5.3.1",
        ranges=(
            Range(quantity="d_pipe", low=0.050, high=1.0),
            Range(quantity="d_throat", low=0.0125, high=0.75),
            Range(quantity="beta", low=0.10, high=0.75),
            Range(quantity="re", low=re_low, high=1e8),
        ),
    )


def orifice_c(*, d_pipe: Values, d_throat: Values, re: Values, taps: Taps) -> Values:
    """Discharge coefficient of a plate by the Reader-Harris/Gallagher equation, small-pipe term included.

    Args:
        d_pipe: Pipe bore; above 0. [m]
        d_throat: Plate bore; less than d_pipe. [m]
        re: Reynolds number of the pipe; above 0. [-]
        taps: Kind of pressure tap, one of `TAPS`.
    Returns:
        Discharge coefficient. [-]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        ISO 5167-2:2003, 5.3.2.1, equation (4).

    >>> c = orifice_c(d_pipe=0.1, d_throat=0.05, re=1e5, taps=TAPS["corner"])
    >>> round(float(c), 7)
    0.6068732
    """
    re = positive("re", re)
    constant, terms = _terms(d_pipe, d_throat, taps)
    return constant + sum(factor * re**-power for factor, power in terms)


def orifice_m_dot(
    *,
    dp: Values,
    d_pipe: Values,
    d_throat: Values,
    rho: Values,
    mu: Values,
    taps: Taps,
    c_factor: Values = 1.0,
    epsilon: Values = LIQUID,
) -> Values:
    """Mass flow through an orifice plate, coefficient and Reynolds number brought into agreement.

    Args:
        dp: Upstream tap minus downstream tap, tare taken off; above 0. [Pa]
        d_pipe: Pipe bore; above 0. [m]
        d_throat: Plate bore; less than d_pipe. [m]
        rho: Density at the upstream tap; above 0. [kg/m3]
        mu: Dynamic viscosity; above 0. [Pa s]
        taps: Kind of pressure tap, one of `TAPS`.
        c_factor: What multiplies the standard's coefficient, for its doubt or a calibration; above 0. [-]
        epsilon: Expansibility factor; 1 for a liquid, else `orifice_expansibility`. [-]
    Returns:
        Mass flow. [kg/s]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        ISO 5167-2:2003, clause 4 and 5.3.2.1.

    >>> m_dot = orifice_m_dot(
    ...     dp=17e3, d_pipe=0.07366, d_throat=0.05, rho=999.1, mu=1.1e-3, taps=TAPS["D-D/2"])
    >>> round(float(m_dot), 3)
    7.93
    """
    dp = positive("dp", dp, "taps crossed, or tare not taken off?")
    mu = positive("mu", mu)
    c_factor = positive("c_factor", c_factor)
    ideal = meter_m_dot(dp=dp, d_pipe=d_pipe, d_throat=d_throat, rho=rho, c=c_factor, epsilon=epsilon)
    constant, terms = _terms(d_pipe, d_throat, taps)
    log_re_ideal = np.log(4 * ideal / (np.pi * d_pipe * mu))
    log_re = log_re_ideal + np.log(0.6)
    c: Values = constant
    for _ in range(NEWTON_STEPS):
        parts = [(factor * np.exp(-power * log_re), power) for factor, power in terms]
        c = constant + sum(part for part, _ in parts)
        slope = sum(power * part for part, power in parts) / c
        log_re = log_re - (log_re - log_re_ideal - np.log(c)) / (1 + slope)
    return ideal * c


def orifice_expansibility(*, p_abs_up: Values, p_abs_down: Values, beta: Values, kappa: Values) -> Values:
    """Expansibility factor of a gas through an orifice plate. A liquid has exactly 1 and needs no call.

    Args:
        p_abs_up: Absolute pressure at the upstream tap; above 0. [Pa]
        p_abs_down: Absolute pressure at the downstream tap; above 0, below p_abs_up. [Pa]
        beta: Diameter ratio, between 0 and 1. [-]
        kappa: Isentropic exponent; above 1. [-]
    Returns:
        Expansibility factor, below 1. [-]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        ISO 5167-2:2003, 5.3.2.2, equation (5) (from memory); pressure ratio 0.75 or more.

    >>> epsilon = orifice_expansibility(p_abs_up=2e5, p_abs_down=1.83e5, beta=0.5, kappa=1.4)
    >>> round(float(epsilon), 4)
    0.9772
    """
    p_abs_up = positive("p_abs_up", p_abs_up)
    tau = between("p_abs_down / p_abs_up", p_abs_down / p_abs_up, 0, 1, "taps crossed?")
    beta = between("beta", beta, 0, 1)
    kappa = between("kappa", kappa, 1, np.inf)
    return 1 - (0.351 + 0.256 * beta**4 + 0.93 * beta**8) * (1 - tau ** (1 / kappa))


def orifice_u_c(*, d_pipe: float, d_throat: float, re: float) -> float:
    """Relative expanded uncertainty (k = 2) of the plate coefficient, all parts added as the standard adds.

    Args:
        d_pipe: Pipe bore; above 0. [m]
        d_throat: Plate bore; less than d_pipe. [m]
        re: Reynolds number of the pipe; above 0. [-]
    Returns:
        Relative expanded uncertainty of C, from the standard's own clause whether or not beta is in scope. [-]
    Raises:
        OutOfDomain: a number outside its range.
    Source:
        ISO 5167-2:2003, 5.3.3.1.

    >>> round(100 * orifice_u_c(d_pipe=0.05, d_throat=0.025, re=5e4), 4)
    0.6871
    """
    beta = float(bore_ratio(d_pipe=d_pipe, d_throat=d_throat))
    positive("re", re)
    per_cent = max(0.7 - beta, 0.5, 1.667 * beta - 0.5)
    if d_pipe < SMALL_PIPE:
        per_cent += 0.9 * (0.75 - beta) * (2.8 - d_pipe / INCH)
    if beta > 0.5 and re < 1e4:
        per_cent += 0.5
    return per_cent / 100


def orifice_loss_ratio(*, beta: Values, c: Values) -> Values:
    """Pressure that a plate costs for good, as a share of its differential pressure.

    Args:
        beta: Diameter ratio, between 0 and 1. [-]
        c: Discharge coefficient, between 0 and 1. [-]
    Returns:
        Permanent loss over differential pressure. [-]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        ISO 5167-2:2003, 5.4, equation (7).

    >>> round(float(orifice_loss_ratio(beta=0.5, c=0.6)), 3)
    0.734
    """
    root, jet = _loss_parts(beta, c)
    return (root - jet) / (root + jet)


def orifice_loss_ratio_short(*, beta: Values) -> Values:
    """The standard's quick form of `orifice_loss_ratio`, 1 - beta**1.9, which needs no coefficient.

    Args:
        beta: Diameter ratio, between 0 and 1. [-]
    Returns:
        Permanent loss over differential pressure, good to a few per cent. [-]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        ISO 5167-2:2003, 5.4, equation (8) (from memory).

    >>> round(float(orifice_loss_ratio_short(beta=0.5)), 3)
    0.732
    """
    beta = between("beta", beta, 0, 1)
    loss: Values = 1 - beta**1.9
    return loss


def orifice_k(*, beta: Values, c: Values) -> Values:
    """Loss coefficient of a plate on the velocity head of the pipe.

    Args:
        beta: Diameter ratio, between 0 and 1. [-]
        c: Discharge coefficient, between 0 and 1. [-]
    Returns:
        Loss coefficient K. [-]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        ISO 5167-2:2003, 5.4, equation (9).

    >>> round(float(orifice_k(beta=0.05 / 0.07366, c=0.61512)), 4)
    5.2314
    """
    root, jet = _loss_parts(beta, c)
    return (root / jet - 1) ** 2


def _loss_parts(beta: Values, c: Values) -> tuple[Values, Values]:
    beta = between("beta", beta, 0, 1)
    c = between("c", c, 0, 1)
    return np.sqrt(1 - beta**4 * (1 - c**2)), c * beta**2


def _terms(d_pipe: Values, d_throat: Values, taps: Taps) -> tuple[Values, tuple[tuple[Values, float], ...]]:
    """The coefficient as constant + sum(factor * re**-power): the plate's part, and its powers of Re."""
    beta = bore_ratio(d_pipe=d_pipe, d_throat=d_throat)
    l1 = taps.upstream_pipes + taps.upstream_fixed / d_pipe
    l2 = taps.downstream_pipes + taps.downstream_fixed / d_pipe
    m2 = 2 * l2 / (1 - beta)
    a_factor = (19_000 * beta) ** 0.8  # A of the standard is a_factor * re**-0.8
    upstream = (0.043 + 0.080 * np.exp(-10 * l1) - 0.123 * np.exp(-7 * l1)) * beta**4 / (1 - beta**4)
    downstream = 0.031 * (m2 - 0.8 * m2**1.1) * beta**1.3
    small = np.where(np.less(d_pipe, SMALL_PIPE), 0.011 * (0.75 - beta) * (2.8 - d_pipe / INCH), 0.0)
    constant = 0.5961 + 0.0261 * beta**2 - 0.216 * beta**8 + upstream - downstream + small
    beta_35 = beta**3.5 * 1e6**0.3
    return constant, (
        (0.000521 * (1e6 * beta) ** 0.7, 0.7),
        (0.0188 * beta_35, 0.3),
        (0.0063 * a_factor * beta_35, 1.1),
        (-0.11 * a_factor * upstream, 0.8),
    )
