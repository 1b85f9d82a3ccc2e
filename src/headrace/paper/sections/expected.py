"""Front: what the engine should do at these set points."""

from headrace.paper.content import SheetContent
from headrace.paper.markup import Literal, call
from headrace.paper.numbers import bounds, quantity

LINES: tuple[tuple[str, str, tuple[str, ...], str | None], ...] = (
    ("p_chamber", "Chamber pressure", ("p", "c"), None),
    ("of_ratio", "Mixture ratio O/F", ("r",), None),
    ("m_dot.ox", "Oxidiser flow", ("ṁ", "o"), "ox"),
    ("m_dot.fuel", "Fuel flow", ("ṁ", "f"), "fuel"),
    ("m_dot.total", "Total flow", ("ṁ",), None),
)


def typst(sheet: SheetContent) -> str:
    """One line each, in the order a reader asks; as they come out when set on the stand's gauges, where known."""
    if not sheet.has_set_points:
        return ""
    entries: list[Literal] = []
    for path, words, symbol, side in LINES:
        value = sheet.value(f"as_set.{path}") or sheet.value(path)
        if value is not None:
            entries.append(
                {
                    "words": words,
                    "symbol": symbol,
                    "side": side,
                    "q": quantity(value),
                    "bounds": bounds(value),
                }
            )
    if not entries:
        return ""
    return (
        call("breathe", 1)
        + call(
            "head", "Not to be expected, for none is to be set" if sheet.stopped else "Expect, when set so"
        )
        + call("expected", entries, void=sheet.stopped)
    )
