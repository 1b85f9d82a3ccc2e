"""The bench day in words: what stands where, what changed since the last run, the events in short."""

from headrace.app import BenchDay
from headrace.doors.spoken.common import counted
from headrace.doors.terminal import heading, indented, line, table
from headrace.jobs.day.events import EVENTS
from headrace.records.day import Known, Standing
from headrace.records.ledger import Event
from headrace.units import format_value, printed

NONE = "–"
CAUTION = (
    "Stored air is stored energy. These are numbers from paper, no permission: local codes and licensed practice rule, "
    "and headrace actuates nothing."
)


def tell(done: BenchDay) -> None:
    """Everything, what stands first."""
    day, campaign = done.day, done.campaign
    last = day.steps[-1].event
    heading(f"What stands after event {last.number}, {last.moment:%Y-%m-%d %H:%M}; ± at k = 2")
    rows = [_row(one, campaign.bench.vessels[name].content) for name, one in day.vessels.items()]
    if rows:
        table(("vessel", "pressure", "level", "water", "air", "air at", "soak", "as of"), rows)
    else:
        line("bench.toml names no vessel.")
    _around(done)
    _changed(done)
    heading("Events")
    table(("no.", "time", "by", "what", "in short"), [_event(step.event) for step in day.steps])
    line()
    line(CAUTION)


def _row(one: Standing, content: str) -> tuple[str, ...]:
    level = _read(one.level, "length", None, "m") if content == "water" else NONE
    soak = f"{one.soak / 60:.0f} min" if one.soak is not None else NONE
    return (
        one.vessel, _read(one.p_gauge, "pressure", "gauge", "bar"), level, _plain(one.water, "volume", "L"),
        _plain(one.air, "mass", "kg"), _plain(one.temp, "temperature", "degC"), soak, _as_of(one),
    )  # fmt: skip


def _as_of(one: Standing) -> str:
    """Time of what was read or computed last."""
    known = [known for known in (one.p_gauge, one.level) if known is not None]
    return f"{max(known, key=lambda each: each.number).moment:%H:%M}" if known else "never"


def _read(known: Known | None, dimension: str, kind: str | None, unit: str) -> str:
    if known is None:
        return NONE
    mark = "?" if known.stale else ""
    return f"{printed(known.value, dimension=dimension, kind=kind, unit=unit, expanded=2 * known.u)}{mark}"


def _plain(known: Known | None, dimension: str, unit: str) -> str:
    if known is None:
        return NONE
    mark = "?" if known.stale else ""
    return f"{format_value(known.value, dimension=dimension, unit=unit, u=known.u)}{mark}"


def _around(done: BenchDay) -> None:
    day, bench = done.day, done.campaign.bench
    told = [f"{name} {position}" for name, position in day.valves.items()]
    silent = [name for name in bench.valves if name not in day.valves]
    line()
    if told:
        indented("Valves: ", ", ".join(told) + ".")
    if silent:
        indented("Not written down, taken as shut: ", ", ".join(silent) + ".")
    ambient = format_value(day.ambient.value, dimension="pressure", kind="abs", unit="mbar", u=day.ambient.u)
    water = day.water_temperature
    warm = (
        format_value(water.value, dimension="temperature", unit="degC", u=water.u)
        if water is not None
        else NONE
    )
    indented("Barometer: ", f"{ambient} ({day.ambient.origin or 'ledger.toml'}); water: {warm}.")
    air = [(word, known) for word, known in (("added by fills", day.air_added), ("let out by vents", day.air_vented))
           if known is not None]  # fmt: skip
    if air:
        amounts = (
            f"{word} {printed(known.value, dimension='mass', unit='kg', expanded=2 * known.u)}"
            for word, known in air
        )
        indented("Air: ", "; ".join(amounts) + ".")
    for name, one in day.vessels.items():
        stale = [(word, known.stale) for word, known in (("pressure", one.p_gauge), ("level", one.level))
                 if known is not None and known.stale]  # fmt: skip
        if stale:
            indented(
                "? ", f"{name}: {'; '.join(f'{word} read {since}' for word, since in stale)}. Read it again."
            )
        if one.p_gauge is not None and one.p_gauge.how == "computed" and not one.p_gauge.stale:
            indented("  ", f"{name}: pressure computed, event {one.p_gauge.number}.")


def _changed(done: BenchDay) -> None:
    """What is other than right after the last run, or than at the beginning."""
    day = done.day
    run = day.last_run
    start = run.after if run is not None else day.steps[0].after
    since = f"run {run.event.words['run']}" if run is not None else "the first event"
    number = run.event.number if run is not None else day.steps[0].event.number
    later = sum(step.event.number > number for step in day.steps)
    heading(f"Changed since {since}: {counted(later, 'event', 'events')}")
    told = [text for name, now in day.vessels.items() for text in _differences(name, start[name], now)]
    before = run.valves if run is not None else day.steps[0].valves
    told += [f"{name} {position}" for name, position in day.valves.items() if before.get(name) != position]
    for text in told or ["nothing that was read"]:
        indented("  ", text)


def _differences(name: str, old: Standing, now: Standing) -> list[str]:
    told = []
    parts = (("pressure", old.p_gauge, now.p_gauge, "pressure", "gauge", "bar"),
             ("level", old.level, now.level, "length", None, "m"))  # fmt: skip
    for word, one, two, dimension, kind, unit in parts:
        if one is None or two is None or (one.number == two.number and one.stale == two.stale):
            continue
        if two.stale:
            told.append(f"{name}: {word} moved and not read again ({two.stale})")
        elif abs(two.value - one.value) > 2 * (one.u**2 + two.u**2) ** 0.5:
            first, second = (format_value(each.value, dimension=dimension, kind=kind, unit=unit, u=each.u)
                             for each in (one, two))  # fmt: skip
            told.append(f"{name}: {word} from {first} to {second}")
    return told


def _event(event: Event) -> tuple[str, ...]:
    said = [EVENTS[event.what].tell(event)]
    said += [f"{name} {one.text}" for name, one in (*event.p_gauge.items(), *event.level.items())]
    said += [f"{name} {position}" for name, position in event.valves.items()]
    if event.note and event.note not in said:
        said.append(event.note)
    return (
        str(event.number),
        f"{event.moment:%m-%d} {event.clock}",
        event.by,
        event.what,
        "; ".join(filter(None, said)),
    )
