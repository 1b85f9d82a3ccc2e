"""The ledger of the invented days: what the crew wrote on paper around its runs, typed into ledger.toml afterwards."""

import datetime
from collections.abc import Iterator, Mapping

from headrace.demo.simulator.folder import HEADER, Pairs, bare, table
from headrace.demo.simulator.onerun import TrueRun
from headrace.demo.simulator.plan import Plan, RunPlan, VesselPlan
from headrace.demo.simulator.said import Said

MINUTE = datetime.timedelta(minutes=1)
INITIALS = "AB"


def ledger(plan: Plan, runs: Mapping[str, TrueRun]) -> str:
    """ledger.toml: before each run its vessels are filled and brought to pressure; after it both are read."""
    first = plan.runs[0]
    head: Pairs = [
        ("date", bare(first.date)),
        ("ambient", first.ambient),
        ("room", Said(value=first.water.value, unit="degC", half=3.0, doubt_unit="K")),
        ("p_doubt", "0.1 bar"),
        ("level_doubt", "1 mm"),
    ]
    return "\n".join([HEADER, table("", head), *(table("[[event]]", pairs) for pairs in _events(plan, runs))])


def _events(plan: Plan, runs: Mapping[str, TrueRun]) -> Iterator[Pairs]:
    vessels = {one.id: one for one in plan.vessels}
    lines = {one.id: one.vessel for one in plan.lines}
    standing: dict[str, float] = {}
    day: datetime.date | None = None
    now = datetime.datetime.min
    for run in sorted(plan.runs, key=lambda one: (one.date, one.hour)):
        begins = datetime.datetime.combine(run.date, datetime.time(run.hour, 12))
        begins = max(begins, now + 20 * MINUTE) if run.date == day else begins
        if run.date != day:
            yield from _morning(run, begins - 20 * MINUTE, new=day is not None)
            day = run.date
        fed = dict.fromkeys(lines[line] for stream in run.streams for line in stream.lines)
        yield from _before(run, begins, [vessels[name] for name in fed], standing)
        now = begins + MINUTE
        yield _after(run, now, runs[run.id], [vessels[name] for name in fed], standing)


def _event(moment: datetime.datetime, what: str, *pairs: tuple[str, object]) -> Pairs:
    return [("time", moment.strftime("%H:%M")), ("by", INITIALS), ("what", what), *pairs]


def _morning(run: RunPlan, moment: datetime.datetime, *, new: bool) -> Iterator[Pairs]:
    yield _event(moment, "barometer", *([("date", bare(run.date))] if new else []), ("ambient", run.ambient))
    yield _event(moment, "water", ("temperature", run.water))


def _before(
    run: RunPlan, begins: datetime.datetime, fed: list[VesselPlan], standing: dict[str, float]
) -> Iterator[Pairs]:
    for vessel in fed:
        level = {vessel.id: f"{vessel.level:.3f} m"}
        yield _event(begins - 10 * MINUTE, "fill", ("vessel", vessel.id), ("fresh", True), ("level", level))
    for air in (vessel.pushed_by for vessel in fed):
        if air is not None:
            what = "fill" if run.p_start >= standing.get(air, 0.0) else "vent"
            yield _event(begins - 6 * MINUTE, what, ("vessel", air), ("p", {air: _bar(run.p_start)}))
            standing[air] = run.p_start


def _after(
    run: RunPlan, moment: datetime.datetime, true: TrueRun, fed: list[VesselPlan], standing: dict[str, float]
) -> Pairs:
    level = {vessel.id: f"{vessel.level - true.fall[vessel.id]:.3f} m" for vessel in fed}
    pushing = [vessel.pushed_by for vessel in fed if vessel.pushed_by is not None]
    standing.update(dict.fromkeys(pushing, true.p_end))
    p = {name: _bar(true.p_end) for name in pushing}
    return _event(moment, "run", ("run", run.id), ("level", level), ("p", p or None))


def _bar(pressure: float) -> str:
    return f"{pressure / 1e5:.2f} bar(g)"
