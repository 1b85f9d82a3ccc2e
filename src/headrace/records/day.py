"""What stands where on a bench, event by event. Made by `jobs.day`."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from headrace.records.given import Stated
from headrace.records.ledger import Event


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A number of the day, SI, with its standard uncertainty.

    how: "read" or "computed". number, moment: the event it was read or computed at. stale: why it need not hold any
    more, "" while it stands.
    """

    value: float
    u: float
    how: str
    number: int
    moment: datetime.datetime
    stale: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One vessel: gauge pressure, level [m], water and gas in it [m3], air [kg], guessed temperature of the air [K].

    settle_low, settle_high: by which factors its absolute pressure may still change by itself, as warm gas cools and
    cold gas warms. soak: how long its water has stood under air since it was fresh [s]; None for an air vessel.
    """

    vessel: str
    p_gauge: Known | None
    level: Known | None
    water: Known | None
    gas: Known | None
    air: Known | None
    temp: Known | None
    settle_low: float = 1.0
    settle_high: float = 1.0
    soak: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """An event with what stood before and after it. touched: vessels whose gas or water it moved."""

    event: Event
    before: Mapping[str, Standing]
    after: Mapping[str, Standing]
    valves: Mapping[str, str]
    ambient: Stated
    touched: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """The ledger walked through: every step, and what stands at its end.

    air_added, air_vented: by fills and vents of which enough is known [kg], or None.
    """

    steps: tuple[Step, ...]
    vessels: Mapping[str, Standing]
    valves: Mapping[str, str]
    ambient: Stated
    water_temperature: Stated | None
    air_added: Known | None
    air_vented: Known | None

    @property
    def last_run(self) -> Step | None:
        """The last run of it."""
        return next((step for step in reversed(self.steps) if step.event.what == "run"), None)
