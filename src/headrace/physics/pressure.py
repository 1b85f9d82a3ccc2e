"""The one place where a gauge pressure becomes absolute, and it demands the ambient pressure. Start at `absolute`.

Differences of pressure need neither; gas laws, cavitation and the chamber need absolute.
"""

from headrace.physics.domain import Values, not_negative, positive


def absolute(*, p_gauge: Values, p_ambient: Values) -> Values:
    """The one step from gauge to absolute pressure.

    Args:
        p_gauge: Above the ambient pressure; not below vacuum. [Pa]
        p_ambient: Of the air around the instrument when it was read, absolute; above 0. [Pa]
    Returns:
        Absolute pressure. [Pa]
    Raises:
        OutOfDomain: a lone ambient not above 0, or a lone result below vacuum (entries of arrays become NaN).
    Source:
        Definition of gauge pressure.

    >>> absolute(p_gauge=5e5, p_ambient=101325.0)
    601325.0
    """
    p_ambient = positive("p_ambient", p_ambient, "a barometer reads absolute pressure")
    return not_negative("p_abs", p_gauge + p_ambient, "an absolute pressure taken for a drop?")


def gauge(*, p_abs: Values, p_ambient: Values) -> Values:
    """The way back: what a gauge shows in air of that pressure; arguments and errors as `absolute`. [Pa]

    >>> gauge(p_abs=601325.0, p_ambient=101325.0)
    500000.0
    """
    return not_negative("p_abs", p_abs) - positive(
        "p_ambient", p_ambient, "a barometer reads absolute pressure"
    )
