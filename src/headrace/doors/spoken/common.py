"""What every spoken result shares: the title with the band of standing doubts, and the doubts in full."""

from collections import Counter
from collections.abc import Iterable, Sequence

from headrace.doors.terminal import heading, indented, line
from headrace.errors import Problem
from headrace.notices import Notice, Severity
from headrace.records.given import Campaign

COUNTED = {
    Severity.STOP: ("stop", "stops"),
    Severity.DOUBT: ("doubt", "doubts"),
    Severity.INFO: ("remark", "remarks"),
}
WORDS = {"ox": "oxidiser", "fuel": "fuel"}


def counted(number: int, one: str, many: str) -> str:
    """A number with its noun."""
    return f"{number} {one if number == 1 else many}"


def title(campaign: Campaign, notices: Sequence[Notice]) -> None:
    """Name, injector and date; under it what stands, counted and named."""
    invented = " (invented)" if campaign.invented and "invented" not in campaign.name.casefold() else ""
    line(
        f"{campaign.name}{invented}, injector {campaign.article.serial or 'not named'}, campaign date {campaign.date}"
    )
    excluded = left_out(campaign)
    standing = [notice for notice in notices if notice.run not in excluded]
    if not standing:
        line("No doubt was raised.")
    for severity, (one, many) in COUNTED.items():
        codes = Counter(notice.code.replace("-", " ") for notice in standing if notice.severity is severity)
        if codes:
            names = ", ".join(code if count == 1 else f"{code} ({count})" for code, count in codes.items())
            indented(f"{counted(codes.total(), one, many)}: ", names)


def left_out(campaign: Campaign) -> set[str]:
    """Runs that do not count."""
    return {run.id for run in campaign.runs.values() if run.excluded is not None}


def doubts(notices: Sequence[Notice], campaign: Campaign | None = None) -> None:
    """Every notice in full, gravest first, numbered; what was found in runs that were left out comes last."""
    if not notices:
        return
    excluded = left_out(campaign) if campaign is not None else set()
    standing = [notice for notice in notices if notice.run not in excluded]
    gone = [notice for notice in notices if notice.run in excluded]
    if standing:
        heading(f"Doubts in full: {len(standing)}, gravest first")
        _listed(standing, 1)
    if gone:
        heading("Found in runs that were left out; they do not stand")
        _listed(gone, len(standing) + 1)


def _listed(notices: Iterable[Notice], first: int) -> None:
    for number, notice in enumerate(notices, start=first):
        word = COUNTED[notice.severity][0]
        limit = f" Limit: {notice.limit}." if notice.limit else ""
        advice = f" Try: {notice.try_.rstrip('.')}." if notice.try_ else ""
        text = notice.text if notice.text.endswith((".", ")")) else notice.text + "."
        indented(f"{number:>3} {word}, {notice.code}: ", f"{text}{limit}{advice}")


def asked(questions: Sequence[Problem]) -> None:
    """Questions that wait for an answer in a file."""
    if not questions:
        return
    heading(f"Open questions: {len(questions)}; a run is not used until its own are answered")
    for one in questions:
        place = one.file + (f", line {one.line}" if one.line is not None else "")
        advice = f" Try: {one.try_}." if one.try_ else ""
        indented("  ", f"{place}, {one.key}: {one.found}; expected {one.expected}.{advice}")
