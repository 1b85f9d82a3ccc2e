"""What a run may take from the ledger: barometer, temperatures of its water and of the room, levels.

The nearest events count: the latest before the run, or else the first of the same day after it. Start at `supplied`.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from headrace.notices import Notice, Severity
from headrace.records.given import Bench, RunGiven, Stated, Total
from headrace.records.ledger import FILE, Event, Ledger

Feeds = Mapping[str, tuple[str, ...]]
"""Vessels behind the lines of each run, where that is known."""

CLEAR = 2.0
"""Standard uncertainties of the difference beyond which run.toml and ledger contradict each other."""

SPREAD = {"ambient": 100.0, "water_temperature": 0.5}
"""What barometer [Pa] and water [K] may change by themselves between a reading and its run. Common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplied:
    """What the ledger says around one run; None where it does not."""

    ambient: Stated | None = None
    water_temperature: Stated | None = None
    total: Total | None = None
    air_temperature: Stated | None = None


def event_of(ledger: Ledger | None, run: str) -> Event | None:
    """The event of a run; the last, where it stands twice."""
    events = ledger.events if ledger is not None else ()
    return next((one for one in reversed(events) if one.what == "run" and one.words["run"] == run), None)


def supplied(ledger: Ledger | None, bench: Bench | None, run: str, feeds: Feeds) -> Supplied:
    """Around the event of this run.

    Args:
        feeds: of every run. A total is that of the one vessel behind all lines of a run, or there is none.
    """
    event = event_of(ledger, run)
    if ledger is None or event is None:
        return Supplied()
    around = list(_around(ledger, event))
    feeding = set(feeds.get(run, ()))
    vessel = next(iter(feeding)) if len(feeding) == 1 else None
    ambient = _stated(around, ("barometer",), "ambient", None) or ledger.ambient
    warm = _stated(around, ("water", "fill"), "temperature", vessel)
    total = _total(ledger, bench, event, vessel, feeds) if bench and vessel else None
    return Supplied(ambient=ambient, water_temperature=warm, total=total, air_temperature=ledger.room)


def _around(ledger: Ledger, event: Event) -> Iterator[Event]:
    """Events up to this one, latest first; then those of the same day after it."""
    at = ledger.events.index(event)
    yield from reversed(ledger.events[: at + 1])
    yield from (one for one in ledger.events[at + 1 :] if one.moment.date() == event.moment.date())


def _stated(around: Iterable[Event], kinds: tuple[str, ...], key: str, vessel: str | None) -> Stated | None:
    for one in around:
        elsewhere = vessel is not None and one.words.get("vessel") not in (None, vessel)
        if one.what in kinds and key in one.values and not elsewhere:
            return one.stated(key)
    return None


def _total(ledger: Ledger, bench: Bench, event: Event, vessel: str, feeds: Feeds) -> Total | None:
    """Water that left a vessel, by its levels before and after; None where either was not read."""
    given = bench.vessels.get(vessel)
    if given is None or given.section is None:
        return None
    at = ledger.events.index(event)
    before = _before(reversed(ledger.events[:at]), vessel, feeds)
    read = (event, event.level[vessel]) if vessel in event.level else None
    after = read or _after(ledger.events[at + 1 :], vessel, feeds)
    if before is None or after is None:
        return None
    (one, start), (two, end) = before, after
    if not start.value > end.value:
        return None  # told as a level that moved by itself
    origin = f"{FILE}, events {one.number} and {two.number}"
    volume = Stated(
        value=given.section.value * (start.value - end.value), u=given.section.value * (start.u**2 + end.u**2) ** 0.5,
        dist="normal", origin=origin, text=f"{start.text} to {end.text}",
    )  # fmt: skip
    return Total(
        volume=volume, vessel=vessel, section_u_rel=given.section.u / given.section.value, origin=origin
    )


def _moves(event: Event, vessel: str, feeds: Feeds) -> bool:
    """Whether an event moves the water of a vessel; a run of which nothing is known might."""
    if event.what == "run":
        return vessel in feeds.get(event.words["run"], (vessel,))
    return event.what in ("fill", "drain") and event.words["vessel"] == vessel


def _before(events: Iterable[Event], vessel: str, feeds: Feeds) -> tuple[Event, Stated] | None:
    """The latest level, unless its water was moved since; events latest first."""
    for one in events:
        if vessel in one.level:
            return one, one.level[vessel]
        if _moves(one, vessel, feeds):
            return None
    return None


def _after(events: Iterable[Event], vessel: str, feeds: Feeds) -> tuple[Event, Stated] | None:
    """The next level, unless its water is moved before that."""
    for one in events:
        if _moves(one, vessel, feeds):
            return None
        if vessel in one.level:
            return one, one.level[vessel]
    return None


def contradictions(run: RunGiven, said: Supplied) -> tuple[Notice, ...]:
    """Where run.toml and ledger state the same and differ beyond their doubts; run.toml is what counts."""
    pairs = (("ambient", run.ambient, said.ambient, "mbar", 1e2, 0.0),
             ("water_temperature", run.water_temperature, said.water_temperature, "degC", 1.0, 273.15))  # fmt: skip
    return tuple(
        _contradicts(run, name, own, other, unit, scale, zero)
        for name, own, other, unit, scale, zero in pairs
        if own is not None and other is not None
        and abs(own.value - other.value) > CLEAR * (own.u**2 + other.u**2 + SPREAD[name] ** 2) ** 0.5
    )  # fmt: skip


def _contradicts(
    run: RunGiven, name: str, own: Stated, other: Stated, unit: str, scale: float, zero: float
) -> Notice:
    return Notice(
        code="ledger-contradicts",
        severity=Severity.DOUBT,
        text=(
            f"Run {run.id}: {name} is {(own.value - zero) / scale:.5g} {unit} in run.toml and "
            f"{(other.value - zero) / scale:.5g} {unit} in {other.origin}. run.toml is what counts."
        ),
        facts=(("difference", own.value - other.value),),
        limit=f"{CLEAR:g} standard uncertainties of their difference, common practice",
        try_="look at the paper; mend the one that was mistyped, or leave it out of run.toml",
        run=run.id,
        about=name,
    )
