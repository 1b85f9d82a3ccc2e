"""To what the vessels settle, against the simulator: its air keeps its mass and comes back to its temperature."""

from pathlib import Path

import pytest

from headrace.demo import scenario
from headrace.files import folder
from headrace.jobs.day.find import metered
from headrace.jobs.day.walk import walk
from headrace.jobs.reduce import reduce
from headrace.jobs.verdict.settle import settled
from support.bench_ledger import BENCH, event, state, write
from support.hand_run import water_run

SINGLE = 0.85
"""Gas of one air vessel and the ullage of one water vessel before each run, as the plan has it [m3]."""


def test_the_printed_interval_holds_what_the_air_comes_to(tmp_path: Path) -> None:
    """Same mass, same temperature: p0 V0 = p V. Runs of one vessel, gauges read to 0.1 bar, exponent 1.2 ± 0.1."""
    truth = scenario.write(tmp_path)
    plan = {one.id: one for one in scenario.plan().runs}
    campaign = folder.read(tmp_path)
    reduced, day = reduce(campaign), walk(campaign)
    water = metered(reduced)
    inside, widths = [], []
    for run, given in campaign.runs.items():
        if len(given.flows) > 1:
            continue
        found, basis, lacking = settled(campaign, given, reduced.runs[run], day, water.get(run))
        assert lacking == ()
        (true,) = truth.runs[run].mass.values()
        p_abs = (plan[run].p_start + plan[run].ambient.si) * SINGLE / (SINGLE + true / 999.0)
        one = next(iter(found.values()))
        inside.append(one.low <= p_abs - plan[run].ambient.si <= one.high)
        widths.append((one.high - one.low) / one.value)
        assert all("as the run ended" in where for where in basis.values())
    assert len(inside) == 15
    assert sum(inside) >= 14
    assert max(widths) < 0.08


@pytest.mark.parametrize(("n", "factor"), [(1.1, 1.027), (1.4, 1.111)])
def test_the_exponent_of_the_campaign_counts(tmp_path: Path, n: float, factor: float) -> None:
    """30 % of expansion: the air recovers by 1.3^(n - 1). Closed form."""
    level = {"WV-A": "1.200 m"}
    lower = f"{1.2 - 0.3 * (0.5 + 0.4 - 0.31) / 0.25:.4f} m"  # 30 % of the 0.59 m3 of gas drawn
    vessels = BENCH.replace('"0.400 m3 ± 1 %"', '"0.400 m3"').replace('"1.000 m3 ± 0.5 %"', '"0.500 m3"')
    where = write(
        tmp_path,
        state("09:00", p={"AV-A": "30.00 bar(g)"}, level=level),
        event("09:10", "run", run="W01", p={"AV-A": "19.00 bar(g)"}, level={"WV-A": lower}),
        bench=vessels,
    )
    text = (where / "campaign.toml").read_text(encoding="utf-8")
    (where / "campaign.toml").write_text(
        f'{text}[defaults]\npolytropic = "{n} ± 0.1 (k=1)"\n', encoding="utf-8"
    )
    campaign = folder.read(where)
    found, _, _ = settled(campaign, water_run("W01", lines=("A",)), None, walk(campaign), None)
    one = found["AV-A"]
    assert (one.value + 1e5) / 20e5 == pytest.approx(factor, abs=6e-4)
    assert one.u > 20e5 * factor * 0.1 * 0.26  # ln 1.3 = 0.262 for each 0.1 of n is 2.6 %
