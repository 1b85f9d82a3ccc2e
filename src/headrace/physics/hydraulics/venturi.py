"""Classical venturi tubes: the three forms of the standard with their limits, flow of water, flow of gas.

A meter with its own calibration brings its own coefficient; `FORMS` is for one that has none. Most bench
meters are smaller or slower than the standard allows: `limits.outside(form.limits, ...)` says where.
Sizing, calibration in place and the planning uncertainty are in `differential`. Start at `venturi_m_dot`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from headrace.physics.domain import Values, between, not_negative, positive
from headrace.physics.hydraulics.differential import LIQUID, meter_dp, meter_m_dot
from headrace.physics.hydraulics.limits import Limits, Range


@dataclass(frozen=True, slots=True, kw_only=True)
class VenturiForm:
    """One way of making a classical venturi tube, as the standard rates it without calibration.

    c: discharge coefficient. [-]  u_expanded: its relative uncertainty at k = 2. [-]
    """

    c: float
    u_expanded: float
    limits: Limits
    edition: str


def _form(
    clause: str,
    c: float,
    u_expanded: float,
    d_pipe: tuple[float, float],
    beta: tuple[float, float],
    re: tuple[float, float],
) -> VenturiForm:
    ranges = (("d_pipe", d_pipe), ("beta", beta), ("re", re))
    return VenturiForm(
        c=c,
        u_expanded=u_expanded,
        limits=Limits(
            source=f"ISO 5167-4:2003, {clause}",
            ranges=tuple(Range(quantity=name, low=low, high=high) for name, (low, high) in ranges),
        ),
        edition="2003",
    )


FORMS: Mapping[str, VenturiForm] = MappingProxyType(
    {
        # clause, C, U (k = 2), D [m], beta, Re of the pipe. Later editions may differ: the record keeps 2003.
        "as-cast": _form("5.5.2", 0.984, 0.007, (0.100, 0.800), (0.30, 0.75), (2e5, 2e6)),
        # D limits from memory; one secondary text gives 0.350 m as the upper one
        "machined": _form("5.5.3", 0.995, 0.010, (0.050, 0.250), (0.40, 0.75), (2e5, 1e6)),
        # limits and uncertainty from memory
        "rough-welded": _form("5.5.4", 0.985, 0.015, (0.200, 1.200), (0.40, 0.70), (2e5, 2e6)),
    }
)

UNCALIBRATED_U_FLOOR = 0.007
"""No uncalibrated venturi deserves less relative expanded uncertainty than this: an equation fitted to many
standard tubes in water still left 0.74 % (Reader-Harris et al., Flow Meas. Instrum. 12, 2001, 135-145)."""


def too_hopeful(*, u_expanded: float) -> bool:
    """Whether the relative expanded uncertainty claimed for an uncalibrated venturi is too small to believe.

    Args:
        u_expanded: Claimed for the discharge coefficient, k = 2; 0 or more. [-]
    Returns:
        True below `UNCALIBRATED_U_FLOOR`.
    Raises:
        OutOfDomain: negative or NaN.
    Source:
        Reader-Harris et al., Flow Meas. Instrum. 12 (2001) 135-145.

    >>> too_hopeful(u_expanded=0.005), too_hopeful(u_expanded=0.01)
    (True, False)
    """
    return bool(not_negative("u_expanded", u_expanded) < UNCALIBRATED_U_FLOOR)


def venturi_m_dot(
    *, dp: Values, d_pipe: Values, d_throat: Values, rho: Values, c: Values, epsilon: Values = LIQUID
) -> Values:
    """Mass flow through a venturi tube running full; floats or arrays of draws alike.

    Args:
        dp: Upstream tap minus throat tap, tare taken off; 0 or more. [Pa]
        d_pipe: Bore at the upstream tap, at working temperature; above 0. [m]
        d_throat: Bore of the throat, likewise; less than d_pipe. [m]
        rho: Density at the upstream tap; above 0. [kg/m3]
        c: Discharge coefficient, from certificate or `FORMS`; above 0. [-]
        epsilon: Expansibility factor; 1 for a liquid, else `venturi_expansibility`. [-]
    Returns:
        Mass flow. [kg/s]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        ISO 5167-4:2003, clause 4, equation (1).

    >>> m_dot = venturi_m_dot(dp=25e3, d_pipe=0.100, d_throat=0.060, rho=998.2, c=0.995)
    >>> round(float(m_dot), 3)
    21.303
    """
    return meter_m_dot(dp=dp, d_pipe=d_pipe, d_throat=d_throat, rho=rho, c=c, epsilon=epsilon)


def venturi_dp(
    *, m_dot: Values, d_pipe: Values, d_throat: Values, rho: Values, c: Values, epsilon: Values = LIQUID
) -> Values:
    """Differential pressure that a venturi tube shows at a mass flow: `venturi_m_dot` turned round.

    Args:
        m_dot: Mass flow; 0 or more. [kg/s]
        d_pipe, d_throat, rho, c, epsilon: As in `venturi_m_dot`.
    Returns:
        Upstream tap minus throat tap. [Pa]
    Raises:
        OutOfDomain: a lone number outside its range (in arrays such entries give NaN).
    Source:
        ISO 5167-4:2003, clause 4, equation (1), solved for the drop.

    >>> dp = venturi_dp(m_dot=21.303, d_pipe=0.100, d_throat=0.060, rho=998.2, c=0.995)
    >>> round(float(dp), -1)
    25000.0
    """
    return meter_dp(m_dot=m_dot, d_pipe=d_pipe, d_throat=d_throat, rho=rho, c=c, epsilon=epsilon)


def venturi_expansibility(*, p_abs_up: Values, p_abs_throat: Values, beta: Values, kappa: Values) -> Values:
    """Expansibility factor of a gas in a venturi tube. A liquid has exactly 1 and needs no call.

    Args:
        p_abs_up: Absolute pressure at the upstream tap; above 0. [Pa]
        p_abs_throat: Absolute pressure at the throat tap; above 0, below p_abs_up. [Pa]
        beta: Diameter ratio, between 0 and 1. [-]
        kappa: Isentropic exponent; above 1. [-]
    Returns:
        Expansibility factor, below 1. [-]
    Raises:
        OutOfDomain: a lone number outside its range.
    Source:
        ISO 5167-4:2003, 5.6 (isentropic expansion; holds for a pressure ratio of 0.75 or more).

    >>> epsilon = venturi_expansibility(p_abs_up=60e5, p_abs_throat=59.5e5, beta=0.6, kappa=1.3)
    >>> round(float(epsilon), 6)
    0.994236
    """
    p_abs_up = positive("p_abs_up", p_abs_up)
    tau = between("p_abs_throat / p_abs_up", p_abs_throat / p_abs_up, 0, 1, "taps crossed?")
    beta = between("beta", beta, 0, 1)
    kappa = between("kappa", kappa, 1, np.inf)
    tau_2 = tau ** (2 / kappa)
    expansion = kappa * tau_2 / (kappa - 1) * (1 - tau ** ((kappa - 1) / kappa)) / (1 - tau)
    approach = (1 - beta**4) / (1 - beta**4 * tau_2)
    epsilon: Values = np.sqrt(expansion * approach)
    return epsilon
