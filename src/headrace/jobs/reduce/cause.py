"""What explains the trend of E over the readings: Re, a zero error, cavitation, a flip, or nothing. Start at `judge`.

Each suspect is a fit of ln E over all slices of the runs that count, those that cavitate too, judged by Akaike's
criterion on chi-squared with the whole covariance of the slices. A suspect has to beat a flat E, and to beat the
others, by `CLEAR`; otherwise nothing separated them. Evidence only: nothing here changes a number.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from headrace.bench.elements import ELEMENTS
from headrace.jobs.reduce.context import Prepared, SliceNominal
from headrace.jobs.reduce.models import Spread
from headrace.records.given import Campaign
from headrace.records.readings import Cause
from headrace.stats.criterion import aicc
from headrace.stats.gls import Generalised, Known

Array = NDArray[np.float64]

CLEAR = 4.0
"""Difference of the criterion that decides between suspects: less support beyond that. Common practice."""

SMALL = 0.003
"""A trend that moves E by less than this over the readings is none. Common practice."""

SHAPE = 1e-3
"""What no source describes of the course of ln E over the slices of a run, for this test. Common practice."""

ONSET = 2.5
"""Greatest K at which a hole may begin to cavitate. Common practice: 1.5 to 2 for drilled holes."""

STEP, STEP_OF_RUNS = 0.02, 0.08
"""Least step of ln E that may be a flip: met within a run, or only between runs. Common practice: it takes a tenth and
more."""

ZERO = 0.02
"""Greatest zero error that is one, as a share of the range of the tap's instrument. Common practice."""

NOT_REYNOLDS: Mapping[str, str] = MappingProxyType(
    {"zero error": "a zero error", "cavitation": "cavitation", "flip": "a flip"}
)
"""Causes that forbid a slope in Re to be carried, in words."""

LEAST = 4
"""Readings below which nothing is judged."""

SEPARATED = 0.9
"""|correlation| of ln Re with 1/dp from which neither explains anything without the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slices:
    """All slices of a characteristic: ln E with its covariance, and what may explain it; in order of run and time.

    zero_most: greatest zero error that is plausible [Pa].
    """

    ln_area: Array
    covariance: Known
    re: Array
    cav: Array
    dp: Array
    run: NDArray[np.intp]
    zero_most: float
    gas_cored: bool

    def fit(self, *columns: Array, offset: Array | float = 0.0) -> Generalised:
        """A level and these columns."""
        design = np.column_stack([np.ones_like(self.ln_area), *columns])
        return self.covariance.fit(design, self.ln_area - offset)


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """How well one suspect explains ln E: its score, how far it moves E over the readings, its numbers."""

    score: float
    moves: float
    facts: Mapping[str, float]


def cause_of(
    campaign: Campaign,
    members: list[Prepared],
    spread: Callable[[float], tuple[Array, Spread]],
) -> Cause | None:
    """The cause test of one characteristic; None with too few readings to judge.

    Args:
        campaign: for its run-to-run term and what K means to this element.
        members: every stream that counts, with all its slices.
        spread: ln E of all slices with its covariance, for a run-to-run term. The owner's default is used, for by their
            own scatter runs would excuse the very trend that is looked for.
    """
    nominal = [one for prepared in members for one in prepared.slices]
    if len(nominal) < LEAST:
        return None
    ln_area, known = spread(campaign.defaults.run_to_run)
    slices = Slices(
        ln_area=ln_area,
        covariance=Known.of(known.whole + SHAPE**2 * np.eye(len(nominal))),
        re=_of(nominal, "re"),
        cav=_of(nominal, "cav"),
        dp=_of(nominal, "dp"),
        run=known.run,
        zero_most=_zero_most(campaign, members),
        gas_cored=ELEMENTS[members[0].circuit.element].gas_cored,
    )
    return judge(slices)


def judge(slices: Slices) -> Cause:
    """Hold every suspect against a flat E and against each other."""
    flat = aicc(slices.fit().chi2, 1)
    found = {name: test(slices) for name, test in SUSPECTS.items()}
    met = {name: one for name, one in found.items() if one is not None}
    scores = {"flat": flat} | {name: one.score for name, one in met.items()}
    best = min(scores.values())
    scores = {name: score - best for name, score in scores.items()}
    seen = {
        name: one for name, one in met.items() if scores["flat"] - scores[name] > CLEAR and one.moves > SMALL
    }
    if not seen:
        return _cause("flat", "flat: E has no trend beyond its doubt", (), scores, {}, slices)
    first = min(seen, key=lambda name: scores[name])
    among = tuple(name for name in seen if scores[name] - scores[first] <= CLEAR)
    facts = {key: value for name in among for key, value in seen[name].facts.items()}
    if len(among) == 1 and (first != "reynolds" or _apart(slices)):
        return _cause(first, _said(first, facts), among, scores, facts, slices)
    if len(among) == 1:
        among = (first, *(name for name in met if name in ("zero error", "cavitation")))
    if len(among) == 1:
        why = "not separated: E goes with Re, but K and 1/dp ran along with it"
    else:
        why = f"not separated: {', '.join(among[:-1])} or {among[-1]} could explain the trend of E"
    return _cause("not separated", why, among, scores, facts, slices)


def _reynolds(slices: Slices) -> Suspect | None:
    x = np.log(slices.re)
    if np.ptp(x) < 0.05:
        return None
    fit = slices.fit(x - x.mean())
    slope = float(fit.coefficients[1])
    facts = {"slope": slope, "u_slope": float(fit.u[1])}
    return Suspect(score=aicc(fit.chi2, 2), moves=abs(slope) * float(np.ptp(x)), facts=facts)


def _zero_error(slices: Slices) -> Suspect | None:
    """ln E = level + 1/2 ln(1 - zero/dp): the drop reads too high by `zero`, at the tap or as much at the meter."""
    if np.ptp(np.log(slices.dp)) < 0.05:
        return None
    zero, most = 0.0, 0.9 * float(slices.dp.min())
    for _ in range(8):
        at = 0.5 * np.log1p(-zero / slices.dp)
        fit = slices.fit(-0.5 / (slices.dp - zero), offset=at)
        zero = float(np.clip(zero + fit.coefficients[1], -10 * most, most))
    shape = 0.5 * np.log1p(-zero / slices.dp)
    left = slices.fit(offset=shape)
    if abs(zero) > slices.zero_most:
        return None
    facts = {"zero": zero, "u_zero": float(fit.u[1])}
    return Suspect(score=aicc(left.chi2, 2), moves=float(np.ptp(shape)), facts=facts)


def _cavitation(slices: Slices) -> Suspect | None:
    """E flat above an onset of K and falling with sqrt(K) below it."""
    low = slices.cav.min()
    if slices.gas_cored or low > ONSET:
        return None
    onsets = np.linspace(low, min(ONSET, float(slices.cav.max())), 60)[1:]
    onsets = onsets[np.sum(slices.cav[:, None] < onsets, axis=0) >= 2]
    if onsets.size == 0:
        return None
    shapes = 0.5 * np.log(np.minimum(slices.cav[:, None], onsets))
    chi2 = slices.covariance.about_level(slices.ln_area[:, None] - shapes)
    best = int(np.argmin(chi2))
    return Suspect(
        score=aicc(float(chi2[best]), 2),
        moves=float(np.ptp(shapes[:, best])),
        facts={"onset": float(onsets[best])},
    )


def _flip(slices: Slices) -> Suspect | None:
    """Two levels of E, each run passing from one to the other at most once, and both met over the same drops."""
    if slices.gas_cored or slices.cav.min() > ONSET:
        return None
    order = np.sort(slices.ln_area)
    gaps = np.diff(order)
    at = int(np.argmax(gaps))
    if gaps[at] < STEP / 2:
        return None
    upper = slices.ln_area > (order[at] + order[at + 1]) / 2
    within = False
    for run in np.unique(slices.run):
        turns = np.count_nonzero(np.diff(upper[slices.run == run]))
        if turns > 1:
            return None
        within |= turns == 1
    overlap = slices.dp[upper].max() > 1.02 * slices.dp[~upper].min() and (
        slices.dp[~upper].max() > 1.02 * slices.dp[upper].min()
    )
    fit = slices.fit(upper.astype(float))
    step = float(fit.coefficients[1])
    if not overlap or step < (STEP if within else STEP_OF_RUNS):
        return None
    return Suspect(score=aicc(fit.chi2, 3), moves=step, facts={"jump": step, "u_jump": float(fit.u[1])})


SUSPECTS: Mapping[str, Callable[[Slices], Suspect | None]] = MappingProxyType(
    {"reynolds": _reynolds, "zero error": _zero_error, "cavitation": _cavitation, "flip": _flip}
)
"""Every suspect by name; None where it cannot be tried."""


def _apart(slices: Slices) -> bool:
    """Whether ln Re varied apart from 1/dp: only then is a trend with Re told from one with the drop."""
    return bool(abs(np.corrcoef(np.log(slices.re), 1 / slices.dp)[0, 1]) < SEPARATED)


def _zero_most(campaign: Campaign, members: list[Prepared]) -> float:
    """Of the tap's instruments: what each run may have read wrong at its zero [Pa]."""
    flows = [(one, flow) for one in members for flow in campaign.runs[one.run].flows]
    tags = {flow.p_tap for one, flow in flows if "+".join(flow.circuits) == one.stream}
    return ZERO * max(campaign.bench.instruments[tag].span for tag in tags)


def _said(name: str, facts: Mapping[str, float]) -> str:
    words = {
        "reynolds": "reynolds: E goes with Re, d ln E/d ln Re = {slope:+.4f} (u {u_slope:.4f})",
        "zero error": "zero error: E goes with 1/dp as if the drop read {zero_mbar:+.1f} mbar (u {u_mbar:.1f}) "
        "from the truth",
        "cavitation": "cavitation: below K = {onset:.2f} E falls with the root of K",
        "flip": "flip: E has two levels {percent:.1f} % apart over the same drops",
    }
    return words[name].format(
        **facts,
        zero_mbar=facts.get("zero", 0.0) / 100,
        u_mbar=facts.get("u_zero", 0.0) / 100,
        percent=100 * float(np.expm1(facts.get("jump", 0.0))),
    )


def _cause(
    verdict: str,
    why: str,
    among: tuple[str, ...],
    scores: Mapping[str, float],
    facts: Mapping[str, float],
    slices: Slices,
) -> Cause:
    return Cause(
        verdict=verdict,
        why=why,
        among=among,
        scores=scores,
        slope=facts.get("slope"),
        u_slope=facts.get("u_slope"),
        zero=facts.get("zero"),
        u_zero=facts.get("u_zero"),
        onset=facts.get("onset"),
        jump=facts.get("jump"),
        u_jump=facts.get("u_jump"),
        readings=slices.ln_area.size,
    )


def _of(nominal: list[SliceNominal], field: str) -> Array:
    return np.array([float(getattr(one, field)) for one in nominal])
