"""The demo in words: its runs, its set points, and whether the printed intervals hold the invented truth."""

from typing import Any

from headrace import serial
from headrace.demo.show import Held, Shown
from headrace.doors.spoken import balanced, common, reduction
from headrace.doors.terminal import heading, line, table
from headrace.paper.numbers import DIMENSIONS, bounds, pieces
from headrace.units import format_value

WORDS = balanced.EXPECTED | {
    "tanks.ox": "oxidiser tank, design point",
    "tanks.fuel": "fuel tank, design point",
    "area_eff.ox": "effective area, circuit ox",
    "area_eff.fuel": "effective area, circuit fuel",
}


def tell(done: Shown) -> None:
    """Everything, in the order of the sheet."""
    common.title(done.reduction.campaign, done.balanced.notices)
    reduction.bench(done.reduction.campaign)
    reduction.runs(done.reduction.reduced)
    reduction.circuits(done.reduction.campaign, done.reduction.reduced.characteristics)
    reduction.compared(done.reduction.reduced)
    if balanced.set_points(done.balanced):
        balanced.expected(done.balanced, "Expect, when set so")
    common.doubts(done.balanced.notices, done.balanced.campaign)
    heading("Held against the invented truth, which no real crew would know")
    rows = [
        (WORDS.get(one.path, one.path), str(pieces(one.estimate)), bounds(one.estimate), _truth(one),
         "inside" if one.inside else "outside")
        for one in done.held
    ]  # fmt: skip
    table(("quantity", "printed", "interval", "truth (invented)", "truth lies"), rows)
    inside = sum(one.inside for one in done.held)
    line(f"{inside} of {len(done.held)} intervals hold the truth; at 95 % one in twenty may miss.")
    line(f"Campaign: {done.folder} (invented). Sheet: {done.sheet}. Report: {done.report}")


def _truth(one: Held) -> str:
    estimate = one.estimate
    return format_value(one.truth, dimension=DIMENSIONS[estimate.unit], kind=estimate.kind,
                        unit="1" if estimate.unit == "1" else None, u=estimate.u / 10)  # fmt: skip


def as_json(done: Shown) -> str:
    """The demo's results and its truth."""
    held = {
        one.path: {"truth": one.truth, "inside": one.inside, "printed": serial.quantity(one.estimate)}
        for one in done.held
    }
    document: dict[str, Any] = serial.head("demo") | {
        "folder": str(done.folder),
        "sheet": str(done.sheet),
        "report": str(done.report),
        "invented": True,
        "truth": held,
        "reduce": serial.reduce(done.reduction.campaign, done.reduction.reduced),
        "setpoints": serial.answer(
            "setpoints", done.balanced.campaign, done.balanced.answer, request=done.balanced.request
        ),
        "notices": serial.notices(done.balanced.notices),
    }
    return serial.text(document)
