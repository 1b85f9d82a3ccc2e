"""Rows of an uncertainty budget, and the degrees of freedom of their sum.

The squares of the contributions of all rows of an output add up to its squared standard uncertainty.
Start at `BudgetRow`; `welch_satterthwaite` serves anyone who adds independent parts.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import ArrayLike

from headrace.uncertainty.source import SCOPES, Source


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetRow:
    """What one source, or the product of two, adds to the standard uncertainty of one output.

    source: its name; second-order rows read "a × b", or "a × a" for the curvature in one source.
    contribution: signed, at k = 1, in the unit of the output.
    share: contribution squared over u squared; the shares of one output add up to 1.
    """

    source: str
    contribution: float
    share: float
    scope: str
    origin: str
    group: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RowHead:
    """What a budget row says about itself before there is an output."""

    name: str
    scope: str
    origin: str
    group: str
    dof: float


def head_of(source: Source) -> RowHead:
    """The first-order row of a source."""
    return RowHead(
        name=source.name, scope=source.scope, origin=source.origin, group=source.group, dof=source.dof
    )


def head_of_pair(a: Source, b: Source) -> RowHead:
    """The second-order row of two sources (or of one with itself).

    The wider of the two scopes; the group only if both share it. The row goes with u(a) u(b), so its degrees
    of freedom follow from the relative variances 1/(2 dof) of both factors, which add; with u(a)**2, whose
    relative doubt is twice that of u(a), a quarter is left.
    """
    if a == b:
        dof = a.dof / 4
    else:
        doubt = 1 / a.dof + 1 / b.dof
        dof = 1 / doubt if doubt > 0 else inf
    return RowHead(
        name=f"{a.name} × {b.name}",
        scope=max(a.scope, b.scope, key=SCOPES.index),
        origin=f"second order: {a.origin}; {b.origin}" if a != b else f"second order: {a.origin}",
        group=a.group if a.group == b.group else "",
        dof=dof,
    )


def welch_satterthwaite(contributions: ArrayLike, dofs: Iterable[float]) -> float:
    """Effective degrees of freedom of a sum of independent parts.

    Args:
        contributions: Standard uncertainty of each part, in the unit of the sum; any sign.
        dofs: Degrees of freedom of each; above 0, infinite where u is taken as known.
    Returns:
        u**4 / sum(u_i**4 / dof_i), unrounded; infinite when no part has finite degrees of freedom.
    Source:
        JCGM 100:2008, G.4.1, equation (G.2b).

    >>> round(welch_satterthwaite([0.25, 0.57, 0.82], [9, 4, 14]), 1)
    19.0
    """
    parts = np.square(np.asarray(contributions, dtype=np.float64))
    below = float(np.sum(np.square(parts) / np.fromiter(dofs, dtype=np.float64)))
    if np.isnan(below):
        return float("nan")
    return float(np.sum(parts)) ** 2 / below if below > 0 else inf
