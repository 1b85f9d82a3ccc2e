"""What is said of one run right after it. Made by `jobs.verdict`."""

from collections.abc import Mapping
from dataclasses import dataclass

from headrace.notices import Notice
from headrace.records.answers import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Is a run good, and what next.

    good: reduced, no stop and no doubt of its own, in agreement with the others. next: "repeat", "change" or "go on";
    what: what to change or why to go on. settled: gauge pressure to which each vessel behind it comes [Pa]; basis: what
    that rests on, by vessel. notices: those of this run.
    """

    run: str
    good: bool
    next: str
    what: str
    reasons: tuple[str, ...]
    settled: Mapping[str, Estimate]
    basis: Mapping[str, str]
    notices: tuple[Notice, ...]
