"""`import headrace` and `headrace --help` are light, and the front door opens on what it names."""

import inspect
import json
import subprocess
import sys
import time
from pathlib import Path

import pytest

import headrace

HEAVY = {"numpy", "scipy", "polars", "pydantic", "matplotlib", "rich", "typst", "tomlkit"}


def loaded(code: str) -> set[str]:
    """Top-level modules that a fresh process has loaded after some code."""
    tail = "import json, sys; print('@' + json.dumps(sorted({name.split('.')[0] for name in sys.modules})))"
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{tail}"], capture_output=True, text=True, check=True
    )
    return set(json.loads(done.stdout.rsplit("@", 1)[1]))


def test_importing_loads_nothing_heavy() -> None:
    assert not loaded("import headrace; dir(headrace); headrace.__version__") & HEAVY


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["reduce", "--help"], ["setpoints", "--help"]])
def test_help_loads_nothing_heavy(words: list[str]) -> None:
    code = f"from headrace.doors.cli import cli\ncli.main({words!r}, 'headrace', standalone_mode=False)"
    assert not loaded(code) & HEAVY


def test_help_is_quick() -> None:
    """At most twice what loading click alone takes; the best of several, for the machine may be busy."""

    def best(code: str) -> float:
        times = []
        for _ in range(9):
            start = time.perf_counter()
            subprocess.run([sys.executable, "-c", code], stdout=subprocess.DEVNULL, check=True)
            times.append(time.perf_counter() - start)
        return min(times)

    ours = best("import sys; sys.argv = ['headrace', '--help']; from headrace.doors.cli import main; main()")
    assert ours <= 2 * best("import click")


def test_the_front_door_is_exactly_what_it_says() -> None:
    assert sorted(headrace.__all__) == dir(headrace)
    jobs = [name for name in headrace.__all__ if name[0].islower()]
    for name in headrace.__all__:
        assert getattr(headrace, name) is not None
    for name in jobs:
        assert inspect.signature(getattr(headrace, name)).parameters
    with pytest.raises(AttributeError, match="reduced"):
        _ = headrace.reduced  # type: ignore[attr-defined]  # that there is none is the point


def test_a_notebook_walks_the_road(small: Path) -> None:
    reduced = headrace.reduce(small)
    wanted = headrace.setpoints(small, of_ratio=2.3)
    tanks = {side: wanted.answer.values[f"tanks.{side}"].value for side in ("ox", "fuel")}
    came = headrace.predict(small, tanks=tanks)
    assert came.answer.values["of_ratio"].value == pytest.approx(2.3, rel=1e-6)
    assert reduced.reduced.characteristics["ox"].area_eff.value == pytest.approx(2.35e-4, rel=0.03)
    assert [one.name for one in (small / "results").glob("*")] in ([], ["cache"])
    with pytest.raises(headrace.InputError):
        headrace.predict(small, tanks={"ox": 24e5})
    with pytest.raises(headrace.InputError):
        headrace.setpoints(small, p_chamber=20e5, m_dot=9.0)
