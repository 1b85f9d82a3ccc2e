"""Back: every notice in full. None is dropped; what does not fit the page makes another."""

from headrace.notices import Notice
from headrace.paper.content import SheetContent
from headrace.paper.markup import call
from headrace.paper.sections.standing import spoken


def typst(sheet: SheetContent) -> str:
    """All that stands, gravest first, numbered; then what was found in runs that were left out."""
    count = len(sheet.standing) + len(sheet.left_out)
    if not count:
        return call("head", "Doubts in full") + call("note", "None was raised.")
    parts = [call("head", "Doubts in full", note=f"{count}, gravest first")]
    parts += [_entry(number, notice) for number, notice in enumerate(sheet.standing, start=1)]
    if sheet.left_out:
        parts.append(call("part", "Found in runs that were left out; they do not stand"))
        first = len(sheet.standing) + 1
        parts += [_entry(number, notice) for number, notice in enumerate(sheet.left_out, start=first)]
    return "".join(parts)


def _entry(number: int, notice: Notice) -> str:
    place = ", ".join(part for part in (notice.run or "", notice.about) if part)
    limit = f"Limit: {notice.limit}." if notice.limit else ""
    rest = f"{limit} {notice.try_}".strip()
    name = spoken(notice.code)
    return call(
        "doubt",
        str(number),
        notice.severity.value,
        f"{place}: {name}." if place else f"{name}.",
        notice.text,
        rest,
    )
