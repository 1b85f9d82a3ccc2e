"""Doubts in full: every notice, numbered, gravest first, with its number against its limit. None is dropped."""

from collections.abc import Mapping
from typing import Any

from headrace.notices import Notice
from headrace.paper.report.content import ReportContent
from headrace.paper.report.evidence import against_limit
from headrace.paper.sections.doubts import in_words
from headrace.paper.sections.standing import COUNTED, spoken


def build(content: ReportContent) -> Mapping[str, Any]:
    """What stands, and what was found in runs that were left out."""
    return {
        "standing": [told(content, notice) for notice in content.standing],
        "left_out": [told(content, notice) for notice in content.left_out],
    }


def told(content: ReportContent, notice: Notice, *, letter: str = "") -> dict[str, Any]:
    """One notice for the template. letter: by which a figure of its run knows it."""
    place = ", ".join(part for part in (notice.run or "", in_words(notice.about)) if part)
    return {
        "number": content.number(notice),
        "letter": letter,
        "severity": notice.severity.value,
        "word": COUNTED[notice.severity][0],
        "name": spoken(notice.code),
        "code": notice.code,
        "place": place,
        "text": notice.text,
        "limit": notice.limit,
        "try": notice.try_,
        "ruler": against_limit(notice, content.campaign.limits),
    }
