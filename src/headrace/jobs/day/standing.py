"""What stands on the bench while the ledger is walked through: mutable on purpose, and nobody's but `walk`'s.

A reading holds until an event moves that vessel's water or gas; then it is stale and must be read again. Gas of
vessels joined by an open valve has one pressure. Start at `Bench`.
"""

import datetime
from dataclasses import dataclass, field, replace
from math import exp, hypot, inf

from headrace.physics.gas.orifice_flow import R_AIR
from headrace.physics.gas.settling import coldest_expansion, warmest_fill
from headrace.physics.gas.vessel import equalised_p_abs
from headrace.physics.pressure import absolute
from headrace.records.day import Known, Standing
from headrace.records.given import Bench as BenchGiven
from headrace.records.given import Campaign, Stated, Vessel
from headrace.records.ledger import Event

SETTLED = datetime.timedelta(minutes=20)
"""After so long the air of a vessel counts as settled. Common practice: 5 to 15 min."""

WARMING = 300.0
"""Time constant with which air in a vessel comes back to the room's temperature [s]. Common practice."""

ROOM = Stated(value=288.15, u=6.0, dist="normal", origin="common practice: a bench between 3 and 27 degC")
"""Temperature of the room where nobody wrote it."""

STANDARD = Stated(value=101325.0, u=2000.0, dist="normal", origin="common practice: barometer near sea level")
"""The barometer where nobody wrote it: good enough to see what stands, not for a run."""

PRESSED = 0.5e5
"""Gauge pressure above which water under air takes air up in earnest [Pa]. Common practice."""

REAL_GAS = 0.013 / 6e6
"""How far air departs from an ideal gas, for each Pa, up to 100 bar. Common practice."""


@dataclass(slots=True)
class Vesseled:
    """One vessel as it stands. before_abs: its pressure before it was last moved; carried: band left from then."""

    given: Vessel
    p_gauge: Known | None = None
    level: Known | None = None
    before_abs: float | None = None
    disturbed: datetime.datetime | None = None
    carried: tuple[float, float] = (1.0, 1.0)
    settle: tuple[float, float] = (1.0, 1.0)
    warm: float = 1.0
    soaked: float = 0.0
    emptied: bool = False
    moved_by: int = 0

    def moved(self, event: Event, ambient: float) -> None:
        """Its gas was moved: what was read is stale. Once for each event."""
        if self.moved_by == event.number:
            return
        self.moved_by = event.number
        recent = self.disturbed is not None and event.moment - self.disturbed < SETTLED
        self.carried = self.settle if recent else (1.0, 1.0)
        known = self.p_gauge is not None and not self.p_gauge.stale
        self.before_abs = _abs(self.p_gauge, ambient) if known and self.p_gauge is not None else None
        self.disturbed = event.moment
        self.settle = (0.0, inf)
        if self.p_gauge is not None and not self.p_gauge.stale:
            self.p_gauge = replace(self.p_gauge, stale=_since(event))

    def level_moved(self, event: Event) -> None:
        """Its water was moved."""
        if self.level is not None and not self.level.stale:
            self.level = replace(self.level, stale=_since(event))

    def vented(self, event: Event) -> None:
        """It stands open to air."""
        self.p_gauge = Known(value=0.0, u=0.0, how="computed", number=event.number, moment=event.moment)

    def computed(self, pressure: tuple[float, float], event: Event) -> None:
        """A pressure that follows from others [Pa gauge, u]."""
        self.p_gauge = Known(
            value=pressure[0], u=pressure[1], how="computed", number=event.number, moment=event.moment
        )

    def read_pressure(self, stated: Stated, event: Event) -> None:
        """A gauge was read."""
        self.p_gauge = _read(stated, event)

    def read_level(self, stated: Stated, event: Event) -> None:
        """A sight tube was read."""
        self.level = _read(stated, event)

    def settles(self, now: datetime.datetime, ambient: float, exponent: float, *, liquid: bool) -> None:
        """How far the pressure that now stands may still go by itself. liquid: it rose because water pressed on it."""
        if self.disturbed is None or now - self.disturbed >= SETTLED:
            self.settle, self.warm = (1.0, 1.0), 1.0
            return
        if self.p_gauge is None or self.p_gauge.stale:
            return
        if self.before_abs is None:
            self.settle = (0.0, inf)
            return
        after = _abs(self.p_gauge, ambient)
        low, high = self.carried
        ratio = after / self.before_abs
        if 0 < ratio < 1:
            high *= float(coldest_expansion(pressure_ratio=ratio))
            self.warm = ratio ** (1 - 1 / exponent)
        elif ratio > 1:
            hottest = float(coldest_expansion(pressure_ratio=1 / ratio) if liquid
                            else warmest_fill(pressure_ratio=1 / ratio))  # fmt: skip
            low /= hottest
            self.warm = 1 + (hottest - 1) / 2
        self.settle = (low, high)


def _read(stated: Stated, event: Event) -> Known:
    return Known(value=stated.value, u=stated.u, how="read", number=event.number, moment=event.moment)


def _abs(p_gauge: Known, ambient: float) -> float:
    return float(absolute(p_gauge=p_gauge.value, p_ambient=ambient))


def _since(event: Event) -> str:
    return f"before {event.place}"


@dataclass(slots=True)
class Bench:
    """Everything that stands. positions: of valves, "open" or "shut"; one that nobody wrote down counts as shut."""

    campaign: Campaign
    vessels: dict[str, Vesseled]
    positions: dict[str, str] = field(default_factory=dict)
    ambient: Stated = STANDARD
    room: Stated | None = None
    water_temperature: Stated | None = None
    now: datetime.datetime | None = None

    @property
    def given(self) -> BenchGiven:
        """The bench as it is built."""
        return self.campaign.bench

    def joined(self, name: str) -> frozenset[str]:
        """Vessels whose gas is one with this one's."""
        found, todo = {name}, [name]
        while todo:
            at = todo.pop()
            for valve in self.given.valves.values():
                if at in valve.between and self.positions.get(valve.id) == "open":
                    others = {one for one in valve.between if one in self.vessels} - found
                    found |= others
                    todo += others
        return frozenset(found)

    def moved(self, name: str, event: Event) -> frozenset[str]:
        """Gas of this vessel, and of all that are joined to it, was moved."""
        group = self.joined(name)
        for one in group:
            self.vessels[one].moved(event, self.ambient.value)
        return group

    def behind(self, run: str) -> tuple[str, ...]:
        """Vessels behind the lines of a run, or behind any line where the run is not known; all of them where the bench
        does not say.
        """
        known = self.campaign.runs.get(run)
        named = [self.given.lines[line] for flow in known.flows for line in flow.lines] if known else []
        lines = named or list(self.given.lines.values())
        feeding = [line.vessel for line in lines if line.vessel is not None]
        if not lines or len(feeding) < len(lines):
            return tuple(self.vessels)
        pushing = [self.given.vessels[name].pushed_by for name in feeding]
        return tuple(dict.fromkeys(name for name in (*feeding, *pushing) if name is not None))

    def evened(self, first: str, second: str) -> tuple[float, float] | None:
        """Gauge pressure [Pa] and its u once the gas of two vessels, and of all joined to them, has become one.

        None where too little stands. The sum of p V stays, at once and after settling.
        """
        ambient = self.ambient.value
        parts = [self.standing(name) for name in sorted(self.joined(first) | self.joined(second))]
        known: list[tuple[Known, Known]] = []
        for one in parts:
            if one.p_gauge is None or one.gas is None or one.p_gauge.stale or one.gas.stale:
                return None
            known.append((one.p_gauge, one.gas))
        p_abs, total = _abs(known[0][0], ambient), known[0][1].value
        for pressure, gas in known[1:]:
            p_abs = float(equalised_p_abs(p_abs_first=p_abs, volume_first=total,
                                          p_abs_second=_abs(pressure, ambient), volume_second=gas.value))  # fmt: skip
            total += gas.value
        shares = [part for pressure, gas in known
                  for part in (gas.value * pressure.u, (_abs(pressure, ambient) - p_abs) * gas.u)]  # fmt: skip
        return p_abs - ambient, hypot(*shares) / total

    def pass_time(self, moment: datetime.datetime) -> None:
        """Time goes on: water under air soaks. A step back counts for nothing."""
        passed = 0.0 if self.now is None else max((moment - self.now).total_seconds(), 0.0)
        for vessel in self.vessels.values():
            if vessel.p_gauge is not None and vessel.p_gauge.value > PRESSED:
                vessel.soaked += passed
        self.now = moment

    def read(self, event: Event, touched: frozenset[str]) -> None:
        """What was read once the event was over; a pressure counts for all that are joined to its vessel."""
        self.positions.update(event.valves)
        for name, stated in event.level.items():
            self.vessels[name].read_level(stated, event)
        for name, stated in event.p_gauge.items():
            self.vessels[name].read_pressure(stated, event)
            for other in self.joined(name) - set(event.p_gauge):
                self.vessels[other].computed((stated.value, stated.u), event)
        for name, vessel in self.vessels.items():
            liquid = event.what == "fill" and name in touched and vessel.given.content == "water"
            vessel.settles(
                event.moment, self.ambient.value, self.campaign.defaults.polytropic[0], liquid=liquid
            )

    def standings(self) -> dict[str, Standing]:
        """All vessels as they stand."""
        return {name: self.standing(name) for name in self.vessels}

    def standing(self, name: str) -> Standing:
        """One vessel as it stands, with what follows from it."""
        vessel = self.vessels[name]
        water = self._water(vessel)
        gas = self._gas(vessel, water)
        temp = self._temp(vessel)
        return Standing(
            vessel=name, p_gauge=vessel.p_gauge, level=vessel.level, water=water, gas=gas, temp=temp,
            air=self._air(vessel.p_gauge, gas, temp), settle_low=vessel.settle[0], settle_high=vessel.settle[1],
            soak=vessel.soaked if vessel.given.content == "water" else None,
        )  # fmt: skip

    def _water(self, vessel: Vesseled) -> Known | None:
        section, level = vessel.given.section, vessel.level
        if section is None or level is None:
            return None
        u = hypot(section.value * level.u, section.u * level.value)
        return replace(level, value=vessel.given.below + section.value * level.value, u=u, how="computed")

    def _gas(self, vessel: Vesseled, water: Known | None) -> Known | None:
        volume = vessel.given.volume
        if vessel.given.content == "air":
            moment = self.now or datetime.datetime.min
            return Known(value=volume.value, u=volume.u, how="computed", number=0, moment=moment)
        if water is None or not volume.value > water.value:
            return None
        return replace(water, value=volume.value - water.value, u=hypot(volume.u, water.u))

    def _temp(self, vessel: Vesseled) -> Known | None:
        room = self.room or self.water_temperature or ROOM
        u = max(room.u, 2.0)  # a vessel is not at one temperature
        value, number, moment = room.value, 0, self.now
        if moment is None:
            return None
        if vessel.disturbed is not None and vessel.warm != 1:
            left = exp(-max((moment - vessel.disturbed).total_seconds(), 0.0) / WARMING)
            away = room.value * (vessel.warm - 1) * left
            value, u = value + away, hypot(u, away / 2)
        return Known(value=value, u=u, how="computed", number=number, moment=moment)

    def _air(self, p_gauge: Known | None, gas: Known | None, temp: Known | None) -> Known | None:
        if p_gauge is None or gas is None or temp is None:
            return None
        p_abs = _abs(p_gauge, self.ambient.value)
        if not p_abs > 0:
            return None
        mass = p_abs * gas.value / (R_AIR * temp.value)
        shares = (p_gauge.u / p_abs, gas.u / gas.value, temp.u / temp.value, REAL_GAS * p_abs / 3**0.5)
        stale = p_gauge.stale or gas.stale
        return Known(value=mass, u=mass * hypot(*shares), how="computed", number=p_gauge.number,
                     moment=p_gauge.moment, stale=stale)  # fmt: skip
