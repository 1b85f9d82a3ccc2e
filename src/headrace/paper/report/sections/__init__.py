"""The sections of the campaign report, in order. To add one: a module with `build`, a template, a line here.

A section turns the content into plain data for its template; None where it has nothing to say.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from headrace.paper.report.content import ReportContent
from headrace.paper.report.sections import (
    bench,
    circuits,
    doubts,
    engine,
    provenance,
    runs,
    set_points,
    sources,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One section: its heading, its template, and what makes its data."""

    title: str
    template: str
    build: Callable[[ReportContent], Mapping[str, Any] | None]


SECTIONS: Mapping[str, Section] = MappingProxyType(
    {
        "bench": Section(title="Bench and day", template="bench.html", build=bench.build),
        "runs": Section(title="Runs", template="runs.html", build=runs.build),
        "circuits": Section(title="Circuits", template="circuits.html", build=circuits.build),
        "engine": Section(title="Engine", template="engine.html", build=engine.build),
        "set-points": Section(title="Set points", template="set_points.html", build=set_points.build),
        "doubts": Section(title="Doubts in full", template="doubts.html", build=doubts.build),
        "sources": Section(title="Sources of error", template="sources.html", build=sources.build),
        "provenance": Section(title="Provenance", template="provenance.html", build=provenance.build),
    }
)
