"""Front: the pressure to set on each tank, or, in the same place, that there is none."""

from headrace.errors import OutOfDomain
from headrace.notices import Severity
from headrace.paper.content import SIDES, SheetContent
from headrace.paper.markup import Literal, call
from headrace.paper.numbers import bounds, quantity, stated
from headrace.paper.sections.stops import in_full
from headrace.physics.fluids.registry import fluid
from headrace.records.given import Side, Tank
from headrace.units import format_value

TITLES = {"ox": "Oxidiser tank", "fuel": "Fuel tank"}


def typst(sheet: SheetContent) -> str:
    """Two tanks side by side with the barometer they hold at; no number at all when the point cannot be reached."""
    if not sheet.has_set_points:
        stops = in_full(sheet)
        return call("no-set-points", "No set points", stops or [["The wanted point has no answer.", ""]])
    void = bool(sheet.standing_of(Severity.STOP))
    return call("set-points", [_tank(sheet, side) for side in SIDES], _barometer(sheet), void=void)


def _tank(sheet: SheetContent, side: str) -> Literal:
    flowing = sheet.answer.values[f"tanks.{side}"]
    static = sheet.value(f"static.{side}")
    tank = sheet.side(side).tank
    return {
        "side": side,
        "title": f"{TITLES[side]}, {liquid(sheet.side(side))}",
        "flowing": quantity(flowing),
        "bounds": f"{_coverage(flowing.coverage)} interval {bounds(flowing)}",
        "static": quantity(static) if static is not None else None,
        "lines": [*_gauge(tank), *_limits(tank)],
    }


def _gauge(tank: Tank) -> list[str]:
    within = format_value(tank.setting, dimension="pressure", kind="drop", digits=2)
    if tank.gauge is None:
        return [f"set within ±{within}"] if tank.setting else []
    return [f"gauge {tank.gauge}" + (f", set within ±{within}" if tank.setting else "")]


def _limits(tank: Tank) -> list[str]:
    named = (("rating", tank.rating), ("relief", tank.relief))
    told = [
        f"{name} {format_value(value, dimension='pressure', kind='gauge', digits=3)}"
        for name, value in named
        if value is not None
    ]
    return [", ".join(told)] if told else []


def _barometer(sheet: SheetContent) -> str:
    told = stated(sheet.engine.ambient, dimension="pressure", kind="abs", unit="mbar")
    return (
        f"Gauge pressures, at a barometer of {told}. Where the barometer stands lower, set that much more; "
        "where it stands higher, that much less."
    )


def liquid(side: Side) -> str:
    """What the tank holds, in words."""
    try:
        return fluid(side.propellant).title
    except OutOfDomain:
        return side.propellant


def _coverage(share: float) -> str:
    return f"{100 * share:.3g} %"
