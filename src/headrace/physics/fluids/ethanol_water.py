"""Ethanol-water at any mass fraction: density, viscosity and vapour pressure, and volume to mass per cent.

Ideal-volume mixing is wrong by nearly 3 % here, so the density is the international alcoholometric formula.
"95 %" on a bottle is usually by volume: `mass_fraction_from_volume` says what that is by mass.
"""

import numpy as np

from headrace.errors import OutOfDomain
from headrace.physics.domain import Values
from headrace.physics.fluids.kinds import Law, Table
from headrace.physics.fluids.polynomial import exp_polynomial, horner, polynomial
from headrace.physics.fluids.water import saturation_pressure

P_TABLES = 101_325.0  # Pa; the alcoholometric tables hold at atmospheric pressure
M_ETHANOL, M_WATER = 46.068, 18.015  # g/mol

# OIML R 22, general formula: powers of the mass fraction (A), of t - 20 degC (B), and of both (C).
A = (
    9.982012300e2,
    -1.929769495e2,
    3.891238958e2,
    -1.668103923e3,
    1.352215441e4,
    -8.829278388e4,
    3.062874042e5,
    -6.138381234e5,
    7.470172998e5,
    -5.478461354e5,
    2.234460334e5,
    -3.903285426e4,
)
B = (-2.0618513e-1, -5.2682542e-3, 3.6130013e-5, -3.8957702e-7, 7.1693540e-9, -9.9739231e-11)
C = (
    (
        1.693443461530087e-1,
        -1.046914743455169e1,
        7.196353469546523e1,
        -7.047478054272792e2,
        3.924090430035045e3,
        -1.210164659068747e4,
        2.248646550400788e4,
        -2.605562982188164e4,
        1.852373922069467e4,
        -7.420201433430137e3,
        1.285617841998974e3,
    ),
    (
        -1.193013005057010e-2,
        2.517399633803461e-1,
        -2.170575700536993,
        1.353034988843029e1,
        -5.029988758547014e1,
        1.096355666577570e2,
        -1.422753946421155e2,
        1.080435942856230e2,
        -4.414153236817392e1,
        7.442971530188783,
    ),
    (
        -6.802995733503803e-4,
        1.876837790289664e-2,
        -2.002561813734156e-1,
        1.022992966719220,
        -2.895696483903638,
        4.810060584300675,
        -4.672147440794683,
        2.458043105903461,
        -5.411227621436812e-1,
    ),
    (4.075376675622027e-6, -8.763058573471110e-6, 6.515031360099368e-6, -1.515784836987210e-6),
    (-2.788074354782409e-8, 1.345612883493354e-8),
)


def density(*, mass_fraction: Values, temp: Values) -> Values:
    """Density of ethanol-water at atmospheric pressure.

    Args:
        mass_fraction: Ethanol by mass, 0 to 1. [-]
        temp: Temperature, 253.15 to 313.15 (and not below the mixture's freezing point). [K]
    Returns:
        Density. [kg/m3]
    Raises:
        OutOfDomain: mass fraction outside 0 to 1, or NaN.
    Source:
        OIML R 22 (1975), general formula; coefficients read in three public copies, which agree.

    >>> round(float(density(mass_fraction=0.75, temp=293.15)), 3)
    855.599
    """
    if not np.all((np.asarray(mass_fraction) >= 0) & (np.asarray(mass_fraction) <= 1)):
        raise OutOfDomain(
            "mass_fraction", mass_fraction, "between 0 and 1", "a percentage not divided by 100?"
        )
    by_temperature = _temperature_coefficients(mass_fraction)
    dt = temp - 293.15
    total: Values = by_temperature[-1]
    for coefficient in reversed(by_temperature[:-1]):
        total = total * dt + coefficient
    return total


def _temperature_coefficients(w: Values) -> list[Values]:
    """Coefficients of (t - 20 degC)^k, k = 0.., at one mass fraction (or an array of them)."""
    c = [w * horner(row, w) for row in C]
    mixed = [B[k] + c[k] if k < len(c) else B[k] + 0.0 * w for k in range(len(B))]
    return [horner(A, w), *mixed]


def volume_fraction(*, mass_fraction: Values) -> Values:
    """Alcoholic strength by volume at 20 degC of a mixture known by mass.

    Args:
        mass_fraction: Ethanol by mass, 0 to 1. [-]
    Returns:
        Ethanol by volume at 20 degC: volume of pure ethanol in a volume of mixture. [-]
    Raises:
        OutOfDomain: mass fraction outside 0 to 1, or NaN.
    Source:
        OIML R 22 (1975), definition of the alcoholic strength by volume.

    >>> round(float(volume_fraction(mass_fraction=0.924076)), 4)
    0.95
    """
    pure = density(mass_fraction=1.0, temp=293.15)
    return mass_fraction * density(mass_fraction=mass_fraction, temp=293.15) / pure


def mass_fraction_from_volume(*, volume_share: float) -> float:
    """Mass fraction of a mixture whose strength is given by volume at 20 degC, as on most labels.

    Args:
        volume_share: Ethanol by volume at 20 degC, 0 to 1. [-]
    Returns:
        Ethanol by mass. [-]
    Raises:
        OutOfDomain: outside 0 to 1, or NaN.
    Source:
        OIML R 22 (1975), inverse of `volume_fraction` (which rises steadily, so that halving finds it).

    >>> round(mass_fraction_from_volume(volume_share=0.95), 6)
    0.924076
    """
    if not 0 <= volume_share <= 1:
        raise OutOfDomain("volume_share", volume_share, "between 0 and 1", "a percentage?")
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (
            (middle, high) if float(volume_fraction(mass_fraction=middle)) < volume_share else (low, middle)
        )
    return 0.5 * (low + high)


def mole_fraction(*, mass_fraction: float) -> float:
    """Ethanol's share of the molecules, from its share of the mass (both 0 to 1).

    >>> round(mole_fraction(mass_fraction=0.75), 4)
    0.5398
    """
    ethanol, water = mass_fraction / M_ETHANOL, (1 - mass_fraction) / M_WATER
    return ethanol / (ethanol + water)


def density_form(table: Table, mass_fraction: float | None) -> Law:
    """OIML R 22 at atmospheric pressure, times exp(kappa*(p - p0)); kappa is the mole-fraction mean.

    Keys: ethanol and water, each a polynomial in temperature of the pure liquid's compressibility [1/Pa].
    """
    w = _need(mass_fraction)
    x = mole_fraction(mass_fraction=w)
    kappa_ethanol, kappa_water = polynomial(table["ethanol"], None), polynomial(table["water"], None)

    def law(temp: Values, p_abs: Values) -> Values:
        kappa = x * kappa_ethanol(temp, 0.0) + (1 - x) * kappa_water(temp, 0.0)
        value: Values = density(mass_fraction=w, temp=temp) * np.exp(kappa * (p_abs - P_TABLES))
        return value

    return law


def viscosity_form(table: Table, mass_fraction: float | None) -> Law:
    """exp of a polynomial in 1/T whose coefficients are polynomials in the mass fraction.

    Keys: those of an exp-polynomial in 1/T, with by_mass_fraction[k][i] in the place of coefficients: the
    coefficient of x^k is the sum over i of by_mass_fraction[k][i] * w^i.
    """
    w = _need(mass_fraction)
    rows = [[horner(row, w)] for row in table["by_mass_fraction"]]
    return exp_polynomial({**table, "coefficients": rows}, None)


def vapour_form(table: Table, mass_fraction: float | None) -> Law:
    """Modified Raoult: x1*g1*p1 + x2*g2*p2, activity coefficients after van Laar (1 = ethanol, 2 = water).

    Keys: a12, a21 (natural logarithm); ethanol: an exp-polynomial of the pure liquid's vapour pressure [Pa].
    """
    x1 = mole_fraction(mass_fraction=_need(mass_fraction))
    x2 = 1 - x1
    a12, a21 = float(table["a12"]), float(table["a21"])
    share = a12 * x1 + a21 * x2
    ethanol = x1 * np.exp(a12 * (a21 * x2 / share) ** 2)
    water = x2 * np.exp(a21 * (a12 * x1 / share) ** 2)
    pure_ethanol = exp_polynomial(table["ethanol"], None)
    return lambda temp, p_abs: (
        ethanol * pure_ethanol(temp, 0.0) + water * saturation_pressure(temp=temp) + 0.0 * p_abs
    )


def _need(mass_fraction: float | None) -> float:
    if mass_fraction is None:
        raise ValueError("an ethanol-water form needs the mass fraction")
    return mass_fraction
