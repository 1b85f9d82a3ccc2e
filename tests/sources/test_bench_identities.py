"""Signals and sums of a bench, all closed forms: loop current, bucket and stopwatch, the root of a wavering drop."""

import hashlib
from pathlib import Path

import numpy as np
import pytest

from headrace.files.folder import read
from headrace.physics.hydraulics.injector import area_eff_from_mass
from headrace.uncertainty.errors_map import Errors, Values
from headrace.uncertainty.gum import gum
from headrace.uncertainty.source import Source, resolution
from support import golden_folder


@pytest.mark.check("D-1")
def test_loop_current(tmp_path: Path) -> None:
    """4 to 20 mA for 0 to 10 MPa: 12.8 mA is 5.5 MPa, through the folder and its raw file."""
    plain = 'range = ["0 bar(g)", "40 bar(g)"]\naccuracy = "0.2 % of reading + 0.05 % FS, k=2"'
    loop = plain.replace('["0 bar(g)", "40 bar(g)"]', '["0 MPa(g)", "10 MPa(g)"]\nsignal = ["4 mA", "20 mA"]')
    assert plain in golden_folder.BENCH
    raw = (
        golden_folder.rows().replace("p manifold [bar(g)]", "p manifold [mA]").replace(";12,500;", ";12,800;")
    )
    folder = golden_folder.write(tmp_path, {
        "bench.toml": golden_folder.BENCH.replace(plain, loop),
        "runs/W07/W07.csv": raw,
        "runs/W07/W07.csv.sha256": f"{hashlib.sha256(raw.encode()).hexdigest()}  W07.csv\n",
    })  # fmt: skip
    trace = read(folder).runs["W07"].trace
    assert trace is not None
    assert trace.channels["PM-OX"][(trace.time > 5) & (trace.time < 10)] == pytest.approx(5.5e6, rel=1e-12)


@pytest.mark.check("D-17")
def test_bucket_and_stopwatch() -> None:
    """60 kg in 30 s; a scale of 0.1 kg read twice, a hand of 0.2 s at each end: time is what counts."""
    names = {"mass full": resolution(0.1), "mass empty": resolution(0.1), "start": 0.2, "stop": 0.2}
    sources = [Source(name=name, u=u, scope="run", origin="closed form") for name, u in names.items()]

    def flow(e: Errors) -> dict[str, Values]:
        return {"m_dot": (60 + e["mass full"] - e["mass empty"]) / (30 + e["stop"] - e["start"])}

    result = gum(flow, sources, step=1e-3)
    assert result.nominal["m_dot"] == pytest.approx(2.0, rel=1e-12)
    assert result.u["m_dot"] / result.nominal["m_dot"] == pytest.approx(0.00945261, rel=1e-6)


@pytest.mark.check("U-25")
@pytest.mark.parametrize(("sway", "ratio"), [(0.1, 0.99937353), (0.2, 0.99747614), (0.5, 0.98334265)])
def test_the_root_of_a_mean_is_not_the_mean_of_the_roots(sway: float, ratio: float) -> None:
    """One weighed mass over a drop that sways: an area from the mean drop would read too low by `ratio`."""
    time = np.linspace(0.0, 10.0, 20_001)
    dp = 7e5 * (1 + sway * np.sin(2 * np.pi * time / 2.5))
    mass = 3.1e-5 * ratio * np.sqrt(2 * 998.2 * 7e5) * 10.0
    assert area_eff_from_mass(mass=mass, dp=dp, time=time, rho=998.2) == pytest.approx(3.1e-5, rel=1e-7)
