"""The ledger, event by event: what stood before, what stands after. Start at `walk`."""

import datetime
from collections.abc import Iterable
from math import hypot

from headrace.jobs.day.events import EVENTS
from headrace.jobs.day.standing import STANDARD, Bench, Vesseled
from headrace.records.day import Day, Known, Standing, Step
from headrace.records.given import Campaign


def walk(campaign: Campaign, *, until: datetime.datetime | None = None) -> Day:
    """Walk through the campaign's ledger in the order of the file.

    Args:
        until: events later than this are left out; default: all count.
    """
    ledger = campaign.ledger
    bench = Bench(
        campaign=campaign, vessels={name: Vesseled(given=one) for name, one in campaign.bench.vessels.items()}
    )
    events = () if ledger is None else ledger.events
    if ledger is not None:
        bench.ambient, bench.room = ledger.ambient or STANDARD, ledger.room
    steps = []
    for event in events:
        if until is not None and event.moment > until:
            continue
        bench.pass_time(event.moment)
        before = bench.standings()
        touched = EVENTS[event.what].apply(bench, event)
        bench.read(event, touched)
        steps.append(
            Step(event=event, before=before, after=bench.standings(), valves=dict(bench.positions),
                 ambient=bench.ambient, touched=touched)
        )  # fmt: skip
    if until is not None:
        bench.pass_time(until)
    return Day(
        steps=tuple(steps), vessels=bench.standings(), valves=dict(bench.positions), ambient=bench.ambient,
        water_temperature=bench.water_temperature, air_added=_sum(steps, "fill", 1),
        air_vented=_sum(steps, "vent", -1),
    )  # fmt: skip


def _sum(steps: Iterable[Step], what: str, sign: int) -> Known | None:
    """Air that all events of one kind brought [kg], as far as it stood before and after them."""
    total, u, last = 0.0, 0.0, None
    for step in steps:
        for name in step.touched if step.event.what == what else ():
            change = _change(step.before[name], step.after[name])
            if change is not None:
                total, u, last = total + sign * change[0], hypot(u, change[1]), step
    if last is None:
        return None
    return Known(value=total, u=u, how="computed", number=last.event.number, moment=last.event.moment)


def _change(before: Standing, after: Standing) -> tuple[float, float] | None:
    one, two = before.air, after.air
    if one is None or two is None or one.stale or two.stale or two.number == one.number:
        return None
    return two.value - one.value, hypot(one.u, two.u)
