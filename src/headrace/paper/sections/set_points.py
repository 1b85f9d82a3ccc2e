"""Front: the pressure to set on each tank, or, in the same place, why there is none."""

from headrace.errors import OutOfDomain
from headrace.paper.content import SIDES, SheetContent
from headrace.paper.markup import Literal, call
from headrace.paper.numbers import bounds, pieces, quantity, stated
from headrace.paper.sections.stops import in_full
from headrace.physics.fluids.registry import fluid
from headrace.records.answers import Estimate
from headrace.records.given import Side, Tank
from headrace.units import format_value

TITLES = {"ox": "Oxidiser tank", "fuel": "Fuel tank"}


def typst(sheet: SheetContent) -> str:
    """Two tanks side by side with the barometer they hold at; no number at all when the point cannot be reached."""
    if not sheet.has_set_points:
        stops = in_full(sheet)
        return call("no-set-points", stops or [["The wanted point has no answer.", ""]])
    under = f"{_barometer(sheet)} {_doubts(sheet)}"
    return call("set-points", [_tank(sheet, side) for side in SIDES], under, void=sheet.stopped)


def _tank(sheet: SheetContent, side: str) -> Literal:
    flowing = sheet.answer.values[f"tanks.{side}"]
    static = sheet.value(f"static.{side}")
    tank = sheet.side(side).tank
    return {
        "side": side,
        "title": TITLES[side],
        "liquid": liquid(sheet.side(side)),
        "within": _within(tank),
        "flowing": quantity(flowing),
        "flowing_doubt": _doubt(flowing),
        "static": quantity(static) if static is not None else None,
        "static_doubt": _doubt(static) if static is not None else "",
        "lines": [*_gauge(tank), *_limits(tank)],
    }


def _within(tank: Tank) -> str | None:
    """The crew's own tolerance of setting, which is not the doubt."""
    if not tank.setting:
        return None
    return "±" + format_value(tank.setting, dimension="pressure", kind="drop", digits=2)


def _doubt(value: Estimate) -> str:
    """Both ends and the wider side, named so that none takes it for a tolerance."""
    return f"doubt ±{pieces(value).doubt} ({_coverage(value.coverage)}), {bounds(value)}"


def _doubts(sheet: SheetContent) -> str:
    share = _coverage(next(iter(sheet.answer.values.values())).coverage)
    return f"Intervals on this side hold {share}, ends rounded outwards; ± is the wider side of the interval."


def _gauge(tank: Tank) -> list[str]:
    return [f"gauge {tank.gauge}"] if tank.gauge is not None else []


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
