"""The ledger of a bench day as ledger.toml gives it: what was done and read, when, by whom. Made by `files`."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from headrace.records.given import Stated

FILE = "ledger.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One entry. what: key of `jobs.day.events.EVENTS`; number: its place in the file, from 1.

    p_gauge, level, valves: what was read once it was over, by vessel or valve ("open" or "shut"); level is of water
    above the zero of the sight tube [m]. values, words: the keys that its kind declares.
    """

    number: int
    line: int
    moment: datetime.datetime
    what: str
    by: str = ""
    p_gauge: Mapping[str, Stated] = field(default_factory=dict)
    level: Mapping[str, Stated] = field(default_factory=dict)
    valves: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, Stated] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    fresh: bool = False
    note: str = ""

    @property
    def origin(self) -> str:
        """Where it stands, in words."""
        return f"{FILE}, event {self.number}"

    def stated(self, key: str) -> Stated:
        """A number of its own, with its origin."""
        return replace(self.values[key], origin=self.origin)

    @property
    def place(self) -> str:
        """Its number, clock and kind, for a message."""
        return f"event {self.number}, {self.clock}, {self.what}"

    @property
    def clock(self) -> str:
        """Its time of day."""
        return self.moment.strftime("%H:%M" if self.moment.second == 0 else "%H:%M:%S")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """All events in the order of the file; the barometer until an event says otherwise; temperature of the room."""

    date: datetime.date
    ambient: Stated | None
    room: Stated | None
    events: tuple[Event, ...]
