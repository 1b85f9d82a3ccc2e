"""Fixtures that more than one room of tests needs: the demo's folder, written once, copied for whoever changes it."""

import shutil
from pathlib import Path

import pytest

from headrace.demo import scenario

KEPT = ("W01", "W03", "W14", "W15")
"""Runs of the small campaign: both circuits logged, one weighed, one by hand."""


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented campaign of `headrace demo` as written: to be read, never changed."""
    folder = tmp_path_factory.mktemp("demo") / "campaign"
    scenario.write(folder)
    return folder


@pytest.fixture(scope="session")
def small_original(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with four of its runs and few draws: to be read, never changed."""
    folder = tmp_path_factory.mktemp("small") / "campaign"
    gone = {path.name for path in (demo_folder / "runs").iterdir()} - set(KEPT)
    shutil.copytree(demo_folder, folder, ignore=lambda _, names: gone & set(names))
    with (folder / "campaign.toml").open("a", encoding="utf-8") as file:
        file.write("draws = 4000\n")
    return folder


@pytest.fixture
def small(small_original: Path, tmp_path: Path) -> Path:
    """A copy of the small campaign to do anything to."""
    return Path(shutil.copytree(small_original, tmp_path / "campaign"))
