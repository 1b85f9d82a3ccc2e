"""Numbers with their doubt, as every door prints them."""

from collections.abc import Mapping
from dataclasses import dataclass

from headrace.notices import Notice


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A result: value, its standard uncertainty (the GUM's) and an interval by the stated method.

    value, u, low, high: SI unit `unit` ("Pa", "m2", "kg/s", "1", ...). kind: "abs", "gauge", "drop" or None.
    coverage: probability of [low, high]. method: "gum" or "monte-carlo". dof: effective degrees of freedom.
    """

    value: float
    u: float
    low: float
    high: float
    unit: str
    kind: str | None = None
    coverage: float = 0.95
    method: str = "gum"
    dof: float = float("inf")


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetLine:
    """One source's part of u: contribution (signed, k = 1, in the quantity's unit), share of u squared, scope."""

    source: str
    contribution: float
    share: float
    scope: str
    group: str
    origin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a forward or backward balance says.

    values: estimates by dotted path ("p_chamber", "m_dot.ox", "tanks.fuel", ...); empty of set points when infeasible.
    budgets: by the same path. correlation: of p_chamber and of_ratio. parts: standard uncertainty by path and
    group of sources ("water", "step", "combustion", "propellant", "feed", "stand"). facts: nominal numbers the
    sheet prints. lost: Monte Carlo draws that had no answer.
    """

    values: Mapping[str, Estimate]
    budgets: Mapping[str, tuple[BudgetLine, ...]]
    correlation: float | None
    parts: Mapping[str, Mapping[str, float]]
    facts: Mapping[str, float]
    notices: tuple[Notice, ...]
    draws: int = 0
    lost: int = 0
    assumptions: tuple[tuple[str, str, str], ...] = ()  # what, value as text, whose
