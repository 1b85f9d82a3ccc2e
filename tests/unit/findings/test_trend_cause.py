"""The cause test on planted causes: each is named, none is seen in clean runs, and what cannot be told is said."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.chain.water import Reduced
from headrace.findings.trend_cause import find
from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.cause import CLEAR, SMALL, Slices, judge
from headrace.notices import Notice, Severity
from headrace.records.given import RunGiven
from headrace.records.readings import Cause
from headrace.stats.gls import Known
from support import hand_made as made
from support.run_evidence import campaign_evidence, characteristic, only
from support.swept import WARM, cavitating, flat, flipped, swept, zeroed

LOW = (0.8, 0.15)
"""Pressures at which a drilled hole does not cavitate [bar]."""


def drilled(*runs: RunGiven) -> Reduced:
    article = made.article(ox=made.circuit("ox", "T-OX", element="plain-sharp"))
    return reduce(made.campaign(*runs, article=article))


def cause(reduced: Reduced) -> Cause:
    found = reduced.characteristics["ox"].cause
    assert found is not None
    return found


def told(reduced: Reduced) -> list[Notice]:
    return [one for one in reduced.notices if one.code == "trend-cause"]


def test_clean_runs_are_flat_and_nothing_is_said() -> None:
    reduced = drilled(flat("W01", LOW), flat("W02", LOW, WARM))
    assert cause(reduced).verdict == "flat"
    assert told(reduced) == []


def test_reynolds() -> None:
    reduced = reduce(
        made.campaign(swept("W01", made.WARM, 0.05), swept("W02", WARM, 0.05), swept("W03", WARM, 0.05))
    )
    found = cause(reduced)
    assert found.verdict == "reynolds"
    assert found.slope == pytest.approx(0.05, abs=2 * (found.u_slope or 0.0))
    assert only(told(reduced)).severity is Severity.INFO
    assert "a slope is carried" in only(told(reduced)).text


@pytest.mark.parametrize("zero", [4000.0, -2000.0])
def test_zero_error(zero: float) -> None:
    reduced = drilled(zeroed("W01", zero, LOW), zeroed("W02", zero, LOW, WARM))
    found = cause(reduced)
    assert found.verdict == "zero error"
    assert found.zero == pytest.approx(zero, abs=2 * (found.u_zero or 0.0))
    assert found.zero == pytest.approx(zero, rel=0.03)
    notice = only(told(reduced))
    assert notice.severity is Severity.DOUBT
    assert ("too high" if zero > 0 else "too low") in notice.text
    assert reduced.characteristics["ox"].model == "constant"
    assert "a zero error" in reduced.characteristics["ox"].why


def test_cavitation() -> None:
    reduced = drilled(cavitating("W01", 1.8, (4.0, 0.5)), cavitating("W02", 1.8, (4.0, 0.5)))
    found = cause(reduced)
    assert found.verdict == "cavitation"
    assert found.onset == pytest.approx(1.8, abs=0.05)
    assert only(told(reduced)).severity is Severity.DOUBT


def test_cavitation_over_the_whole_sweep_is_no_zero_error_of_a_bar() -> None:
    """E/sqrt(K) flat is the same curve as a drop that reads a bar too low: no instrument is that wrong."""
    assert (
        cause(drilled(cavitating("W01", 9.0, (8.0, 1.5)), cavitating("W02", 9.0, (6.0, 1.5)))).verdict
        == "cavitation"
    )


def test_flip() -> None:
    reduced = drilled(
        flipped("W01", (2.0, 0.6), until=1.2e5),
        flipped("W02", (2.0, 0.6), until=0.9e5),
        flat("W03", (1.5, 0.6)),
    )
    found = cause(reduced)
    assert found.verdict == "flip"
    assert np.exp(-(found.jump or 0.0)) == pytest.approx(0.75, rel=0.01)
    assert only(told(reduced)).severity is Severity.STOP


def test_one_sweep_at_one_temperature_separates_nothing() -> None:
    for runs in (
        (swept("W01", made.WARM, 0.05), swept("W02", made.WARM, 0.05)),
        (zeroed("W01", 4000.0, (5.0, 1.0)), zeroed("W02", 4000.0, (5.0, 1.0))),
    ):
        reduced = reduce(made.campaign(*runs))
        assert cause(reduced).verdict == "not separated"
        assert "reynolds" in cause(reduced).among
        assert only(told(reduced)).severity is Severity.DOUBT


def test_k_judges_no_gas_cored_element() -> None:
    runs = (cavitating("W01", 1.8, (4.0, 0.5)), cavitating("W02", 1.8, (4.0, 0.5)))
    assert "cavitation" not in cause(reduce(made.campaign(*runs))).scores


def test_too_few_readings_are_not_judged() -> None:
    reduced = reduce(made.campaign(made.weighed("W01", made.C * 1e-4)))
    assert reduced.characteristics["ox"].cause is None
    assert told(reduced) == []


# --- judge by itself: sizes at which it speaks


def slices(ln_area: np.ndarray, dp: np.ndarray, re: np.ndarray, **changes: object) -> Slices:
    n = ln_area.size
    one = Slices(
        ln_area=ln_area,
        covariance=Known.of(0.002**2 * np.eye(n) + 0.003**2),
        re=re,
        cav=np.full(n, 5.0),
        dp=dp,
        run=np.zeros(n, dtype=np.intp),
        zero_most=2e4,
        gas_cored=False,
    )
    return replace(one, **changes)


DP = np.tile(np.geomspace(0.5e5, 4e5, 8), 2)
RE = np.sqrt(DP) * np.repeat([100.0, 210.0], 8)


def test_a_trend_below_what_matters_is_flat_however_clear() -> None:
    sharp = Known.of(1e-5**2 * np.eye(DP.size))
    span = float(np.ptp(np.log(RE)))
    for size, verdict in ((0.9 * SMALL, "flat"), (1.1 * SMALL, "reynolds")):
        got = judge(slices(size / span * np.log(RE), DP, RE, covariance=sharp))
        assert got.verdict == verdict


def test_a_suspect_has_to_beat_a_flat_area_clearly() -> None:
    fit = slices(np.zeros(DP.size), DP, RE).fit(np.log(RE))
    for t, verdict in ((np.sqrt(CLEAR + 2) * 0.99, "flat"), (np.sqrt(CLEAR + 2) * 1.01, "not flat")):
        got = judge(slices(t * fit.u[1] * np.log(RE), DP, RE))
        assert ("flat" if got.verdict == "flat" else "not flat") == verdict


def test_false_alarms_are_seldom() -> None:
    """A constant E with the scatter that is stated: fewer than one campaign in twenty is said to have a trend."""
    draws = np.random.default_rng(5)
    plain = slices(np.zeros(DP.size), DP, RE)
    half = plain.covariance.triangle
    got = [judge(replace(plain, ln_area=half @ draws.standard_normal(DP.size))).verdict for _ in range(400)]
    assert got.count("flat") > 0.95 * 400


def test_every_zero_found_is_within_its_doubt() -> None:
    """Known truth: the u of a fitted zero error is what it scatters by over repeated campaigns."""
    draws, zero = np.random.default_rng(8), 3000.0
    plain = slices(0.5 * np.log1p(-zero / DP), DP, RE)
    half = plain.covariance.triangle
    got = [
        judge(replace(plain, ln_area=plain.ln_area + half @ draws.standard_normal(DP.size)))
        for _ in range(300)
    ]
    pulls = np.array([(one.zero - zero) / one.u_zero for one in got if one.verdict == "zero error"])
    assert pulls.size > 270
    assert abs(pulls.mean()) < 0.25
    assert pulls.std() == pytest.approx(1.0, abs=0.12)


def test_evidence_without_a_cause_says_nothing() -> None:
    assert find(campaign_evidence(characteristics=(characteristic(),))) == ()


def test_a_zero_error_without_scatter_is_found_exactly() -> None:
    for zero in (3000.0, -8000.0):
        got = judge(slices(0.5 * np.log1p(-zero / DP), DP, RE))
        assert got.zero == pytest.approx(zero, rel=1e-6)
