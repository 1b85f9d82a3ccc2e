"""A venturi calibrated in place: its factor, what cancels in it, and how far errors drawn in a simulated bench go."""

from dataclasses import replace
from math import log, sqrt
from pathlib import Path

import numpy as np
import pytest

from headrace.files.check import check
from headrace.files.folder import read
from headrace.jobs.reduce import reduce
from headrace.jobs.reduce.in_place import calibrated
from headrace.records.given import Accuracy, Bench, Campaign, RunGiven, Stated, Total
from headrace.records.in_place import InPlace
from support import golden_folder
from support import hand_made as made

E, BAR = 2.31e-4, made.BAR
RHO = made.rho_of(made.WARM, made.AMBIENT + 4.5 * BAR)
BUOYANCY = (1 - 1.2 / 8000) / (1 - 1.2 / RHO)
MASS = float(np.trapezoid(made.flow_of(E, made.p_fall(6 * BAR, 3 * BAR), RHO), made.TIME))
U_SCALE = 5e-4  # of the scale in `hand_made`, of reading


def calibrating(name: str, off: float = 0.0, u: float = 0.01) -> RunGiven:
    """The scale says so much more than the meter."""
    mass = Stated(value=MASS / BUOYANCY * (1 + off), u=u, dist="normal")
    return replace(made.metered(name, E), total=Total(mass=mass, instrument="SCALE"), calibrates="FV-A")


def place_of(campaign: Campaign) -> InPlace:
    found = calibrated(campaign).bench.meters["FV-A"].in_place
    assert found is not None
    return found


def weight(place: InPlace, name: str) -> float:
    return sum(one.weight for one in place.parts if one.name == name)


def budget(campaign: Campaign, key: str = "ox") -> dict[str, float]:
    """Relative contributions to the effective area by source."""
    found = reduce(campaign).characteristics[key]
    return {line.source: abs(line.contribution) / found.area_eff.value for line in found.budget}


def test_the_factor_is_scale_over_meter_and_every_run_has_it() -> None:
    other = made.metered("W02", E)
    campaign = made.campaign(calibrating("W01", 0.02), other)
    assert place_of(campaign).factor == pytest.approx(1.02, rel=2e-5)
    assert place_of(campaign).runs == ("W01",)
    plain = reduce(made.campaign(other)).characteristics["ox"].area_eff.value
    found = reduce(campaign)
    assert found.characteristics["ox"].area_eff.value == pytest.approx(1.02 * plain, rel=3e-5)
    closed = found.runs["W01"].closure
    assert closed is not None
    assert closed.ratio.value == pytest.approx(0.0, abs=1e-9)


def test_what_cancels_and_what_is_left() -> None:
    """Coefficient, bores and the cell's gain drop out of the runs; the scale comes in whole, once."""
    lines = budget(made.campaign(calibrating("W01"), made.metered("W02", E)))
    for name in ("FV-A.c", "FV-A.d_throat", "FV-A.d_pipe"):
        assert lines.get(name, 0.0) < 1e-6
    assert lines["SCALE.gain"] == pytest.approx(U_SCALE, rel=0.01)
    assert lines["FV-A.in_place"] == pytest.approx(0.003, rel=0.01)  # one run only: the default of run to run
    without = budget(made.campaign(made.metered("W01", E), made.metered("W02", E)))
    assert without["FV-A.c"] == pytest.approx(0.003, rel=0.01)
    assert "SCALE.gain" not in without
    place = place_of(made.campaign(calibrating("W01")))
    assert weight(place, "SCALE.gain") == pytest.approx(1.0, rel=1e-3)
    assert weight(place, "FV-A.c") == pytest.approx(-1.0, rel=1e-3)
    assert weight(place, "FV-A.d_throat") == pytest.approx(-2 / (1 - 0.5**4) / made.D_THROAT, rel=1e-3)


def test_a_run_left_out_calibrates_nothing() -> None:
    campaign = made.campaign(replace(calibrating("W01", 0.02), excluded="spilt"), made.metered("W02", E))
    assert calibrated(campaign) is campaign


def test_the_mean_of_runs_and_their_scatter() -> None:
    """ln of 1.00, 1.01 and 1.03: mean and scatter / sqrt 3, less what each run's own reading of the scale explains."""
    offs = (0.0, 0.01, 0.03)
    place = place_of(made.campaign(*(calibrating(f"W0{k}", off, u=0.1) for k, off in enumerate(offs))))
    logs = np.log1p(offs)
    assert log(place.factor) == pytest.approx(float(np.mean(logs)), abs=2e-5)
    (scatter,) = [one for one in place.parts if one.name == "FV-A.in_place"]
    own = [
        sum((3 * one.weight * one.u) ** 2 for one in place.parts if one.name.startswith(f"W0{k}."))
        for k in range(3)
    ]
    assert own[0] > (0.1 / MASS) ** 2
    assert scatter.u == pytest.approx(sqrt((np.var(logs, ddof=1) - np.mean(own)) / 3), rel=2e-3)
    assert scatter.dof == 2
    assert weight(place, "W00.total") == pytest.approx(1 / 3 / MASS * BUOYANCY, rel=0.01)
    quiet = place_of(made.campaign(*(calibrating(f"W0{k}", u=0.1) for k in range(3))))
    assert not [one for one in quiet.parts if one.name == "FV-A.in_place"]


def test_beyond_the_reynolds_numbers_of_its_calibration_it_is_told() -> None:
    slow = made.metered("W02", E, p=(0.9 * BAR, 0.6 * BAR))
    codes = [one.code for one in reduce(made.campaign(calibrating("W01"), slow)).notices]
    assert "meter-out-of-scope" in codes
    near = made.metered("W02", E, p=(6 * BAR, 3 * BAR))
    assert "meter-out-of-scope" not in [
        one.code for one in reduce(made.campaign(calibrating("W01"), near)).notices
    ]


def exact_bench(c_off: float = 0.0) -> Bench:
    """Only the meter's coefficient, the cell's gain and the scale may be wrong. c_off: of the stated coefficient."""
    bench = made.bench()
    values = {
        "d_pipe": Stated(value=made.D_PIPE), "d_throat": Stated(value=made.D_THROAT),
        "c": Stated(value=made.C * (1 + c_off), u=0.01 * made.C, dist="normal"),
    }  # fmt: skip
    cell = made.instrument("DP-A", "drop", 1.6 * BAR, accuracy=Accuracy(of_reading=0.004, dist="normal"))
    tap = made.instrument("PM-OX", "gauge", 10 * BAR, accuracy=Accuracy())
    return replace(
        bench,
        meters={**bench.meters, "FV-A": made.meter("A", values=values)},
        instruments={**bench.instruments, "DP-A": cell, "PM-OX": tap},
    )


def test_areas_of_drawn_benches_spread_as_is_claimed() -> None:
    """Known truth: benches whose cell, coefficient and scale are wrong as stated. Only the scale is left."""
    dice = np.random.default_rng(12)
    seen = []
    for _ in range(12):
        cell, c, scale = 1 + dice.normal(0, 0.004), dice.normal(0, 0.01), dice.normal(0, U_SCALE)
        runs = []
        for run in (calibrating("W01", scale, u=0.0), made.metered("W02", E)):
            assert run.trace is not None
            channels = {**run.trace.channels, "DP-A": run.trace.channels["DP-A"] * cell}
            runs.append(replace(run, trace=replace(run.trace, channels=channels)))
        found = reduce(made.campaign(*runs, bench=exact_bench(c))).characteristics["ox"].area_eff.value
        seen.append((log(found / E), scale))
    areas, scales = np.array(seen).T
    np.testing.assert_allclose(areas, scales, atol=1e-4)
    lines = budget(made.campaign(calibrating("W01", u=0.0), made.metered("W02", E), bench=exact_bench()))
    assert lines["SCALE.gain"] == pytest.approx(U_SCALE, rel=0.01)
    assert lines.get("FV-A.c", 0.0) < 1e-6
    assert lines.get("DP-A.gain", 0.0) < 2e-5


def test_what_a_run_s_own_weighing_shares_with_the_calibration_cancels() -> None:
    """A metered run against a weighed one on the same scale: the scale moves both, so their difference not at all."""
    weighed = made.weighed("W03", E)
    assert weighed.total is not None
    weighed = replace(weighed, total=replace(weighed.total, instrument="SCALE"))
    campaign = made.campaign(calibrating("W01"), made.metered("W02", E), weighed)
    lines = budget(campaign)
    assert lines["SCALE.gain"] == pytest.approx(
        U_SCALE, rel=0.02
    )  # whole in the mean of both, neither halved nor doubled


# --- in the folder

TOTAL = '[total]\nmass = "41 kg ± 0.05 kg"\ninstrument = "SCALE-1"\n'
AT = "date = 2026-03-12\n"


def folder(tmp_path: Path, old: str, new: str, total: str = TOTAL) -> Path:
    text = golden_folder.files()["runs/W07/run.toml"].replace(old, new, 1)
    return golden_folder.write(tmp_path, {"runs/W07/run.toml": text + total})


def test_it_is_stated_with_the_run(tmp_path: Path) -> None:
    campaign = read(folder(tmp_path, AT, AT + 'calibrates = "FV-A"\n'))
    assert campaign.runs["W07"].calibrates == "FV-A"
    assert place_of(campaign).runs == ("W07",)


@pytest.mark.parametrize(
    ("meter", "total", "words"),
    [
        ("FV-Z", TOTAL, "a meter of bench.toml"),
        ("FV-A", "", "a total"),
    ],
)
def test_nonsense_is_refused(meter: str, total: str, words: str, tmp_path: Path) -> None:
    told = check(folder(tmp_path, AT, AT + f'calibrates = "{meter}"\n', total)).problems
    assert any(one.key == "calibrates" and words in one.expected for one in told), told
