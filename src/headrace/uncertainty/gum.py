"""Propagation of uncertainty by the derivatives of a model: JCGM 100:2008 (GUM), first or second order.

Derivatives are central differences over small steps of every source, all in one array call of the model.
Nothing here draws at random. What it refuses: two sources of one name, an order other than 1 or 2. A model
that has no answer at one of the steps leaves NaN in that output: seen, never filled. Start at `gum`.

Second order. JCGM 100:2008, 5.1.2, note, adds to u**2, for every pair of sources i and j,

    (f_ij**2 / 2 + f_i f_ijj) u_i**2 u_j**2.

The first part is a product of two errors: over both orders of a pair it makes the row "i × j", of
contribution f_ij u_i u_j; for i = j the row "i × i". The second part is no product and may be negative: it
says that the slope in i, averaged over the errors of all j, is f_i + 1/2 sum_j f_ijj u_j**2 and not f_i. So
it goes into the row of i, whose square becomes f_i**2 u_i**2 + f_i u_i**2 sum_j f_ijj u_j**2. Every row then
has a sign and the squares of all rows add up to the u**2 of the note. Where the note would take more from a
row than is in it (the expansion means little there), the row keeps its first-order size: the careful side.

The note holds for normal errors. For the terms of one source alone its own fourth moment is used instead.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import floor, isinf, isnan, nan
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from headrace.stats.quantiles import t_quantile
from headrace.uncertainty.budget import BudgetRow, RowHead, head_of, head_of_pair, welch_satterthwaite
from headrace.uncertainty.distributions import DISTRIBUTIONS
from headrace.uncertainty.errors_map import Draws, Model, evaluate
from headrace.uncertainty.source import Source, check_names

NEGLIGIBLE = 1e-6
"""Second-order rows below this part of u in every output are left out: they are rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GumResult:
    """Estimates and standard uncertainties of all outputs, with every row they are made of.

    nominal: output -> value with all errors at zero.
    rows: what each column of `contributions` is about.
    contributions: (outputs, rows): signed, at k = 1, in the unit of the output.
    mean_shift: output -> how far curvature moves the mean from `nominal`, 1/2 sum f_ii u_i**2; NaN at first
        order, where it is not known. The estimate is not corrected by it (the GUM does not).
    """

    outputs: tuple[str, ...]
    sources: tuple[Source, ...]
    order: int
    nominal: Mapping[str, float]
    rows: tuple[RowHead, ...]
    contributions: NDArray[np.float64]
    mean_shift: Mapping[str, float]

    def _row(self, output: str) -> NDArray[np.float64]:
        row: NDArray[np.float64] = self.contributions[self.outputs.index(output)]
        return row

    @property
    def u(self) -> dict[str, float]:
        """Standard uncertainty of every output."""
        return {name: float(np.sqrt(np.sum(self._row(name) ** 2))) for name in self.outputs}

    @property
    def dof(self) -> dict[str, float]:
        """Effective degrees of freedom of every output, unrounded: JCGM 100:2008, G.4.1."""
        dofs = [row.dof for row in self.rows]
        return {name: welch_satterthwaite(self._row(name), dofs) for name in self.outputs}

    def expanded(self, output: str, coverage: float = 0.95) -> float:
        """Half-width of the interval of that coverage: Student's t of the degrees of freedom times u.

        Degrees of freedom are cut to the next lower whole number, the careful side (JCGM 100:2008, G.4.1).
        """
        u, dof = self.u[output], self.dof[output]
        if isnan(u):
            return nan
        whole = dof if isinf(dof) or dof < 1 else floor(dof * (1 + 1e-12))
        return float(t_quantile(0.5 + coverage / 2, whole)) * u

    def interval(self, output: str, coverage: float = 0.95) -> tuple[float, float]:
        """Nominal minus and plus the expanded uncertainty."""
        half = self.expanded(output, coverage)
        return self.nominal[output] - half, self.nominal[output] + half

    @property
    def covariance(self) -> NDArray[np.float64]:
        """Covariance of the outputs, in their order, from the sources they share."""
        return self.contributions @ self.contributions.T

    @property
    def correlation(self) -> NDArray[np.float64]:
        """Correlation of the outputs, in their order; NaN with an output that has no uncertainty."""
        u = np.sqrt(np.diag(self.covariance))
        scale = np.outer(u, u)
        result: NDArray[np.float64] = np.full(scale.shape, nan)
        np.divide(self.covariance, scale, out=result, where=scale > 0)
        return result

    def budget(self, output: str) -> tuple[BudgetRow, ...]:
        """All rows of one output, largest share first (equal shares in order of declaration)."""
        row = self._row(output)
        total = float(np.sum(row**2))
        return tuple(
            BudgetRow(
                source=head.name,
                contribution=float(part),
                share=float(part**2) / total if total > 0 else (nan if isnan(total) else 0.0),
                scope=head.scope,
                origin=head.origin,
                group=head.group,
            )
            for head, part in sorted(
                zip(self.rows, row, strict=True), key=lambda pair: 0.0 if isnan(pair[1]) else -abs(pair[1])
            )
        )


def gum(
    model: Model,
    sources: Sequence[Source],
    *,
    order: Literal[1, 2] = 1,
    step: float = 0.01,
    step_second: float = 0.03,
    outputs: Sequence[str] | None = None,
    columns: int = 8192,
) -> GumResult:
    """Propagate the sources through the model by its first, or first and second, derivatives.

    Args:
        model: Pure function of `Errors`.
        sources: All sources the model asks for; each name once. More than it asks for add zero rows.
        order: 1, or 2 with all mixed terms (about 2 n**2 evaluations for n sources).
        step: Half-span of first differences, in standard uncertainties. At 0.01 the cut-off error is about
            1e-4 of the third-order part of the model, and rounding stays below 1e-6 of any contribution
            larger than 1e-8 of the output itself.
        step_second: The same for second and third differences, whose rounding grows with its square.
        outputs: Names to keep; None keeps all.
        columns: The model is called with at most this many columns at once.
    Returns:
        Estimates, contributions of every row, and what follows from them.
    Raises:
        ValueError: a name twice, or an order or step out of range.
        UnknownSource: the model asks for a source that is not among them.
    Source:
        JCGM 100:2008, 5.1.2 with its note, and 5.1.3; covariance of outputs by JCGM 102:2011, 6.2.

    >>> from headrace.uncertainty.source import Source
    >>> a = Source(name="a", u=3.0, scope="run", origin="example")
    >>> b = Source(name="b", u=4.0, scope="run", origin="example")
    >>> round(gum(lambda e: {"sum": 10 + e["a"] + e["b"]}, [a, b]).u["sum"], 9)
    5.0
    """
    check_names(sources)
    if order not in (1, 2):
        raise ValueError(f"order = {order} is neither 1 nor 2")
    if not (step > 0 and step_second > 0 and columns > 0):
        raise ValueError("step, step_second and columns must be above 0")
    u = np.array([source.u for source in sources])
    points = _first_points(len(sources)) * step
    if order == 2:
        points = np.concatenate([points, _second_points(len(sources)) * step_second], axis=1)
    values = _evaluate_at(model, sources, u, points, outputs, columns)
    names = tuple(values)
    table = np.stack([values[name] for name in names]) if names else np.empty((0, points.shape[1]))

    n = len(sources)
    nominal, table = table[:, 0], table[:, 1:]
    slopes = (table[:, :n] - table[:, n : 2 * n]) / (2 * step)  # per standard uncertainty
    rows = [head_of(source) for source in sources]
    shift = np.full(len(names), nan)
    if order == 2:
        slopes, pairs, pair_rows, shift = _second_order(
            sources, slopes, nominal, table[:, 2 * n :], step_second
        )
        rows += pair_rows
        slopes = np.concatenate([slopes, pairs], axis=1)
    return GumResult(
        outputs=names,
        sources=tuple(sources),
        order=order,
        nominal=dict(zip(names, nominal.tolist(), strict=True)),
        rows=tuple(rows),
        contributions=slopes,
        mean_shift=dict(zip(names, shift.tolist(), strict=True)),
    )


def _evaluate_at(
    model: Model,
    sources: Sequence[Source],
    u: NDArray[np.float64],
    points: NDArray[np.float64],
    outputs: Sequence[str] | None,
    columns: int,
) -> dict[str, Draws]:
    """Outputs at all points (sources, columns), given in standard uncertainties."""
    parts: list[dict[str, Draws]] = []
    for start in range(0, points.shape[1], columns):
        block = points[:, start : start + columns]
        errors = {s.name: row * scale for s, row, scale in zip(sources, block, u, strict=True)}
        parts.append(evaluate(model, errors, block.shape[1], outputs))
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


def _first_points(n: int) -> NDArray[np.float64]:
    """Nominal, then +1 of each source, then -1 of each."""
    eye = np.eye(n)
    return np.concatenate([np.zeros((n, 1)), eye, -eye], axis=1)


def _second_points(n: int) -> NDArray[np.float64]:
    """+1, -1, +2, -2 of each source, then (+,+), (+,-), (-,+), (-,-) of each pair i < j."""
    eye = np.eye(n)
    first, second = np.triu_indices(n, 1)
    corners = [a * eye[:, first] + b * eye[:, second] for a, b in ((1, 1), (1, -1), (-1, 1), (-1, -1))]
    return np.concatenate([eye, -eye, 2 * eye, -2 * eye, *corners], axis=1)


def _second_order(
    sources: Sequence[Source],
    slopes: NDArray[np.float64],
    nominal: NDArray[np.float64],
    table: NDArray[np.float64],
    h: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64], list[RowHead], NDArray[np.float64]]:
    """First-order rows with the bend, second-order contributions with their heads, and the shift of the mean.

    All derivatives are per standard uncertainty of each source (d_ij stands for f_ij u_i u_j).
    """
    n = len(sources)
    first, second = np.triu_indices(n, 1)
    p, m, p2, m2 = (table[:, k * n : (k + 1) * n] for k in range(4))
    pp, pm, mp, mm = np.split(table[:, 4 * n :], 4, axis=1)
    centre = nominal[:, None]
    kurtosis = np.array([DISTRIBUTIONS[source.dist].kurtosis for source in sources])

    d_ii = (p - 2 * centre + m) / h**2
    d_iii = (p2 - 2 * p + 2 * m - m2) / (2 * h**3)
    d_ij = (pp - pm - mp + mm) / (4 * h**2)
    d_ijj = ((pp + pm - 2 * p[:, first]) - (mp + mm - 2 * m[:, first])) / (2 * h**3)
    d_jii = ((pp + mp - 2 * p[:, second]) - (pm + mm - 2 * m[:, second])) / (2 * h**3)

    # f_i f_iii mu_4 / 3 for one source: kurtosis 3 gives the note's f_i f_iii u**4
    bend = d_iii * kurtosis / 3
    to_first, to_second = np.eye(n)[first], np.eye(n)[second]
    bend = bend + d_ijj @ to_first + d_jii @ to_second

    # (mu_4 - u**4) f_ii**2 / 4: kurtosis 3 gives the note's f_ii**2 u**4 / 2
    curved = 0.5 * d_ii * np.sqrt(kurtosis - 1)
    parts = np.concatenate([curved, d_ij], axis=1)
    heads = [(i, i) for i in range(n)] + list(zip(first.tolist(), second.tolist(), strict=True))
    size = np.sqrt(np.sum(slopes**2, axis=1) + np.sum(parts**2, axis=1))[:, None]
    # an output with a NaN keeps no row here; its first rows, which use every point, are NaN and tell
    kept = np.flatnonzero(np.any(np.abs(parts) > NEGLIGIBLE * size, axis=0))
    return (
        _bent(slopes, bend),
        parts[:, kept],
        [head_of_pair(sources[heads[k][0]], sources[heads[k][1]]) for k in kept.tolist()],
        0.5 * np.sum(d_ii, axis=1),
    )


def _bent(slopes: NDArray[np.float64], bend: NDArray[np.float64]) -> NDArray[np.float64]:
    """First-order rows whose squares hold the note's terms in third derivatives, where they can."""
    square = slopes**2 + slopes * bend
    return np.sign(slopes) * np.sqrt(np.where(square < 0, slopes**2, square))
