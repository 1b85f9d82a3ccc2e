"""A liquid at a state: density, viscosities, vapour pressure, each with its source, range and doubt.

A `Fluid` answers anywhere, smoothly and without complaint, so that a chain of draws meets no kink. Ask
`outside` or `check` once, at the nominal state, whether the answer may be used: in range, and a liquid.
Liquids only: whatever would boil at its pressure is refused by `check`, never given a vapour's density.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from headrace.errors import OutOfDomain
from headrace.physics.domain import Values
from headrace.physics.fluids.kinds import Law

QUANTITIES: Mapping[str, str] = {"rho": "kg/m3", "mu": "Pa s", "p_vap": "Pa"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Property:
    """One property of one liquid, with what its TOML file says about it.

    source: standard, report or table, in words; how_known: "published", "computed" or "from memory".
    temp_min, temp_max [K], p_min, p_max [Pa, absolute]: where it holds.
    u_rel: relative standard uncertainty (k = 1) at a known state; u_origin: who says so.
    """

    source: str
    how_known: str
    temp_min: float
    temp_max: float
    p_min: float
    p_max: float
    u_rel: float
    u_origin: str
    law: Law = field(repr=False, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """One fact about a state at which the numbers should not be trusted.

    code: "temp-outside", "p-outside" or "boils"; quantity: "temp" or "p_abs"; value: the worst one asked.
    low, high: the range left (for "boils": the vapour pressure, and infinity); text: the same in words.
    """

    code: str
    quantity: str
    value: float
    low: float
    high: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fluid:
    """A liquid: its name ("lox", "ethanol-75"), title, mass fraction if a mixture, and properties."""

    name: str
    title: str
    properties: Mapping[str, Property]
    mass_fraction: float | None = None
    note: str = ""

    def rho(self, temp: Values, p_abs: Values) -> Values:
        """Density [kg/m3] at temp [K] and p_abs [Pa]; broadcasts, extrapolates smoothly, never refuses."""
        return self.properties["rho"].law(temp, p_abs)

    def mu(self, temp: Values, p_abs: Values) -> Values:
        """Dynamic viscosity [Pa s] at temp [K] and p_abs [Pa]; as `rho`."""
        return self.properties["mu"].law(temp, p_abs)

    def nu(self, temp: Values, p_abs: Values) -> Values:
        """Kinematic viscosity [m2/s]: mu/rho at temp [K] and p_abs [Pa]."""
        return self.mu(temp, p_abs) / self.rho(temp, p_abs)

    def p_vap(self, temp: Values) -> Values:
        """Vapour pressure, absolute [Pa], at temp [K]; as `rho`."""
        return self.properties["p_vap"].law(temp, 0.0)

    def u_rel(self, quantity: str) -> float:
        """Relative standard uncertainty (k = 1) of "rho", "mu" or "p_vap" at an exactly known state."""
        return self._property(quantity).u_rel

    def source(self, quantity: str) -> str:
        """Where "rho", "mu" or "p_vap" comes from, in words."""
        return self._property(quantity).source

    def outside(self, *, temp: Values, p_abs: Values) -> tuple[Outside, ...]:
        """Why this state (any of these states) should not be used; empty when all is well.

        Args:
            temp: Temperature, above 0. [K]
            p_abs: Absolute pressure, above 0. [Pa]
        Raises:
            OutOfDomain: temp or p_abs not above 0, or NaN.
        """
        for name, value in (("temp", temp), ("p_abs", p_abs)):
            if not np.all(np.asarray(value) > 0):
                raise OutOfDomain(name, value, "above 0", "a Celsius or gauge reading, or a missing value?")
        facts: list[Outside] = []
        for code, quantity, unit, value, (low, high) in (
            ("temp-outside", "temp", "K", temp, self._range("temp_min", "temp_max")),
            ("p-outside", "p_abs", "Pa", p_abs, self._range("p_min", "p_max")),
        ):
            worst = _worst(value, low, high)
            if worst is not None:
                text = f"{self.title}: {quantity} {worst:g} {unit} is outside {low:g} to {high:g} {unit}"
                facts.append(
                    Outside(code=code, quantity=quantity, value=worst, low=low, high=high, text=text)
                )
        vapour, pressure = np.broadcast_arrays(np.asarray(self.p_vap(temp)), np.asarray(p_abs))
        if np.any(pressure <= vapour):
            at = int(np.argmax(vapour - pressure))
            p_vap, p_seen = float(vapour.flat[at]), float(pressure.flat[at])
            text = f"{self.title} boils: {p_seen:.6g} Pa, and its vapour pressure is {p_vap:.6g} Pa"
            facts.append(
                Outside(code="boils", quantity="p_abs", value=p_seen, low=p_vap, high=np.inf, text=text)
            )
        return tuple(facts)

    def check(self, *, temp: Values, p_abs: Values) -> None:
        """Refuse a state that is out of range or not liquid; arguments as `outside`.

        Raises:
            OutOfDomain: naming the range left, or the vapour pressure at which the liquid boils.
        """
        for fact in self.outside(temp=temp, p_abs=p_abs):
            allowed = (
                f"above the vapour pressure, {fact.low:.6g} Pa"
                if fact.code == "boils"
                else f"between {fact.low:g} and {fact.high:g}"
            )
            raise OutOfDomain(fact.quantity, f"{fact.value:.6g}", allowed, fact.text)

    def _property(self, quantity: str) -> Property:
        if quantity not in self.properties:
            raise ValueError(f"{quantity!r} is none of {', '.join(self.properties)}")
        return self.properties[quantity]

    def _range(self, low: str, high: str) -> tuple[float, float]:
        """The range that all properties share."""
        known = self.properties.values()
        return max(getattr(one, low) for one in known), min(getattr(one, high) for one in known)


def _worst(value: Values, low: float, high: float) -> float | None:
    """The value that lies farthest outside low to high, or None when all lie inside."""
    values = np.asarray(value, dtype=float)
    if np.all((values >= low) & (values <= high)):
        return None
    bottom, top = float(values.min()), float(values.max())
    return bottom if low - bottom > top - high else top
