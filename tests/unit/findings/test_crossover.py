"""Two circuits by two lines and swapped: the planted share of the lines is found, and that of the circuits."""

from dataclasses import replace

import numpy as np
import pytest

from headrace.chain.water import Reduced
from headrace.findings.crossover import find
from headrace.jobs.reduce import reduce
from headrace.records.given import RunGiven
from headrace.records.readings import Crossover
from support import hand_made as made
from support.run_evidence import campaign_evidence, estimate, only

OX, FUEL = 2.31e-4, 1.3e-4


def four(bias: float, *, odd: float = 1.0, ox: float = OX) -> list[RunGiven]:
    """Line A reads `bias` times too much in both circuits; in the ox circuit `odd` times as well."""
    fuel = {"circuit": "fuel", "tap": "PM-FUEL"}
    return [
        made.metered("W01", ox * bias * odd, line="A"),
        made.metered("W02", FUEL, line="B", **fuel),
        made.metered("W03", ox, line="B"),
        made.metered("W04", FUEL * bias, line="A", **fuel),
    ]


def crossed(*runs: RunGiven) -> Crossover:
    (one,) = reduce(made.campaign(*runs)).crossovers
    return one


def codes(reduced: Reduced) -> list[str]:
    return [one.code for one in reduced.notices]


@pytest.mark.parametrize("bias", [1.0, 1.02, 0.985])
def test_line_and_circuit_are_separated(bias: float) -> None:
    one = crossed(*four(bias))
    assert (one.circuits, one.lines) == (("ox", "fuel"), ("A", "B"))
    assert one.line_bias.value == pytest.approx(bias - 1, abs=1e-4)
    assert one.circuit_ratio.value == pytest.approx(OX / FUEL, rel=1e-4)
    assert one.unexplained.value == pytest.approx(0.0, abs=1e-4)
    assert one.runs == ("W01", "W02", "W03", "W04")


def test_what_the_lines_do_in_one_circuit_only_is_left() -> None:
    one = crossed(*four(1.0, odd=1.03))
    assert one.unexplained.value == pytest.approx(np.log(1.03) / 2, abs=1e-4)
    assert one.line_bias.value == pytest.approx(np.sqrt(1.03) - 1, abs=1e-4)


def test_shared_errors_cancel() -> None:
    """Meter coefficients cancel from the circuits' ratio, set-ups of the runs stay in both."""
    plain = made.campaign(*four(1.0))
    vague = {
        name: replace(meter, values={**meter.values, "c": replace(meter.values["c"], u=0.02)})
        for name, meter in plain.bench.meters.items()
    }
    wide = replace(plain, bench=replace(plain.bench, meters=vague))
    (one,), (other,) = reduce(plain).crossovers, reduce(wide).crossovers
    assert other.circuit_ratio.u == pytest.approx(one.circuit_ratio.u, rel=1e-6)
    assert other.unexplained.u == pytest.approx(one.unexplained.u, rel=1e-6)
    own = 0.02 / made.C
    assert other.line_bias.u == pytest.approx(
        np.sqrt(one.line_bias.u**2 - 2 * 0.003**2 + 2 * own**2), rel=2e-3
    )  # one coefficient each line, wholly in their difference


def test_the_u_of_each_part_holds_set_ups_of_four_runs() -> None:
    one = crossed(*four(1.0))
    # four set-ups and two circuits' days, the latter in the circuits' ratio only
    assert one.unexplained.u == pytest.approx(0.5 * np.sqrt(4) * 0.003, rel=0.02)


def test_a_planted_line_bias_is_told_and_equal_lines_are_not() -> None:
    reduced = reduce(made.campaign(*four(1.03)))
    notice = only([one for one in reduced.notices if one.code == "crossover"])
    assert "line A reads +3.00 ±" in notice.text
    assert "the lines', not the circuits'" in notice.text
    assert "crossover" not in codes(reduce(made.campaign(*four(1.0))))


def test_a_difference_in_one_circuit_only_is_not_put_on_the_meters() -> None:
    notice = only(
        [one for one in reduce(made.campaign(*four(1.0, odd=1.05))).notices if one.code == "crossover"]
    )
    assert "not the meters alone" in notice.text


def test_three_runs_are_no_crossover() -> None:
    assert reduce(made.campaign(*four(1.03)[:3])).crossovers == ()


@pytest.mark.parametrize(("line", "left", "count"), [(0.0199, 0.0, 0), (0.0201, 0.0, 1), (0.0, -0.0201, 1)])
def test_limits(line: float, left: float, count: int) -> None:
    one = Crossover(
        circuits=("ox", "fuel"),
        lines=("A", "B"),
        line_bias=estimate(line, 0.01),
        circuit_ratio=estimate(1.8, 0.01),
        unexplained=estimate(left, 0.01),
        runs=(),
    )
    assert len(find(replace(campaign_evidence(), crossovers=(one,)))) == count
