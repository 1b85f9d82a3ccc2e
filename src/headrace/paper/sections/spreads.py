"""Back: three spreads that must not be mixed, each under its own heading."""

from headrace.paper.content import SIDES, SheetContent
from headrace.paper.markup import Literal, call
from headrace.paper.numbers import half, half_width, part_of
from headrace.records.answers import Estimate

GROUPS = {
    "water": "water runs",
    "step": "step from water to propellant",
    "propellant": "propellant temperature, density",
    "feed": "feed line and head",
    "combustion": "combustion and throat",
    "stand": "stand gauges, regulators",
    "barometer": "barometer",
}
"""Groups of sources, in the order printed, in words."""
POINTS = ("p_chamber", "of_ratio")
P_CHAMBER: Literal = {"words": "", "symbol": ["p", "c"]}
OF_RATIO: Literal = {"words": "", "symbol": ["r"]}


def typst(sheet: SheetContent) -> str:
    """The doubt of the required pressures, the scatter they give on these gauges, the crew's tolerance."""
    if not sheet.has_set_points:
        return ""
    first = _table("1  doubt of the required pressure", ["oxidiser tank", "fuel tank"], _required(sheet))
    second = _table("2  scatter when set on these gauges", [P_CHAMBER, OF_RATIO], _on_gauges(sheet))
    third = _table("3  setting tolerance", [P_CHAMBER, OF_RATIO], _tolerance(sheet))
    if not (first or second or third):
        return ""
    heading = call(
        "head",
        "Three spreads, kept apart",
        note="half widths at 95 %, the wider side; the tolerance is the crew's own",
    )
    return f"{heading}#side-by-side[\n{first}][\n{second}{third}]\n"


def _table(title: str, over: list[Literal], lines: list[Literal]) -> str:
    return call("rows", [1, 0, 0], [title, *over], lines, numeric=[1, 2]) if lines else ""


def _required(sheet: SheetContent) -> list[Literal]:
    parts = [sheet.answer.parts.get(f"tanks.{side}", {}) for side in SIDES]
    groups = [group for group in GROUPS if any(group in part for part in parts)]
    groups += sorted({group for part in parts for group in part} - set(GROUPS))
    totals = [sheet.answer.values[f"tanks.{side}"] for side in SIDES]
    lines: list[Literal] = []
    for group in groups:
        cells = [_share(part.get(group), total) for part, total in zip(parts, totals, strict=True)]
        lines.append([GROUPS.get(group, group), *cells])
    if lines:
        lines.append(["together", *(_share(total.u, total) for total in totals)])
    return lines


def _share(u: float | None, total: Estimate) -> str:
    """One group's half width, stretched from k = 1 as the whole is."""
    if u is None or total.u == 0:
        return "–"
    whole = half_width(total)
    part = part_of(u / total.u * whole, whole, total.unit)
    return part if part.startswith("<") else f"±{part}"


def _on_gauges(sheet: SheetContent) -> list[Literal]:
    units = ("Pa", "1")
    lines: list[Literal] = []
    alone = [sheet.fact(f"gauge.{point}") for point in POINTS]
    if any(u is not None for u in alone):
        cells = [half(2 * u, unit) if u is not None else "–" for u, unit in zip(alone, units, strict=True)]
        lines.append(["from the stand's gauges alone", *cells])
    total = [sheet.value(f"as_set.{point}") for point in POINTS]
    if any(value is not None for value in total):
        cells = [half(half_width(value), value.unit) if value is not None else "–" for value in total]
        lines.append(["with everything else", *cells])
    return lines


def _tolerance(sheet: SheetContent) -> list[Literal]:
    lines: list[Literal] = []
    tanks = (("ox", "oxidiser tank"), ("fuel", "fuel tank"))
    for side, words in tanks:
        width = sheet.fact(f"setting.{side}")
        if width is not None:
            lines.append([f"{words} set {half(width, 'Pa')}", *_effect(sheet, f"setting.{side}")])
    if any(sheet.fact(f"setting.{point}") is not None for point in POINTS):
        lines.append(["both", *_effect(sheet, "setting")])
    return lines


def _effect(sheet: SheetContent, prefix: str) -> list[Literal]:
    effects = ((sheet.fact(f"{prefix}.p_chamber"), "Pa"), (sheet.fact(f"{prefix}.of_ratio"), "1"))
    return [half(value, unit) if value is not None else "–" for value, unit in effects]
