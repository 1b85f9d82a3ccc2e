"""What explanations look into: a campaign, what its runs say, and its set points if it has an engine."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from headrace.chain.water import Reduced
from headrace.records.answers import Answer
from headrace.records.explained import Node
from headrace.records.given import Campaign
from headrace.records.readings import Characteristic, Reading, RunResult, characteristic_key


class Make(Protocol):
    """Makes the tree of one name, when it is asked for."""

    def __call__(self) -> Node: ...


Named = Iterator[tuple[str, Make]]


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """One campaign to be explained. answer: None without an engine."""

    campaign: Campaign
    reduced: Reduced
    answer: Answer | None

    def file(self, name: str, *, lines: tuple[int, int] = (0, 0), key: str = "") -> Node:
        """An input file as a leaf: its hash, the lines or the key."""
        return Node(
            kind="file",
            title=name,
            file=name,
            sha256=self.campaign.inputs.get(name, ""),
            lines=lines,
            key=key,
        )

    def has(self, name: str) -> bool:
        """Whether it is an input file of this campaign."""
        return name in self.campaign.inputs

    def readings(self, item: Characteristic) -> dict[str, list[Reading]]:
        """Readings behind a characteristic, by run in the order of its weights."""
        return {
            run: [one for one in self.reduced.runs[run].readings if one.used and _of(one, item)]
            for run in item.runs
            if run in self.reduced.runs
        }

    def raw(self, run: str) -> tuple[Node, ...]:
        """The files of one run, the raw one with the lines that its readings come from."""
        spans: dict[str, tuple[int, int]] = {}
        result: RunResult | None = self.reduced.runs.get(run)
        for one in result.readings if result is not None else ():
            for part in (one.origin, *one.origin.also):
                first, last = part.lines
                low, high = spans.get(part.file, (first, last))
                spans[part.file] = (min(low, first), max(high, last))
        files = [name for name in self.campaign.inputs if name.startswith(f"runs/{run}/")]
        return tuple(self.file(name, lines=spans.get(name, (0, 0))) for name in files)


def _of(one: Reading, item: Characteristic) -> bool:
    return characteristic_key(one.stream, one.state) == item.key
