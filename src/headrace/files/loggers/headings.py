"""Names and units of the columns, from the lines above the data.

A unit is taken as written: from brackets at the end of a name, after its last comma or slash, or from a row of units
under or over the names. What it means is decided elsewhere. Names are made unique, and every change is reported.
Start at `find_headings`.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from headrace.files.loggers.base import DELIMITERS
from headrace.files.loggers.numbers import is_loose_number
from headrace.files.loggers.split import Splitter
from headrace.files.loggers.timeforms import is_time_text

COMMENT = re.compile(r"^\s*(?:[#%!]+|//+|;(?=\s*\w))\s*")
BRACKETED = re.compile(
    r"^(?P<name>.*?)\s*(?:\((?P<round>[^()]*(?:\([^()]*\)[^()]*)?)\)|\[(?P<square>[^\[\]]*)\]|\{(?P<curly>[^{}]*)\})$"
)
AFTER = re.compile(r"^(?P<name>.*?\S)\s*(?:,\s*|\s/\s*)(?P<unit>[^,/]+(?:/[^,/]+)?)$")
WHOLE_BRACKET = re.compile(r"^[(\[{](?P<unit>[^()\[\]{}]*)[)\]}]$")
UNIT_WORDS = frozenset(
    re.findall(
        r"\S+",
        """
        s sec secs second seconds ms msec us usec µs μs ns min mins minute minutes h hr hrs hour hours d
        bar bara barg mbar mbara mbarg psi psia psig psid pa kpa mpa hpa torr mmhg inh2o inwc mmh2o atm
        at kg g mg lb lbs lbm lbf t n kn kgf m mm cm µm um in ft l ml lit litre liter gal gpm lpm lps
        sccm slm m3 m³ cm3 dm3 ft3 in3 cc k c f r degc degf deg °c °f ° v mv a ma w kw hz khz rpm pulses
        counts count % - -- n/a none v/v mv/v ω ohm rad raw ticks ©
        """,
    )
)
POWER = re.compile(r"[\^*]?[-+]?\d$|\^\(?[-+]?\d\)?$|[²³]$")
SUFFIX = re.compile(
    r"^\S*[^\W_]_(?:(?P<per>(?:kg|g|mg|l|lb|lbm|m3|gal)_(?:s|min|h))|(?P<unit>bara?|barg|mbara?|psi[agd]?|[kmh]?pa|torr"
    r"|mmhg|atm|deg[cf]|kg|lbs?|lbf|kgf|kn|hz|khz|rpm|gpm|lpm|mv|ma|msec|sec|counts|°c|°f|celsius|kelvin))$",
    re.IGNORECASE,
)
KIND = re.compile(r"\s*[(\[]\s*(?:a|g|abs|gauge|diff)\s*[)\]]$", re.IGNORECASE)


def looks_like_unit(text: str) -> bool:
    """True when the text is made of unit words only; used to tell a row of units from a row of names.

    >>> looks_like_unit("kg/s"), looks_like_unit("Deg F"), looks_like_unit("P1")
    (True, True, False)
    """
    text = " ".join(text.split())
    inner = WHOLE_BRACKET.match(text)
    if inner:
        return True
    text = KIND.sub("", text)
    words = re.split(r"[\s/·*]+", text.lower().replace("deg ", "deg"))
    words = [word for word in words if word] or [text]
    return all(word in UNIT_WORDS or POWER.sub("", word) in UNIT_WORDS for word in words)


def split_unit(title: str) -> tuple[str, str | None]:
    """Name and raw unit of one heading. A bracket whose content is no unit stays part of the name.

    >>> split_unit("P1 (psi)"), split_unit("T [°C]"), split_unit("p_ox / bar"), split_unit("P1_bar")
    (('P1', 'psi'), ('T', '°C'), ('p_ox', 'bar'), ('P1_bar', 'bar'))
    >>> split_unit("p_in"), split_unit("T_c"), split_unit("m_dot_kg_s")
    (('p_in', None), ('T_c', None), ('m_dot_kg_s', 'kg/s'))
    """
    title = " ".join(title.split())
    if title.endswith("©") and len(title) > 1:
        return title[:-1].strip(), "©"
    kind = KIND.search(title)
    body, tail = (title[: kind.start()], kind.group()) if kind else (title, "")
    glued = _glued(body) if kind else None
    if glued:
        return glued["name"], glued["unit"].strip() + tail
    found = BRACKETED.match(title)
    if found and found["name"]:
        unit = next(
            item for item in (found["round"], found["square"], found["curly"]) if item is not None
        ).strip()
        if unit and (looks_like_unit(unit) or found["square"] is not None):
            return found["name"], unit
        if unit:
            return title, unit
    found = AFTER.match(body)
    if found and looks_like_unit(found["unit"]):
        return found["name"], (found["unit"].strip() + tail)
    return title, _last_word(title)


def _last_word(title: str) -> str | None:
    """The unit that a name ends in after an underscore: only one that is no word or symbol of the trade as well."""
    found = SUFFIX.match(title)
    if found is None:
        return None
    return found["per"].replace("_", "/") if found["per"] else found["unit"]


def _glued(body: str) -> re.Match[str] | None:
    """ "p bar" before "(g)": the bracket tells the kind of pressure, the word before it the unit."""
    found = AFTER.match(body) or re.match(r"^(?P<name>.*\S)\s+(?P<unit>\S+)$", body)
    return found if found and looks_like_unit(found["unit"]) else None


@dataclass(frozen=True, slots=True)
class Found:
    """Titles as written ("" where there is none), units row if any, and the line (0-based) of the names."""

    titles: tuple[str, ...]
    units: tuple[str | None, ...]
    name_line: int | None
    fits: bool
    notes: tuple[str, ...]


def cells_of(line: str, splitter: Splitter, count: int, width: int) -> list[str]:
    """Cells of a heading line; another delimiter than the data's is tried when only that one fits."""
    bare = COMMENT.sub("", line.lstrip("\ufeff"), count=1)
    first = splitter.split(bare)
    if first is not None and len(first) in (count, width):
        return first
    for other in DELIMITERS:
        cells = Splitter(other).split(bare) if other not in ("none", splitter.delimiter, "spaces") else None
        if cells is not None and len(cells) in (count, width) and count > 1:
            return cells
    if splitter.delimiter == "spaces":
        wide = [cell for cell in re.split(r"\s{2,}|\t", bare.strip()) if cell]
        if len(wide) == count:
            return wide
    return first or []


def _words(cells: list[str]) -> bool:
    """A row of names: at least one cell filled, hardly a number among them."""
    filled = [cell for cell in cells if cell]
    numbers = sum(is_loose_number(cell) or is_time_text(cell) for cell in filled)
    return bool(filled) and numbers <= 0.34 * len(filled)


def _unit_row(cells: list[str]) -> bool:
    filled = [cell for cell in cells if cell]
    return bool(filled) and sum(looks_like_unit(cell) for cell in filled) >= 0.6 * len(filled)


def _unit_weight(cells: list[str]) -> tuple[bool, float]:
    """How much a row is one of units: all in brackets first, then the share of unit words ("t", "T" are names too)."""
    filled = [cell for cell in cells if cell]
    bracketed = all(WHOLE_BRACKET.match(cell) for cell in filled)
    return bracketed, sum(looks_like_unit(cell) for cell in filled) / max(len(filled), 1)


def find_headings(
    above: list[str], splitter: Splitter, *, count: int, width: int, line: int | None = None
) -> Found:
    """Names and units among the lines above the first data line.

    Args:
        above: Those lines, top first.
        splitter: Of the data lines. count: columns. width: fields on a data line, trailing separators included.
        line: 0-based line of the names when it is known; -1 when there are none.
    """
    nothing = Found(("",) * count, (None,) * count, None, True, ())
    if line is not None:
        if line < 0 or line >= len(above):
            return nothing
        rows = [(line, cells_of(above[line], splitter, count, width))]
        rows += [
            (i, cells_of(above[i], splitter, count, width))
            for i in (line + 1, line - 1)
            if 0 <= i < len(above)
        ]
        fitting = [rows[0]] + [
            row for row in rows[1:] if _row_fits(row[1], count, width) and _unit_row(row[1])
        ]
        return _assemble(fitting[0], fitting[1] if len(fitting) > 1 else None, count)
    near = [(i, above[i]) for i in range(len(above) - 1, -1, -1) if above[i].strip()][:6]
    rows = [(i, cells_of(text, splitter, count, width)) for i, text in near]
    rows = [row for row in rows if _words(row[1])]
    fitting = [row for row in rows if _row_fits(row[1], count, width)]
    if count == 1:
        fitting = fitting[:2]
    if fitting:
        first, second = fitting[0], fitting[1] if len(fitting) > 1 else None
        if (
            _unit_row(first[1])
            and second
            and (not _unit_row(second[1]) or _unit_weight(first[1]) >= _unit_weight(second[1]))
            and second[0] == _before(above, first[0])
        ):
            return _assemble(second, first, count)
        over = second if second and _unit_row(second[1]) and second[0] == _before(above, first[0]) else None
        return _assemble(first, over, count)
    if rows and near and rows[0][0] == near[0][0] and len(rows[0][1]) >= 2 and count > 1:
        cells = rows[0][1]
        if abs(len(cells) - count) <= max(2, count // 2):
            return _assemble(rows[0], None, count)
    return nothing


def same_heading(titles: Sequence[str], cells: Sequence[str]) -> bool:
    """True when these cells are the titles met again, a few of them damaged or cut; other names, or another order, are
    another heading.

    >>> titles = ("t (s)", "p1", "p2")
    >>> same_heading(titles, ("t (s)", "p1", "p~2")), same_heading(titles, ("t (s)", "p2", "p1"))
    (True, False)
    """
    names = [title for title in titles if title and not is_loose_number(title)]
    places = [cells.index(name) for name in names if name in cells]
    if len(names) < 2 or len(places) < max(2, 0.6 * len(names)) or places != sorted(places):
        return False
    if len(cells) != len(titles):
        return True
    return all(_damaged(cell, title) for cell, title in zip(cells, titles, strict=True) if cell != title)


def _damaged(cell: str, title: str) -> bool:
    """A title that was cut, or has junk in or around it."""
    if cell.endswith(title) or (cell and (title.endswith(cell) or title.startswith(cell))):
        return True
    return re.search(r"[^\w\s()\[\]{}/%°.,:+*^-]|\ufffd", cell) is not None


def _before(above: list[str], index: int) -> int:
    """The next line upwards that is not blank."""
    return next((i for i in range(index - 1, -1, -1) if above[i].strip()), -1)


def _row_fits(cells: list[str], count: int, width: int) -> bool:
    if len(cells) == count:
        return True
    return count < len(cells) <= width and not any(cells[count:])


def _assemble(names: tuple[int, list[str]], units: tuple[int, list[str]] | None, count: int) -> Found:
    cells = names[1]
    filled = max((place + 1 for place, cell in enumerate(cells) if cell), default=0)
    cells = cells[: max(filled, count)]
    fits = len(cells) == count
    titles = tuple((cells + [""] * count)[:count])
    row: tuple[str | None, ...] = (None,) * count
    if units is not None:
        bare = [WHOLE_BRACKET.sub(r"\g<unit>", cell).strip() or None for cell in units[1]]
        row = tuple((bare + [None] * count)[:count])
    notes = () if fits else (f"{len(cells)} names stand over {count} columns: {', '.join(cells)}",)
    return Found(titles, row, names[0], fits, notes)


def name_columns(
    titles: tuple[str, ...], row: tuple[str | None, ...]
) -> tuple[list[str], list[str | None], list[str]]:
    """Unique names, raw units, and what was changed.

    >>> name_columns(("p (bar)", "p (bar)", ""), (None, None, None))[0]
    ['p', 'p_2', 'column 3']
    """
    parts = [split_unit(title) for title in titles]
    clash = {name for name, times in Counter(name for name, _ in parts).items() if times > 1}
    times_written = Counter(titles)
    taken: set[str] = set()
    names, units, notes = [], [], []
    for index, (title, (name, unit)) in enumerate(zip(titles, parts, strict=True)):
        whole = " ".join(title.split())
        name = whole if name in clash and times_written[title] == 1 and whole else name
        wanted = name or f"column {index + 1}"
        unique, turn = wanted, 2
        while unique in taken or (unique != wanted and unique in times_written):
            unique, turn = f"{wanted}_{turn}", turn + 1
        if not name:
            notes.append(f"column {index + 1} has no name and is called '{unique}'")
        elif unique != wanted:
            notes.append(f"column {index + 1} repeats the name '{wanted}' and is called '{unique}'")
        taken.add(unique)
        names.append(unique)
        units.append(row[index] if row[index] is not None else unit)
    return names, units, notes
