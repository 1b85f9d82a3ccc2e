"""Back: what the set points rest on: injector, runs, effective areas, propellants, feed, chamber."""

from headrace.paper.content import SIDES, SheetContent
from headrace.paper.markup import Literal, call
from headrace.paper.numbers import pieces, restated, stated, typeset
from headrace.paper.sections import drawings
from headrace.paper.sections.set_points import liquid
from headrace.records.given import Side
from headrace.records.readings import Characteristic
from headrace.units import format_value

WORDS = {"ox": "Oxidiser", "fuel": "Fuel"}
COEFFICIENT: Literal = {"words": "", "symbol": ["C", "d"]}


def typst(sheet: SheetContent) -> str:
    """Three tables: circuits, what was assumed (and whose word that is), what was left out."""
    serial = sheet.campaign.article.serial
    areas = _circuits(sheet)
    told = call(
        "rows", [0, 1], ["assumed", "value, and by whose word"], [list(row) for row in assumed(sheet)]
    )
    gone = left_out(sheet)
    if gone:
        told += call("rows", [0, 1], ["run left out", "because"], [list(row) for row in gone])
    seen = drawings.typst(sheet)
    beside = f"#side-by-side(right-width: {drawings.WIDTH}mm)[\n{told}][\n{seen}]\n" if seen else told
    heading = "#pagebreak(weak: true)\n" + call(
        "head",
        "What this rests on",
        note=f"injector {serial}; areas ± at 95 %, assumptions as their owners state them",
    )
    return heading + areas + beside


def _circuits(sheet: SheetContent) -> str:
    """The effective areas; the coefficient has a column only where a geometric area was given."""
    items = sheet.characteristics.values()
    with_cd = any(item.cd is not None for item in items)
    heading: list[Literal] = [
        "circuit",
        {"words": "effective area", "symbol": ["E"]},
        *([COEFFICIENT] if with_cd else []),
        "fit",
        {"words": "tested", "symbol": ["Re"]},
        {"words": "least", "symbol": ["K"]},
        "runs",
    ]
    rows: list[Literal] = [_circuit(sheet, item, with_cd=with_cd) for item in items]
    return call("rows", [0] * (len(heading) - 1) + [1], heading, rows)


def _circuit(sheet: SheetContent, item: Characteristic, *, with_cd: bool) -> Literal:
    low, high = item.re_span
    coefficient = [str(pieces(item.cd)) if item.cd is not None else "–"] if with_cd else []
    days = f"{item.days} day" + ("s" if item.days != 1 else "")
    return [
        {"side": sheet.side_of(item.stream), "words": item.key},
        str(pieces(item.area_eff)),
        *coefficient,
        {"constant": "constant", "slope": "slope in Re", "inverse-root": "linear in Re⁻½"}.get(
            item.model, item.model
        ),
        f"{_thousands(low)} to {_thousands(high)}",
        format_value(item.cav_least, dimension="ratio", unit="1", digits=2),
        f"{', '.join(item.runs)} ({days})",
    ]


def _thousands(re: float) -> str:
    return f"{format_value(re / 1e3, dimension='ratio', unit='1', digits=2)}·10³"


def assumed(sheet: SheetContent) -> list[tuple[str, str]]:
    """What, and its value with whose word it is: the folder's, then what the balance took for granted."""
    engine = sheet.engine
    lines: list[tuple[str, str, str]] = []
    for name in SIDES:
        lines += _side(sheet.side(name))
    lines.append(("Throat diameter", stated(engine.d_throat, dimension="length"), engine.d_throat.origin))
    lines.append(
        ("Throat discharge coefficient", stated(engine.c_throat, dimension="ratio"), engine.c_throat.origin)
    )
    lines.append(("c*", _c_star(sheet), engine.c_star.origin))
    efficiency = engine.c_star.efficiency
    lines.append(("c* efficiency", stated(efficiency, dimension="ratio"), efficiency.origin))
    lines.append(("Film in O/F", "counted" if engine.film_counts else "not counted", "engine.toml"))
    told = {what for what, _, _ in lines}
    lines += [row for row in sheet.answer.assumptions if row[0] not in told]
    return [(what, f"{typeset(value)}; {whose}" if whose else typeset(value)) for what, value, whose in lines]


def _side(side: Side) -> list[tuple[str, str, str]]:
    words = WORDS[side.id]
    lines = [
        (
            f"{words}: {liquid(side)} at",
            stated(side.temperature, dimension="temperature", unit="K"),
            side.temperature.origin,
        )
    ]
    if side.density is not None:
        lines.append((f"{words} density", stated(side.density, dimension="density"), side.density.origin))
    feed = side.feed
    if feed.parts:
        loss = f"water runs of {', then '.join(' beside '.join(group) for group in feed.parts)}"
    elif feed.area_eff is not None:
        loss = f"effective area {restated(feed.area_eff, dimension='area')}"
    else:
        loss = "no loss taken"
    head = stated(feed.head, dimension="length", unit="m")
    lines.append(
        (
            f"{words} feed",
            f"{loss}, to {feed.tap} on {feed.basis} pressure; head {head}",
            feed.area_eff.origin if feed.area_eff is not None else feed.head.origin,
        )
    )
    return lines


def _c_star(sheet: SheetContent) -> str:
    given = sheet.engine.c_star
    values = [value for row in given.c_star for value in row]
    low, high = min(values), max(values)
    doubt = f"(±{100 * given.u_rel:.2g} %, k = 1)"
    if low == high:
        return f"{format_value(low, dimension='velocity')} {doubt}"
    ends = f"{format_value(low, dimension='velocity')} to {format_value(high, dimension='velocity')}"
    return f"table, {ends} {doubt}"


def left_out(sheet: SheetContent) -> list[tuple[str, str]]:
    """Runs that do not count, with the reason."""
    gone = {run: given.excluded for run, given in sheet.campaign.runs.items() if given.excluded is not None}
    gone |= {run: result.excluded for run, result in sheet.runs.items() if result.excluded is not None}
    return [(run, str(reason)) for run, reason in sorted(gone.items())]
