"""A meter that is still on its way to the flow for a good part of its run."""

from dataclasses import replace
from typing import Any

from headrace.bench.meters import METERS
from headrace.findings import meter_slow
from headrace.records.given import MeterGiven, Stated
from support.run_evidence import Scene, instrument, only


def test_a_meter_that_answers_too_slowly_for_its_run() -> None:
    """Eight seconds of flow: 0.4 s are told, 0.39 s are not; a drop is as fast as its cell."""

    def scene(late: float, kind: str = "mass-flow") -> Any:
        one = Scene()
        one.instruments["DP-A"] = instrument("DP-A", "mass_flow", 10.0, lag=Stated(value=late))
        found = one.evidence()
        meter = MeterGiven(id="FV-A", kind=kind, values={}, instruments={METERS[kind].role: "DP-A"})
        bench = replace(found.campaign.bench, meters={"FV-A": meter})
        return replace(found, campaign=replace(found.campaign, bench=bench))

    assert meter_slow.find(Scene().evidence()) == ()
    assert meter_slow.find(scene(0.39)) == ()
    assert meter_slow.find(scene(2.0, "venturi-machined")) == ()
    notice = only(meter_slow.find(scene(0.41)))
    assert dict(notice.facts) == {"lag": 0.41, "duration": 8.0}
