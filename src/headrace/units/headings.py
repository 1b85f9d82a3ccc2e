"""Units written in the headings of a logger file: "p_ox (psi)", "[bar]", "P1_barg", "Deg F".

Never guesses: a word that is no unit, or that may as well be something else ("T_in" is an inlet before it is
inches; "line (A)" is a line before it is amperes), gives None, and the import asks. Start at
`unit_of_heading`; `unit_of_cell` is for a line that holds nothing but units.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from headrace.units.names import Kind, find_unit, key
from headrace.units.table import Dimension

DIMENSIONS: tuple[Dimension, ...] = tuple(d for d in Dimension if d is not Dimension.TEMPERATURE_DIFFERENCE)
"""Where a heading's unit is looked for. A column in K holds temperatures, not differences."""

BOUND = {
    "t": Dimension.TIME, "time": Dimension.TIME, "elapsed": Dimension.TIME, "timestamp": Dimension.TIME,
    "T": Dimension.TEMPERATURE, "temp": Dimension.TEMPERATURE, "temperature": Dimension.TEMPERATURE,
    "I": Dimension.CURRENT, "current": Dimension.CURRENT, "U": Dimension.VOLTAGE, "voltage": Dimension.VOLTAGE,
    "m": Dimension.MASS, "mass": Dimension.MASS, "weight": Dimension.MASS, "scale": Dimension.MASS,
    "F": Dimension.FORCE, "force": Dimension.FORCE, "thrust": Dimension.FORCE, "volume": Dimension.VOLUME,
    "level": Dimension.LENGTH, "length": Dimension.LENGTH,
}  # fmt: skip
"""Names that say their dimension, so that even a one-letter unit behind them can be only that."""

CLEAR_LETTERS = frozenset("VsmhK%")
"""One-letter units that a bracket alone makes clear."""
NOT_AFTER_A_NAME = frozenset({"in", "min", "at", "deg", "ft", "1", "-", "rad", "st", "cc", "sec", "second"})
"""Unit words that are also parts of names: T_in, p_min, p_at. In brackets they are units."""


class Heading(NamedTuple):
    """What a heading says: the column's name, and unit, dimension and kind of pressure where it says so."""

    name: str
    unit: str | None
    dimension: Dimension | None
    kind: Kind | None


def unit_of_cell(text: str) -> Heading | None:
    """A cell that is nothing but a unit ("s", "[bar]", "Deg C"), or None. Its name is empty.

    >>> unit_of_cell("bar(a)")
    Heading(name='', unit='bar', dimension=<Dimension.PRESSURE: 'pressure'>, kind=<Kind.ABS: 'abs'>)
    """
    word = text.strip()
    brackets = _brackets(word)
    if len(brackets) == 1 and brackets[0] == (0, len(word)):
        word = word[1:-1].strip()
    return _looked_up("", word, DIMENSIONS)


def unit_of_heading(text: str) -> Heading:
    """Name and unit of a heading; unit, dimension and kind are None where none is clearly written.

    >>> unit_of_heading("P1_barg")
    Heading(name='P1', unit='bar', dimension=<Dimension.PRESSURE: 'pressure'>, kind=<Kind.GAUGE: 'gauge'>)
    >>> unit_of_heading("T_in").unit is None
    True
    """
    whole = " ".join(text.split())
    hits = [hit for start, end in _brackets(whole) if (hit := _in_bracket(whole, start, end))]
    if hits:
        return hits[0] if len(hits) == 1 else Heading(whole, None, None, None)
    if len(key(whole)) > 1 and key(whole).lower() not in NOT_AFTER_A_NAME:
        alone = _looked_up("", whole, DIMENSIONS)
        if alone is not None:
            return alone
    return _after_a_name(whole) or Heading(whole, None, None, None)


def _looked_up(name: str, word: str, dimensions: tuple[Dimension, ...]) -> Heading | None:
    if not word:
        return None
    for dimension in dimensions:
        hit = find_unit(word, dimension)
        if hit is None:
            continue
        # a letter alone is read in its own case, unless the name has said what it measures
        if len(key(word)) > 1 or len(dimensions) == 1 or key(word) in (hit[0].name, *hit[0].aliases):
            return Heading(name, hit[0].name, dimension, hit[1])
    return None


def _bound(name: str) -> Dimension | None:
    first = re.match(r"[A-Za-z]+", name)
    if first is None:
        return None
    word = first[0]
    return BOUND.get(word) if len(word) == 1 else BOUND.get(word.lower())


def _brackets(text: str) -> list[tuple[int, int]]:
    """Outermost bracket pairs, as slices."""
    pairs, depth, start = [], 0, 0
    for at, mark in enumerate(text):
        if mark in "([":
            start = at if depth == 0 else start
            depth += 1
        elif mark in ")]" and depth:
            depth -= 1
            if depth == 0:
                pairs.append((start, at + 1))
    return pairs


def _in_bracket(whole: str, start: int, end: int) -> Heading | None:
    word = whole[start + 1 : end - 1].strip()
    before = whole[:start].rstrip()
    # "p1 bar(g)": the bracket holds the kind, and the unit stands before it
    if word.lower() in ("a", "g", "abs", "gauge") and (hit := _after_a_name(before + f"({word})")):
        return hit
    name = " ".join((before + " " + whole[end:]).split())
    dimension = _bound(name)
    if len(key(word)) == 1 and word not in CLEAR_LETTERS:
        return _looked_up(name, word, (dimension,)) if dimension else None
    return _looked_up(name, word, DIMENSIONS)


def _after_a_name(whole: str) -> Heading | None:
    """A unit behind a name: after a blank, "_", "," or "/"; the longest that is one."""
    for cut in re.finditer(r"\s*[,_/]\s*|\s+", whole):
        name, word = whole[: cut.start()], whole[cut.end() :]
        if not name or not word:
            continue
        if len(key(word)) == 1:
            dimension = _bound(name)
            hit = _looked_up(name, word, (dimension,)) if dimension and len(name) > 1 else None
        elif key(word).lower() in NOT_AFTER_A_NAME:
            hit = None
        else:
            hit = _looked_up(name, word, DIMENSIONS)
        if hit is not None:
            return hit
    return None
