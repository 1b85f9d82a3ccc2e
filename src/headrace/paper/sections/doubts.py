"""Back: every notice in full. None is dropped; what does not fit the page makes another."""

from collections.abc import Iterable, Sequence

from headrace.jobs.reduce.meter_scope import WORDS
from headrace.notices import Notice, Severity
from headrace.paper.content import SheetContent
from headrace.paper.markup import Literal, call
from headrace.paper.sections.standing import COUNTED, spoken, tally

QUANTITIES = {name: words.split(" [")[0] for name, words in WORDS.items()} | {"time": "clock of the logger"}
"""Short names of quantities that a notice may be about, in words."""


def typst(sheet: SheetContent) -> str:
    """All that stands, gravest first, numbered; then what was found in runs that were left out."""
    if not sheet.standing and not sheet.left_out:
        return call("head", "Doubts in full") + call("note", "None was raised.")
    parts = [call("head", "Doubts in full", note=f"{tally(sheet)}; gravest first")]
    parts += _entries(sheet.standing, first=1)
    if sheet.left_out:
        parts.append(call("part", "Found in runs that were left out; they do not stand"))
        parts += _entries(sheet.left_out, first=len(sheet.standing) + 1)
    return "".join(parts)


def _entries(notices: Iterable[Notice], *, first: int) -> Iterable[str]:
    for group in _together(notices):
        last = first + len(group) - 1
        yield _entry(str(first) if last == first else f"{first}–{last}", group)
        first = last + 1


def _together(notices: Iterable[Notice]) -> list[list[Notice]]:
    """Remarks of one code under one heading, where the first of them stands; anything graver by itself."""
    groups: list[list[Notice]] = []
    of_code: dict[str, list[Notice]] = {}
    for notice in notices:
        if notice.severity is Severity.INFO and notice.code in of_code:
            of_code[notice.code].append(notice)
            continue
        groups.append([notice])
        if notice.severity is Severity.INFO:
            of_code[notice.code] = groups[-1]
    return groups


def _entry(number: str, group: Sequence[Notice]) -> str:
    places = dict.fromkeys(
        ", ".join(part for part in (one.run or "", in_words(one.about)) if part) for one in group
    )
    place, name = "; ".join(filter(None, places)), spoken(group[0].code)
    told: list[Literal] = []
    for at, one in enumerate(group):
        follows = group[at + 1] if at + 1 < len(group) else None
        same = follows is not None and advice(follows) == advice(one)
        told.append([one.text, "" if same else advice(one)])
    severity = group[0].severity
    heading = f"{place}: {name}." if place else f"{name}."
    if heading.split(maxsplit=1)[0].isalpha():  # a word, not the name of a file or a run
        heading = heading[:1].upper() + heading[1:]
    return call("doubt", number, severity.value, COUNTED[severity][0], heading, told)


def in_words(about: str) -> str:
    """What a notice is about, its last part in words where it is a short name of our own.

    >>> in_words("meter FV-A, re")
    'meter FV-A, pipe Reynolds number'
    """
    *where, last = about.split(", ")
    return ", ".join((*where, QUANTITIES.get(last, last)))


def advice(notice: Notice) -> str:
    """Limit and what to try; said once where neighbours in a group share it."""
    limit = f"Limit: {notice.limit}." if notice.limit else ""
    return f"{limit} {f'Try: {notice.try_}' if notice.try_ else ''}".strip()
