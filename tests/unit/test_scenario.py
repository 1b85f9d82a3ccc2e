"""The invented demo campaign: written the same every time, marked, readable, and dimensioned to end without a stop."""

import hashlib
import tomllib
from pathlib import Path

import pytest

from headrace.demo import scenario
from headrace.demo.simulator.campaign import Truth
from headrace.files import folder


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Truth]:
    directory = tmp_path_factory.mktemp("demo")
    return directory, scenario.write(directory)


def test_it_is_marked_as_invented_in_every_text(demo: tuple[Path, Truth]) -> None:
    directory, _ = demo
    texts = sorted(directory.rglob("*.toml"))
    assert len(texts) == 6 + len(scenario.plan().runs)
    assert all("invented" in text.read_text("utf-8").splitlines()[0] for text in texts)
    assert tomllib.loads((directory / "campaign.toml").read_text("utf-8"))["invented"] is True


def test_every_raw_file_is_small_and_has_its_hash(demo: tuple[Path, Truth]) -> None:
    raw = sorted(demo[0].glob("runs/*/*.csv"))
    assert len(raw) == len(scenario.plan().runs) - 1  # one run has no logger
    for file in raw:
        assert file.stat().st_size < 300_000
        said = file.with_name(file.name + ".sha256").read_text().split()
        assert said == [hashlib.sha256(file.read_bytes()).hexdigest(), file.name]


def test_the_folder_reads_without_a_problem(demo: tuple[Path, Truth]) -> None:
    campaign = folder.read(demo[0])
    assert campaign.invented
    excluded = {run.id for run in campaign.runs.values() if run.excluded}
    assert excluded == {"W05", "W06", "W12", "W13"}
    assert {run.method for run in campaign.runs.values()} == {"metered", "weighed", "by-hand"}
    trace = campaign.runs["W03"].trace
    assert trace is not None
    low, high = demo[1].runs["W03"].drop["fuel"]
    top = trace.channels["PM-FUEL"].max()
    assert low < top < 1.05 * high


def test_the_design_point_leaves_room(demo: tuple[Path, Truth]) -> None:
    _, truth = demo
    design = truth.predicted(truth.setpoints())
    tanks = truth.setpoints()
    for name, side in truth.engine.sides.items():
        static_drop = design[f"m_dot.{name}"] ** 2 / (2 * side.density(20e5) * side.area**2)
        assert 0.19 < static_drop / truth.p_chamber < 0.26
        assert 20e5 < tanks[name] < 28e5  # relief of 36 bar(g) is far
    thrust = 1.4 * truth.p_chamber * truth.engine.area_throat  # thrust coefficient of 1.4: common practice
    assert thrust == pytest.approx(25e3, rel=0.05)


def test_it_is_the_same_every_time(demo: tuple[Path, Truth], tmp_path: Path) -> None:
    scenario.write(tmp_path)
    for name in ("truth.json", "engine.toml", "runs/W06/W06.csv", "runs/W15/run.toml"):
        assert (tmp_path / name).read_bytes() == (demo[0] / name).read_bytes()
