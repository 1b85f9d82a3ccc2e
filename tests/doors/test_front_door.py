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
    """Modules that a fresh process has loaded after some code, and the packages they are in."""
    tail = "import json, sys; print('@' + json.dumps(sorted({n for m in sys.modules for n in (m, m.split('.')[0])})))"
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


PRINTERS = {
    "typst",
    "matplotlib",
    "jinja2",
    "headrace.paper.report",
    "headrace.paper.sheet",
    "headrace.demo.simulator",
}
OTHERS = {
    "headrace.jobs.balance",
    "headrace.jobs.compare",
    "headrace.paper.explain",
    "scipy.optimize",
    "scipy.stats",
}


def run_by(*words: object) -> set[str]:
    """Modules that one command has loaded by its end."""
    typed = [str(one) for one in words]
    return loaded(
        f"from headrace.doors.cli import cli\ncli.main({typed!r}, 'headrace', standalone_mode=False)"
    )


@pytest.mark.parametrize("also", [(), ("--also", "W01")])
def test_bring_loads_what_reads_a_file_and_no_more(
    also: tuple[str, ...], small: Path, tmp_path: Path
) -> None:
    raw = tmp_path / "log.csv"
    raw.write_text("t (s);CH1 (V);CH2 (V)\n" + "".join(f"{k / 10:.1f};{k % 7};{k % 5}\n" for k in range(50)))
    found = run_by("bring", small, raw, *also)
    assert "headrace.files.bring" in found
    assert (small / f"runs/{'W01' if also else 'W16'}/log.csv").is_file()
    assert not found & (
        PRINTERS | OTHERS | {"scipy", "headrace.jobs.reduce", "headrace.findings", "headrace.paper"}
    )


@pytest.mark.parametrize("words", [("check", "SMALL"), ("reduce", "SMALL"), ("verdict", "SMALL", "W01")])
def test_what_looks_at_runs_loads_no_printer_and_no_other_job(words: tuple[str, ...], small: Path) -> None:
    found = run_by(*(word.replace("SMALL", str(small)) for word in words))
    assert "headrace.files.folder" in found
    assert not found & (PRINTERS | OTHERS | {"multiprocessing.context"})
