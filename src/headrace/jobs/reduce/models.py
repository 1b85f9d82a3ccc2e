"""Which model of E against Re the runs speak for, and which others they cannot tell from it. Start at `choose`.

The criterion is Akaike's, corrected for small samples, on chi-squared with the whole covariance of the readings. A
slope competes only where it lowers the criterion against a constant: one more coefficient costs 2 by itself, and a
model that just loses that has nothing to say. Why so: docs/decisions, "a criterion for models of E against Re".
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from headrace.chain.models import MODELS, ReModel
from headrace.records.readings import ModelSeen
from headrace.stats.criterion import aicc
from headrace.stats.gls import Known
from headrace.stats.linear import least_squares_map

Array = NDArray[np.float64]

CLEAR = 2.0
"""A slope or a difference counts when it exceeds this many of its standard uncertainties."""

APART = 2.0
"""Models whose criterion differs by no more than this are not told apart. Common practice."""

SHAPE = 5e-4
"""What no source describes of the course of ln E over the slices of a run. Common practice."""

NARROW = 0.05
"""Least span in ln Re over which a slope can be seen at all."""

DECIDED, UNDECIDED, NOT_SEPARATED = "decided", "undecided", "not separated"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Covariance of ln E of all slices, in parts: of the sources without set-up, of scatter (variances), of set-up.

    run: number of the run of each slice. setup: standard uncertainty of run to run, with its degrees of freedom.
    """

    sources: Array
    noise: Array
    run: NDArray[np.intp]
    setup: float
    dof: float

    @property
    def whole(self) -> Array:
        """All of it, (n, n)."""
        together = self.run[:, None] == self.run[None, :]
        return np.asarray(self.sources + np.diag(self.noise**2) + self.setup**2 * together)

    def u(self, row: Array) -> float:
        """Standard uncertainty of a linear map of ln E."""
        return float(np.sqrt(row @ self.whole @ row))

    def dof_of(self, row: Array) -> float:
        """Effective degrees of freedom of that, by Welch and Satterthwaite: only the set-up term has finite ones."""
        if not np.isfinite(self.dof):
            return inf
        together = self.run[:, None] == self.run[None, :]
        own = float(self.setup**2 * (row @ together @ row))
        return self.dof * (self.u(row) ** 2 / own) ** 2 if own > 0 else inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """On which terms a slope may be carried.

    separated: Re varied apart from 1/dp and K. cause: another cause found for the trend, in words, or "". least_span:
    greatest over least Re below which no slope is carried, the owner's limit.
    """

    separated: bool
    cause: str
    least_span: float

    def may_carry(self, re: Array) -> bool:
        """Whether a slope may be carried at all from these."""
        return self.separated and not self.cause and float(re.max() / re.min()) >= self.least_span


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """One model fitted: as `ModelSeen`, with the row of the map that gives its coefficient (None: constant)."""

    model: ReModel
    re_ref: float
    row: Array | None
    coefficient: float
    u: float
    score: float

    @property
    def clear(self) -> bool:
        """Whether its slope is beyond its doubt."""
        return self.row is not None and abs(self.coefficient) > CLEAR * self.u

    def competes(self, constant: float) -> bool:
        """Whether it lowers the criterion against a constant: by all readings, and by its own frozen slope.

        The square of a coefficient over its u is what it takes off chi-squared, and it costs 2.
        """
        return self.score < constant and self.coefficient**2 > 2 * self.u**2


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The model carried, the others, how sure that choice is, and why it was made."""

    carried: Tried
    tried: tuple[Tried, ...]
    rivals: tuple[str, ...]
    choice: str
    why: str

    def seen(self) -> tuple[ModelSeen, ...]:
        """As records."""
        best = min(one.score for one in self.tried)
        return tuple(
            ModelSeen(
                name=one.model.name,
                coefficient=one.coefficient,
                u=one.u,
                re_ref=one.re_ref,
                score=one.score - best,
                rival=one.model.name in self.rivals,
            )
            for one in self.tried
        )


def choose(re: Array, ln_area: Array, weights: Array, spread: Spread, terms: Terms) -> Chosen:
    """Fit every model and decide.

    Args:
        re, ln_area: (n,), of every slice. weights: (n,), of the level, adding to 1; 0 for slices that do not count.
        spread: covariance of ln_area. terms: on which a slope may be carried.
    """
    tried = fitted(re, ln_area, weights, spread)
    constant, slopes = tried[0], tried[1:]
    kept = weights > 0
    span = float(re[kept].max() / re[kept].min())
    if not slopes:
        why = "constant: Re varied too little for a slope to be seen"
        return Chosen(carried=constant, tried=tried, rivals=(), choice=DECIDED, why=why)
    eligible = [one for one in slopes if one.clear and constant.score - one.score > APART]
    log = slopes[0]
    if terms.may_carry(re[kept]) and eligible:
        best = min(eligible, key=lambda one: one.score)
        others = tuple(
            one.model.name for one in slopes if one is not best and one.score - best.score <= APART
        )
        why = f"{best.model.words} carried: Re varied apart from 1/dp and K, and the slope is clear"
        if others:
            why += f"; {_words(others)} fits about as well"
        return Chosen(
            carried=best, tried=tried, rivals=others, choice=UNDECIDED if others else DECIDED, why=why
        )
    rivals = tuple(
        one.model.name for one in slopes if one.clear or (terms.separated and one.competes(constant.score))
    )
    seen = f"slope {log.coefficient:+.4f}, u {log.u:.4f}"
    if terms.cause:
        choice = NOT_SEPARATED if rivals else DECIDED
        why = f"constant: the trend of E is {terms.cause}, not Re"
    elif not terms.separated:
        choice = NOT_SEPARATED if rivals else DECIDED
        why = "constant: Re, K and 1/dp ran together, a slope could be any of them"
    elif rivals and span < terms.least_span:
        choice = UNDECIDED
        why = (
            f"undecided, constant carried: {seen}, but Re spans a factor of {span:.3g} only; a slope needs "
            f"{terms.least_span:.3g} (limits.re_span)"
        )
    elif rivals:
        choice = UNDECIDED
        why = f"undecided, constant carried: {_words(rivals)} fits about as well ({seen})"
    else:
        choice = DECIDED
        why = (
            f"constant: slope {log.coefficient:+.4f} is within {CLEAR:g} standard uncertainties "
            f"({log.u:.4f}) of none"
        )
    return Chosen(carried=constant, tried=tried, rivals=rivals, choice=choice, why=why)


def fitted(re: Array, ln_area: Array, weights: Array, spread: Spread) -> tuple[Tried, ...]:
    """Every model, constant first; the constant alone when Re does not vary enough to tell."""
    kept = weights > 0
    constant = MODELS["constant"]
    wide = bool(np.count_nonzero(kept) >= 3 and np.ptp(np.log(re[kept])) >= NARROW)
    rows = {one.name: _row(one, re, weights, kept) for one in MODELS.values() if one is not constant and wide}
    n = inf
    for one_row in rows.values():
        n = min(n, spread.dof_of(one_row) + 1)
    known = Known.of(spread.whole[np.ix_(kept, kept)] + SHAPE**2 * np.eye(int(np.count_nonzero(kept))))
    out = []
    for one in MODELS.values():
        row = rows.get(one.name)
        if row is None and one is not constant:
            continue
        re_ref = one.reference(re, weights)
        out.append(
            Tried(
                model=one,
                re_ref=re_ref,
                row=row,
                coefficient=0.0 if row is None else float(row @ ln_area),
                u=0.0 if row is None else spread.u(row),
                score=_score(one, re[kept], re_ref, ln_area[kept], known, n),
            )
        )
    return tuple(out)


def _row(model: ReModel, re: Array, weights: Array, kept: NDArray[np.bool_]) -> Array:
    """Row of the least-squares map that gives the model's coefficient, by the weights of the level."""
    x = model.basis(re, model.reference(re, weights))
    row = np.zeros_like(x)
    design = np.stack([np.ones(int(np.count_nonzero(kept))), x[kept]], axis=1)
    row[kept] = least_squares_map(design, weights[kept]).matrix[1]
    return row


def _score(model: ReModel, re: Array, re_ref: float, ln_area: Array, known: Known, n: float) -> float:
    """The criterion of a model over the readings that count."""
    design = np.ones((re.size, 1))
    if model.coefficients == 2:
        design = np.column_stack([design, model.basis(re, re_ref)])
    estimated = 0 if n == inf else 1
    return aicc(known.fit(design, ln_area).chi2, model.coefficients + estimated, n)


def _words(names: Sequence[str]) -> str:
    return " or ".join(MODELS[name].words for name in names)
