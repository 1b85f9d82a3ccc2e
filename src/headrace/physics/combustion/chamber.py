"""The one relation of a chamber with a choked throat, solved for each of its terms.

    p_chamber * area_throat * c_throat = eta_c_star * c_star * m_dot

Pressure is absolute, at the end of the chamber and total; the flow is all that passes the throat, film
included. Nothing here iterates: with c* depending on pressure and mixture ratio, the balance does that.
"""

import numpy as np

from headrace.physics.domain import Values, positive


def area_throat_from_diameter(*, d_throat: Values) -> Values:
    """Area of a round throat.

    Args:
        d_throat: Throat diameter, above 0. [m]
    Returns:
        Area. [m2]
    Raises:
        OutOfDomain: diameter not above 0, or NaN (an entry of an array becomes NaN instead).
    Source:
        Geometry.

    >>> round(float(area_throat_from_diameter(d_throat=0.0357)), 7)
    0.001001
    """
    return np.pi / 4 * positive("d_throat", d_throat) ** 2


def c_star_from_chamber(
    *, p_chamber: Values, area_throat: Values, m_dot: Values, c_throat: Values = 1.0
) -> Values:
    """Characteristic velocity as delivered: eta_c_star * c_star.

    Args:
        p_chamber: Chamber pressure, absolute, above 0. [Pa]
        area_throat: Throat area, hot, above 0. [m2]
        m_dot: Flow through the throat, above 0. [kg/s]
        c_throat: Discharge coefficient of the throat, above 0; 0.98 to 0.995 if smooth, common practice. [-]
    Returns:
        Delivered characteristic velocity. [m/s]
    Raises:
        OutOfDomain: an argument not above 0, or NaN (an entry of an array becomes NaN instead).
    Source:
        Definition of the characteristic velocity.

    >>> c_star_from_chamber(p_chamber=2e6, area_throat=1e-3, m_dot=1.25)
    1600.0
    """
    forced = positive("p_chamber", p_chamber) * positive("area_throat", area_throat)
    return forced * positive("c_throat", c_throat) / positive("m_dot", m_dot)


def m_dot_from_chamber(
    *,
    p_chamber: Values,
    area_throat: Values,
    c_star: Values,
    eta_c_star: Values = 1.0,
    c_throat: Values = 1.0,
) -> Values:
    """Flow that holds a chamber pressure.

    Args:
        p_chamber, area_throat, c_throat: As in `c_star_from_chamber`.
        c_star: Theoretical characteristic velocity, above 0. [m/s]
        eta_c_star: Its efficiency, above 0; 0.92 to 0.98 well developed, 0.75 to 0.95 first small engines,
            common practice. [-]
    Returns:
        Flow through the throat. [kg/s]
    Raises:
        OutOfDomain: an argument not above 0, or NaN (an entry of an array becomes NaN instead).
    Source:
        Definition of the characteristic velocity.

    >>> m_dot_from_chamber(p_chamber=2e6, area_throat=1e-3, c_star=1600.0)
    1.25
    """
    forced = positive("p_chamber", p_chamber) * positive("area_throat", area_throat)
    delivered = positive("eta_c_star", eta_c_star) * positive("c_star", c_star)
    return forced * positive("c_throat", c_throat) / delivered


def p_chamber_from_m_dot(
    *, m_dot: Values, area_throat: Values, c_star: Values, eta_c_star: Values = 1.0, c_throat: Values = 1.0
) -> Values:
    """Chamber pressure that a flow holds; arguments as in `m_dot_from_chamber`.

    Returns:
        Chamber pressure, absolute. [Pa]
    Raises:
        OutOfDomain: an argument not above 0, or NaN (an entry of an array becomes NaN instead).
    Source:
        Definition of the characteristic velocity.

    >>> p_chamber_from_m_dot(m_dot=1.25, area_throat=1e-3, c_star=1600.0)
    2000000.0
    """
    delivered = positive("eta_c_star", eta_c_star) * positive("c_star", c_star)
    passed = positive("area_throat", area_throat) * positive("c_throat", c_throat)
    return delivered * positive("m_dot", m_dot) / passed


def eta_c_star_from_chamber(
    *, p_chamber: Values, area_throat: Values, m_dot: Values, c_star: Values, c_throat: Values = 1.0
) -> Values:
    """Efficiency of the characteristic velocity, from a firing; arguments as in the functions above.

    Mind the basis: a theoretical c* at frozen composition lies some 2 % below the one at equilibrium.

    Returns:
        Delivered over theoretical characteristic velocity. [-]
    Raises:
        OutOfDomain: an argument not above 0, or NaN (an entry of an array becomes NaN instead).
    Source:
        Definition of the characteristic velocity.

    >>> eta_c_star_from_chamber(p_chamber=1.9e6, area_throat=1e-3, m_dot=1.25, c_star=1600.0)
    0.95
    """
    delivered = c_star_from_chamber(
        p_chamber=p_chamber, area_throat=area_throat, m_dot=m_dot, c_throat=c_throat
    )
    return delivered / positive("c_star", c_star)
