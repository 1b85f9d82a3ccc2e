"""What a report says, gathered once. Refuses nothing: no engine, run or answer is told as such. Start at `content`."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from headrace.chain.water import Reduced
from headrace.notices import Notice, Severity, merged
from headrace.paper.content import SheetContent
from headrace.paper.content import content as sheet_content
from headrace.paper.seal import seal
from headrace.records.answers import Answer
from headrace.records.day import Day
from headrace.records.given import Campaign
from headrace.records.readings import Characteristic, Reading, RunResult, characteristic_key


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportContent:
    """Everything a report is made from.

    answer: set points of the design point, None without an engine. day: the ledger's, None without one. standing: every
    notice that bears on the campaign, gravest first. left_out: notices of runs that were left out. sides: mark of each
    stream ("ox", "fuel", "film").
    """

    campaign: Campaign
    reduced: Reduced
    answer: Answer | None
    sheet: SheetContent | None
    day: Day | None
    standing: tuple[Notice, ...]
    left_out: tuple[Notice, ...]
    version: str
    seal: str
    sides: Mapping[str, str] = field(default_factory=dict)

    @property
    def notices(self) -> tuple[Notice, ...]:
        """All of them, in the order in which they are numbered."""
        return (*self.standing, *self.left_out)

    def number(self, notice: Notice) -> int:
        """Its number in this report."""
        return self.notices.index(notice) + 1

    def of_run(self, run: str) -> tuple[Notice, ...]:
        """What was found in one run, in the order of its numbers."""
        return tuple(notice for notice in self.notices if notice.run == run)

    def of(self, severity: Severity) -> tuple[Notice, ...]:
        """What stands, of one severity."""
        return tuple(notice for notice in self.standing if notice.severity is severity)

    def readings(self, item: Characteristic) -> list[Reading]:
        """Readings of one characteristic's stream and state, used or not."""
        return [
            reading
            for run in self.reduced.runs.values()
            for reading in run.readings
            if reading.stream == item.stream and reading.state == item.state
        ]

    def carried(self, run: RunResult) -> dict[str, Characteristic]:
        """The characteristic that each stream of a run is held against."""
        keys = {reading.stream: characteristic_key(reading.stream, reading.state) for reading in run.readings}
        known = self.reduced.characteristics
        return {stream: known[key] for stream, key in keys.items() if key in known}


def content(
    campaign: Campaign,
    reduced: Reduced,
    answer: Answer | None,
    *,
    version: str,
    day: Day | None = None,
    found: Iterable[Notice] = (),
) -> ReportContent:
    """Gathers a report.

    Args:
        answer: set points, or None where there is no engine to ask for. day: its ledger walked through, with what was
            `found` in it; None without a ledger.
    """
    sheet = (
        sheet_content(campaign, reduced, answer, version=version)
        if campaign.engine is not None and answer is not None
        else None
    )
    every = merged(
        answer.notices if answer is not None else (),
        reduced.notices,
        found,
        campaign.notices,
        *(run.notices for run in campaign.runs.values()),
        *(run.notices for run in reduced.runs.values()),
        *(item.notices for item in reduced.characteristics.values()),
    )
    excluded = {key for key, run in campaign.runs.items() if run.excluded is not None}
    streams = dict.fromkeys(
        (*campaign.article.circuits, *(stream for run in reduced.runs.values() for stream in run.windows),
         *(item.stream for item in reduced.characteristics.values()))
    )  # fmt: skip
    return ReportContent(
        campaign=campaign,
        reduced=reduced,
        answer=answer,
        sheet=sheet,
        day=day,
        standing=tuple(notice for notice in every if notice.run not in excluded),
        left_out=tuple(notice for notice in every if notice.run in excluded),
        version=version,
        seal=seal(campaign.inputs, version=version),
        sides=_sides(campaign, tuple(streams)),
    )


def _sides(campaign: Campaign, streams: tuple[str, ...]) -> dict[str, str]:
    """By the engine where there is one; else circuits named after a side, and the others as film."""
    known: dict[str, str] = {}
    if campaign.engine is not None:
        for name, side in campaign.engine.sides.items():
            known |= {circuit.id: "film" if circuit.film else name for circuit in side.circuits}
            known |= {part: name for group in side.feed.parts for part in group}
    out = {}
    for stream in streams:
        first = stream.split("+")[0]
        out[stream] = known.get(first) or next((side for side in ("ox", "fuel") if first == side), "film")
    return out
