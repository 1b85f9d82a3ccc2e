"""The whole road on the invented campaign: written, checked, reduced, balanced, printed, and held against its truth.

Refuses a folder with something else in it; a demo folder of its own it writes afresh. Start at `show`.
"""

import json
import os
import shutil
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from headrace import app
from headrace.demo import scenario
from headrace.demo.simulator.campaign import Truth
from headrace.errors import InputError, Problem
from headrace.records.answers import Estimate

TRUTH = "truth.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A printed interval against the invented truth [SI, the estimate's unit]."""

    path: str
    estimate: Estimate
    truth: float

    @property
    def inside(self) -> bool:
        """Whether the interval holds the truth."""
        return self.estimate.low <= self.truth <= self.estimate.high


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a demo came to."""

    folder: Path
    reduction: app.Reduction
    balanced: app.Balanced
    sheet: Path
    report: Path
    held: tuple[Held, ...]


def show(where: Path | str) -> Shown:
    """Write the demo's campaign and take it all the way to its sheet.

    Raises:
        InputError: there is something in the folder that no demo wrote; nothing was written.
    """
    folder = Path(where)
    truth = _write(folder)
    checked = app.check(folder)
    if checked.problems:
        raise ValueError(f"the demo's own folder has problems: {checked.problems}")
    reduction = app.reduce(folder)
    app.write_reduction(folder, reduction)
    balanced = app.setpoints_of(reduction)
    sheet = app.print_sheet(folder, balanced).path
    report = app.print_report(folder, reduction, balanced).path
    return Shown(folder=folder, reduction=reduction, balanced=balanced, sheet=sheet, report=report,
                 held=tuple(_held(truth, reduction, balanced)))  # fmt: skip


def _held(truth: Truth, reduction: app.Reduction, balanced: app.Balanced) -> Iterator[Held]:
    """Effective areas, set points, and what comes out when the printed pressures are set."""
    for circuit, area in truth.area_eff.items():
        known = reduction.reduced.characteristics.get(circuit)
        if known is not None:
            yield Held(path=f"area_eff.{circuit}", estimate=known.area_eff, truth=area)
    values = balanced.answer.values
    if "tanks.ox" not in values:
        return
    for side, pressure in truth.setpoints().items():
        yield Held(path=f"tanks.{side}", estimate=values[f"tanks.{side}"], truth=pressure)
    came = truth.predicted({side: values[f"tanks.{side}"].value for side in ("ox", "fuel")})
    for path in ("p_chamber", "of_ratio", "m_dot.ox", "m_dot.fuel"):
        yield Held(path=path, estimate=values[path], truth=came[path])


def _write(folder: Path) -> Truth:
    """The campaign, file by file in place; a cut on the way leaves a folder that the next demo writes afresh."""
    if folder.exists() and not folder.is_dir():
        raise _refused(folder, "a file")
    there = (
        sorted(one.name for one in folder.iterdir() if not one.name.startswith("."))
        if folder.is_dir()
        else []
    )
    if there and not is_demo(folder):
        raise _refused(folder, f"a folder with {', '.join(there[:3])} in it")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        aside = Path(tempfile.mkdtemp(prefix=".demo-", dir=folder))
        try:
            truth = scenario.write(aside)
            for path in _in_order(aside):
                target = folder / path.relative_to(aside)
                target.parent.mkdir(parents=True, exist_ok=True)
                os.replace(path, target)
        finally:
            shutil.rmtree(aside, ignore_errors=True)
    except OSError as fault:
        raise _refused(folder, f"a place that cannot be written ({fault.strerror})") from fault
    return truth


def _in_order(folder: Path) -> list[Path]:
    """What marks the folder as a demo first, so that a cut can be mended; what names other files after them."""
    files = [path for path in folder.rglob("*") if path.is_file()]
    first = [TRUTH, "campaign.toml", "bench.toml", "certificates.toml", "article.toml", "ledger.toml"]
    ranks = {name: at for at, name in enumerate(first)} | {
        "run.toml": len(first) + 1,
        "engine.toml": len(first) + 2,
    }
    return sorted(files, key=lambda path: (ranks.get(path.name, len(first)), path))


def is_demo(folder: Path) -> bool:
    """Whether a demo wrote this folder: its truth lies in it and its campaign, if there, is marked as invented."""
    try:
        told = json.loads((folder / TRUTH).read_text(encoding="utf-8"))
        marked = isinstance(told, dict) and told.get("invented") is True and "seed" in told
        campaign = folder / "campaign.toml"
        return marked and (
            not campaign.exists()
            or tomllib.loads(campaign.read_text(encoding="utf-8")).get("invented") is True
        )
    except (OSError, ValueError):
        return False


def _refused(folder: Path, found: str) -> InputError:
    expected = "a new or empty folder, or one that a demo wrote"
    return InputError(
        (Problem(file=str(folder), line=None, key="", found=found, expected=expected, try_="another name"),)
    )
