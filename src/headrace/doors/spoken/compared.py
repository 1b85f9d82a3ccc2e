"""Two campaigns, or two dates of one, in words: inputs, runs, effective areas, set points, doubts. Start at `tell`."""

from collections.abc import Sequence

from headrace.doors.spoken.common import COUNTED
from headrace.doors.terminal import heading, indented, line, table
from headrace.notices import Notice
from headrace.paper.explain.answers import words
from headrace.paper.numbers import DIMENSIONS, pieces
from headrace.records.answers import Estimate
from headrace.records.compared import Compared, Difference
from headrace.units import printed

NONE = "–"
HASH = 12
TINY = 1e-6
"""A change below this share of its doubt is none."""
MOST = 40
"""Keys that are told; JSON has all."""


def tell(done: Compared) -> None:
    """Everything that is not the same; what stayed is not told."""
    _inputs(done)
    _runs(done)
    _differences("Effective areas; change ± at k = 2, and over its standard uncertainty u", done.areas)
    _differences("Set points and what to expect; change ± at k = 2, and over its u", done.points)
    _notices("New doubts", done.notices_new)
    _notices("Doubts that are gone", done.notices_gone)
    heading("Taken for granted in the doubt of the changes")
    for text in done.assumed:
        indented("  ", f"{text}.")


def _inputs(done: Compared) -> None:
    heading("Inputs that changed")
    if not done.files:
        line("None: the same bytes.")
        return
    rows = [
        (one.file, one.before[:HASH] if one.before else NONE, one.after[:HASH] if one.after else NONE)
        for one in done.files
    ]
    table(("file", "sha256 before", "after"), rows)
    if done.keys:
        line()
        for key in done.keys[:MOST]:
            indented("  ", f"{key.file}, {key.key}: {_value(key.before)} -> {_value(key.after)}")
    if len(done.keys) > MOST:
        line(f"  and {len(done.keys) - MOST} more; --json has them all")


def _value(text: str | None) -> str:
    return "not there" if text is None else text


def _runs(done: Compared) -> None:
    heading("Runs that changed")
    if not done.runs:
        line("None.")
        return
    rows = [(one.run, one.what, f"{one.before} -> {one.after}", one.why or NONE) for one in done.runs]
    table(("run", "is", "readings that count", "because"), rows)


def _differences(title: str, many: Sequence[Difference]) -> None:
    if not many:
        return
    heading(title)
    rows = [
        (_named(one.path), _shown(one.before), _shown(one.after), _change(one), _share(one)) for one in many
    ]
    table(("quantity", "before", "after", "change", "over u"), rows)


def _named(path: str) -> str:
    first, _, rest = path.partition(".")
    return f"effective area, {rest}" if first == "area_eff" else words(path)


def _shown(value: Estimate | None) -> str:
    return NONE if value is None else str(pieces(value))


def _change(one: Difference) -> str:
    base = one.after
    if one.change is None or one.u is None or base is None:
        return NONE
    kind = "drop" if base.kind is not None else None
    unit = {"1": "1"}.get(base.unit)
    shown = printed(one.change, dimension=DIMENSIONS[base.unit], kind=kind, unit=unit, expanded=2 * one.u)
    sign = "+" if one.change > 0 and float(shown.number) else ""
    return f"{sign}{shown.number} ±{shown.doubt} {shown.unit}".strip()


def _share(one: Difference) -> str:
    if one.change is None or not one.u or abs(one.change) < TINY * one.u:
        return NONE
    return f"{one.change / one.u:+.1f}".replace("-0.0", "0.0").replace("+0.0", "0.0")


def _notices(title: str, many: Sequence[Notice]) -> None:
    if not many:
        return
    heading(f"{title}: {len(many)}")
    for one in many:
        indented("  ", f"{COUNTED[one.severity][0]}, {one.code}: {one.text}")
