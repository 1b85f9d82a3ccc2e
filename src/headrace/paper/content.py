"""What a set-point sheet says, gathered once. Refuses a campaign without an engine. Start at `content`."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from headrace.notices import Notice, Severity, merged
from headrace.paper.seal import seal
from headrace.records.answers import Answer, Estimate
from headrace.records.given import Campaign, Engine, Side
from headrace.records.readings import Characteristic, RunResult

SIDES = ("ox", "fuel")


class Reduced(Protocol):
    """As much of a reduced campaign as paper needs."""

    @property
    def runs(self) -> Mapping[str, RunResult]: ...
    @property
    def characteristics(self) -> Mapping[str, Characteristic]: ...
    @property
    def notices(self) -> tuple[Notice, ...]: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetContent:
    """Everything a sheet is made from.

    standing: every notice that bears on the answer, gravest first. left_out: notices of runs that were left out;
    they are printed, but do not stand. seal: hash over the inputs and the version.
    signed_by: who signed, and when after a comma, if anyone.
    """

    campaign: Campaign
    engine: Engine
    runs: Mapping[str, RunResult]
    characteristics: Mapping[str, Characteristic]
    answer: Answer
    standing: tuple[Notice, ...]
    left_out: tuple[Notice, ...]
    version: str
    seal: str
    signed_by: str | None

    @property
    def has_set_points(self) -> bool:
        """True when there is a pressure to set on every tank; otherwise none may be printed as one."""
        return all(f"tanks.{side}" in self.answer.values for side in SIDES)

    @property
    def stopped(self) -> bool:
        """True when a stop stands: what is printed as a set point must not be set."""
        return bool(self.standing_of(Severity.STOP))

    def value(self, path: str) -> Estimate | None:
        """An estimate of the answer, or None when it has none there."""
        return self.answer.values.get(path)

    def fact(self, path: str) -> float | None:
        """A nominal number of the answer, or None."""
        return self.answer.facts.get(path)

    def standing_of(self, severity: Severity) -> tuple[Notice, ...]:
        """The standing notices of one severity."""
        return tuple(notice for notice in self.standing if notice.severity is severity)

    def side(self, name: str) -> Side:
        """One propellant side of the engine."""
        return self.engine.sides[name]

    def side_of(self, stream: str) -> str:
        """Which mark a stream's circuit has: ox, fuel or film."""
        first = stream.split("+")[0]
        for name in SIDES:
            for circuit in self.side(name).circuits:
                if circuit.id == first:
                    return "film" if circuit.film else name
        return "film"


def content(
    campaign: Campaign, reduced: Reduced, answer: Answer, *, version: str, signed_by: str | None = None
) -> SheetContent:
    """Gathers a sheet.

    Args:
        campaign: as read; it must have an engine. reduced: its runs. answer: set points, or why there are none.
        version: of headrace. signed_by: a name, once somebody signed.
    Raises:
        ValueError: the campaign has no engine.
    """
    if campaign.engine is None:
        raise ValueError("a set-point sheet needs an engine")
    every = merged(answer.notices, reduced.notices, campaign.notices, _of_runs(campaign, reduced))
    excluded = {run for run, result in reduced.runs.items() if result.excluded is not None}
    excluded |= {run for run, given in campaign.runs.items() if given.excluded is not None}
    return SheetContent(
        campaign=campaign,
        engine=campaign.engine,
        runs=reduced.runs,
        characteristics=reduced.characteristics,
        answer=answer,
        standing=tuple(notice for notice in every if notice.run not in excluded),
        left_out=tuple(notice for notice in every if notice.run in excluded),
        version=version,
        seal=seal(campaign.inputs, version=version),
        signed_by=signed_by,
    )


def _of_runs(campaign: Campaign, reduced: Reduced) -> Iterable[Notice]:
    for run in campaign.runs.values():
        yield from run.notices
    for result in reduced.runs.values():
        yield from result.notices
    for characteristic in reduced.characteristics.values():
        yield from characteristic.notices
