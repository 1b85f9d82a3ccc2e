"""A circuit alone and with its neighbour: the planted ratio is a result, told when it counts."""

from dataclasses import replace

import pytest

from headrace.chain.water import Reduced
from headrace.findings.neighbour_effect import find
from headrace.jobs.reduce import reduce
from headrace.records.given import Campaign, RunGiven, SideCircuit
from headrace.records.readings import Comparison
from support import hand_made as made
from support.run_evidence import campaign_evidence, estimate, only

E = 2.31e-4


def both(share: float) -> RunGiven:
    """ox by line A and fuel by line B in one run; ox passes `share` of what it passes alone."""
    run = made.metered("W02", share * E)
    assert run.trace is not None
    channels = run.trace.channels | {
        "DP-B": run.trace.channels["DP-A"] * 0.25,
        "PM-FUEL": run.trace.channels["PM-OX"],
    }
    second = replace(run.flows[0], circuits=("fuel",), lines=("B",), p_tap="PM-FUEL")
    return replace(run, trace=made.trace(channels), flows=(run.flows[0], second))


def campaign(share: float, *, owned: str | None = None) -> Campaign:
    engine = made.engine()
    chosen = [SideCircuit(id="ox", step=0.02, characteristic=owned)]
    engine = made.with_side(engine, "ox", circuits=tuple(chosen))
    return made.campaign(made.metered("W01", E), both(share), engine=engine)


def of(reduced: Reduced) -> Comparison:
    (one,) = [one for one in reduced.comparisons if one.kind == "neighbour"]
    return one


@pytest.mark.parametrize("share", [1.0, 0.97])
def test_the_ratio_is_a_result_with_shared_parts_cancelled(share: float) -> None:
    one = of(reduce(campaign(share)))
    assert (one.stream, one.a, one.b) == ("ox", "ox (together)", "ox")
    assert one.ratio.value == pytest.approx(share, rel=1e-4)
    assert one.ratio.u == pytest.approx(
        share * 0.003 * 2**0.5, rel=0.03
    )  # two set-ups; meter, day and zero are gone
    assert one.ratio.low < share < one.ratio.high


@pytest.mark.parametrize(
    ("owned", "carried"), [(None, "alone"), ("together", "together"), ("alone", "alone")]
)
def test_it_says_which_one_the_engine_carries_and_why(owned: str | None, carried: str) -> None:
    one = of(reduce(campaign(1.0, owned=owned)))
    assert one.carried == carried
    assert ("owner" in one.why) is (owned is not None)


def test_a_planted_effect_is_told_with_what_is_carried() -> None:
    notice = only([one for one in reduce(campaign(0.96)).notices if one.code == "neighbour-effect"])
    assert "-4.00 ±" in notice.text
    assert "The engine carries alone" in notice.text
    assert "neighbour-effect" not in {one.code for one in reduce(campaign(1.0)).notices}


@pytest.mark.parametrize(
    ("ratio", "u", "count"),
    [(0.9951, 0.001, 0), (0.9949, 0.001, 1), (1.0199, 0.01, 0), (1.0201, 0.01, 1)],
)
def test_limits(ratio: float, u: float, count: int) -> None:
    one = Comparison(kind="neighbour", stream="ox", a="ox (together)", b="ox", ratio=estimate(ratio, u))
    assert len(find(replace(campaign_evidence(), comparisons=(one,)))) == count
    other = replace(one, kind="sum")
    assert find(replace(campaign_evidence(), comparisons=(other,))) == ()
