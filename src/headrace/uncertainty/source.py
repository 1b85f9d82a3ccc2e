"""A source of error: the one record that says how wrong one thing may be, and why we think so.

Nothing here draws or propagates. Start at `Source`; `half_width` turns limits into a standard uncertainty.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf, isnan, sqrt
from types import MappingProxyType

from headrace.uncertainty.distributions import DISTRIBUTIONS

SCOPES = ("run", "instrument", "shared", "model")
"""How far one draw of a source reaches, narrowest first."""

DIVISORS: Mapping[str, float] = MappingProxyType(
    {"rectangular": sqrt(3.0), "triangular": sqrt(6.0), "arcsine": sqrt(2.0)}
)
"""Half-width over standard uncertainty of the shapes that end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One source of error, by one name wherever it acts.

    name: unique among the sources of a model.
    u: standard uncertainty in the unit in which the model takes the error; 0 or more.
    dist: key of `DISTRIBUTIONS`.
    dof: effective degrees of freedom of u; above 0. For the shapes that use it, also of the draw.
    scope: "run", "instrument", "shared" or "model".
    origin: certificate number, standard, judgement, ... in words; never empty.
    group: free label by which a report may sum rows ("water", "combustion", "stand").

    Raises ValueError for anything else: a source that says nothing about itself is our fault.
    """

    name: str
    u: float
    dist: str = "normal"
    dof: float = inf
    scope: str
    origin: str
    group: str = ""

    def __post_init__(self) -> None:
        if not self.name:
            raise ValueError("a source of error needs a name")
        if not 0 <= self.u < inf:
            raise ValueError(f"{self.name}: u = {self.u} is not a finite number of 0 or more")
        if self.dist not in DISTRIBUTIONS:
            raise ValueError(f"{self.name}: {self.dist!r} is none of {', '.join(DISTRIBUTIONS)}")
        if isnan(self.dof) or self.dof <= 0:
            raise ValueError(f"{self.name}: dof = {self.dof} is not above 0")
        if self.scope not in SCOPES:
            raise ValueError(f"{self.name}: scope {self.scope!r} is none of {', '.join(SCOPES)}")
        if not self.origin:
            raise ValueError(f"{self.name}: a source of error says where it comes from")


def half_width(a: float, dist: str = "rectangular") -> float:
    """Standard uncertainty of an error that stays within +-a.

    Args:
        a: Half-width, in any unit; 0 or more.
        dist: "rectangular", "triangular" or "arcsine".
    Returns:
        Standard uncertainty, in the unit of a.
    Raises:
        ValueError: a shape without ends.
    Source:
        JCGM 100:2008, 4.3.7 and 4.3.9; arcsine by JCGM 101:2008, 6.4.6.

    >>> round(half_width(0.64), 4)
    0.3695
    """
    if dist not in DIVISORS:
        raise ValueError(f"{dist!r} has no half-width; expected one of {', '.join(DIVISORS)}")
    return a / DIVISORS[dist]


def resolution(step: float) -> float:
    """Standard uncertainty of reading to the nearest `step` (any unit): step / sqrt(12).

    Source: JCGM 100:2008, F.2.2.1.

    >>> round(resolution(0.1), 6)
    0.028868
    """
    return step / sqrt(12.0)


def check_names(sources: Sequence[Source]) -> None:
    """Refuse two sources of one name: what is one source must be one record."""
    seen: set[str] = set()
    for source in sources:
        if source.name in seen:
            raise ValueError(f"two sources of error are called {source.name!r}")
        seen.add(source.name)
