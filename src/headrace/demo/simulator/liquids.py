"""The liquids of the invented bench and engine, by equations that the rest of headrace does not use.

Water: Kell 1975 (density in air-free state at one atmosphere) with a constant compressibility; viscosity by the
two-constant form of the chemistry handbooks; vapour pressure by the Magnus form. All three from memory, good to
5e-5, 0.5 % and 0.5 % between 5 and 40 degC. Liquid oxygen: a plane through published points near 90 K.
"""

from math import exp


def water_density(*, temp: float, p_gauge: float = 0.0) -> float:
    """Density of water [kg/m3] at temp [K] and gauge pressure [Pa].

    Source: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, from memory. Compressibility 4.6e-10/Pa: from memory.

    >>> round(water_density(temp=293.15), 2)
    998.2
    """
    t = temp - 273.15
    top = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return top / (1 + 16.879850e-3 * t) * (1 + 4.6e-10 * p_gauge)


def water_viscosity(*, temp: float) -> float:
    """Dynamic viscosity of water [Pa s].

    Source: form of the chemistry handbooks, 1.002e-3 Pa s at 20 degC, from memory.

    >>> round(1e3 * water_viscosity(temp=298.15), 3)
    0.89
    """
    t = temp - 293.15
    return float(1.002e-3 * 10 ** (-(1.1709 * t + 0.001827 * t * t) / (t + 109.93)))


def water_vapour_pressure(*, temp: float) -> float:
    """Vapour pressure of water [Pa], Magnus form, from memory."""
    t = temp - 273.15
    return 610.94 * exp(17.625 * t / (t + 243.04))


def oxygen_density(*, temp: float, p_abs: float) -> float:
    """Density of liquid oxygen [kg/m3] between 87 and 94 K and 0.1 and 4 MPa, to about 2e-4.

    A plane with a bend through published points: 1146.274 at 90 K and 2 MPa, 1148.420 at 3 MPa, 1172.297 at 85 K and
    3 MPa, 1123.888 at 95 K and 3 MPa (reference equation of state as computed by an open property library).

    >>> round(oxygen_density(temp=90.0, p_abs=2e6), 3)
    1146.274
    """
    warm, press = temp - 90.0, p_abs - 3e6
    return 1148.420 - 4.8409 * warm - 0.01310 * warm**2 + 2.146e-6 * press * (1 + 0.035 * warm)


def kerosene_density(*, temp: float, p_abs: float) -> float:
    """Density of a kerosene that weighs 805 kg/m3 at 15 degC in open air [kg/m3]; slopes from memory.

    >>> round(kerosene_density(temp=298.15, p_abs=101325.0), 2)
    797.7
    """
    return 805.0 - 0.73 * (temp - 288.15) + 0.604e-6 * (p_abs - 101325.0)


LIQUIDS = {"lox": oxygen_density, "kerosene": kerosene_density}
"""What the invented engine burns."""
