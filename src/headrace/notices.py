"""Doubts that travel with a result: a `Notice` is attached where it is found and no report may drop it."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum


class Severity(StrEnum):
    """How much a notice weighs. INFO: worth knowing. DOUBT: the number may be off. STOP: do not use it."""

    INFO = "info"
    DOUBT = "doubt"
    STOP = "stop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """One doubt: what was seen where, against which limit and whose, and what to try.

    code: kebab-case name of the finding, e.g. "gauge-taken-for-absolute".
    text: one or two sentences with the place, what was seen and the limit, in the reader's units.
    facts: SI numbers behind the text, by glossary name (dimensionless ratios included).
    limit: the limit and whose it is ("K > 1.5, owner default", "ISO 5167-4:2003, 5.5.3"); "" if none.
    try_: what to do about it.
    run: the run it was found in, or None when it belongs to the campaign or the answer.
    about: what it speaks of: a channel, a circuit, a tank ("p_ox", "circuit ox"); "" if the whole.
    """

    code: str
    severity: Severity
    text: str
    facts: tuple[tuple[str, float], ...] = ()
    limit: str = ""
    try_: str = ""
    run: str | None = None
    about: str = ""


def spelled(value: float, digits: int = 4) -> str:
    """A pure number in the words of a notice: so many significant digits, thousands apart, never an exponent.

    >>> spelled(79314.0), spelled(1e6), spelled(0.75)
    ('79\\xa0310', '1\\xa0000\\xa0000', '0.75')
    """
    text = format(Decimal(f"{value:.{digits}g}"), ",f" if abs(value) >= 10_000 else "f")
    return text.replace(",", "\N{NO-BREAK SPACE}")


ORDER = {Severity.STOP: 0, Severity.DOUBT: 1, Severity.INFO: 2}


def merged(*groups: Iterable[Notice]) -> tuple[Notice, ...]:
    """All notices of all groups, each once, gravest first and otherwise in order of arrival."""
    seen: dict[Notice, None] = {}
    for group in groups:
        for notice in group:
            seen.setdefault(notice)
    return tuple(sorted(seen, key=lambda notice: ORDER[notice.severity]))


def stands(notices: Iterable[Notice]) -> bool:
    """True when at least one STOP is among them."""
    return any(notice.severity is Severity.STOP for notice in notices)
