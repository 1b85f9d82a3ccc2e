"""A reduced campaign in words: bench and day, runs, circuits."""

from collections import Counter
from collections.abc import Mapping

from headrace.chain.water import Reduced
from headrace.doors.spoken.common import counted
from headrace.doors.terminal import heading, indented, line, table
from headrace.files.schema.instruments import MEASURES
from headrace.notices import spelled
from headrace.paper.numbers import half_width, pieces
from headrace.records.answers import Estimate
from headrace.records.given import Campaign, RunGiven
from headrace.records.readings import Characteristic, Reading, RunResult
from headrace.units import format_value, printed

NONE = "–"


def bench(campaign: Campaign) -> None:
    """Days with their barometer and runs; lines with their meters."""
    heading("Bench and day")
    days: dict[str, list[RunGiven]] = {}
    for run in campaign.runs.values():
        days.setdefault(run.date.isoformat(), []).append(run)
    if not days:
        line("No run yet: `headrace bring` takes in a logger file; runs by hand are typed into runs/.")
        return
    rows = []
    for day, runs in sorted(days.items()):
        barometers = dict.fromkeys(
            format_value(run.ambient.value, dimension="pressure", kind="abs", unit="mbar", digits=4)
            for run in runs
        )
        rows.append((day, ", ".join(barometers), ", ".join(run.id for run in runs)))
    table(("day", "barometer", "runs"), rows)
    meters = campaign.bench.meters
    rows = [
        (one.id, one.meter or "no meter", meters[one.meter].kind if one.meter is not None else NONE)
        for one in campaign.bench.lines.values()
    ]
    if rows:
        line()
        table(("line", "meter", "kind"), rows)


def runs(reduced: Reduced) -> None:
    """One line for each stream of each run, with the middle one of its readings; then what was left out, and why."""
    if not reduced.runs:
        return
    heading("Runs: effective area of the middle reading, ± at k = 2; closure: meter over witness, less 1")
    rows = [row for run in reduced.runs.values() for row in _run(run)]
    table(("run", "method", "circuit", "line", "window", "readings", "effective area", "K", "closure"), rows)
    unused = [(run, why) for run, result in reduced.runs.items() for why in _unused(result)]
    if unused:
        line()
        line("Readings that do not count:")
        for run, why in unused:
            indented(f"  {run}, ", why)
    gone = [(run, result.excluded) for run, result in reduced.runs.items() if result.excluded is not None]
    if gone:
        line()
        line("Left out:")
        for run, reason in gone:
            indented(f"  {run}: ", str(reason))


def zeros(campaign: Campaign, reduced: Reduced) -> None:
    """Zeros taken at rest under line pressure, which count in place of those at open air."""
    rows = []
    for run in reduced.runs.values():
        for tag, zero in run.tares.items():
            if zero.at_pressure is None:
                continue
            measure = MEASURES[campaign.bench.instruments[tag].measures]
            said = (
                format_value(value, dimension=measure.dimension, kind=measure.kind, digits=4)
                for value in (zero.before, zero.at_pressure, zero.at_pressure - zero.before)
            )
            rows.append((run.run, tag, *said))
    if rows:
        heading("Zeros under line pressure, which count in place of those before the run")
        table(("run", "channel", "before", "under pressure", "apart"), rows)


def _unused(run: RunResult) -> list[str]:
    """Each stream and reason for which readings of a run that was not left out do not count."""
    if run.excluded is not None:
        return []
    all_of = Counter(reading.stream for reading in run.readings)
    without = Counter((reading.stream, reading.why) for reading in run.readings if not reading.used)
    return [f"{stream}: {many} of {all_of[stream]}, {why}" for (stream, why), many in without.items()]


def _run(run: RunResult) -> list[tuple[str, ...]]:
    by_stream: dict[str, list[Reading]] = {stream: [] for stream in run.windows}
    for reading in run.readings:
        by_stream.setdefault(reading.stream, []).append(reading)
    closure = _share(run.closure.ratio) if run.closure is not None else NONE
    if not by_stream:
        return [(run.run, run.method, NONE, NONE, NONE, "0", NONE, NONE, closure)]
    return [_stream(run, stream, readings, closure) for stream, readings in by_stream.items()]


def _stream(run: RunResult, stream: str, readings: list[Reading], closure: str) -> tuple[str, ...]:
    window = run.windows.get(stream)
    span = f"{window.start:.2f} to {window.end:.2f} s" if window is not None else NONE
    if not readings:
        return (run.run, run.method, stream, NONE, span, "0", NONE, NONE, closure)
    middle = readings[len(readings) // 2]
    used = sum(reading.used for reading in readings)
    area = str(printed(middle.area_eff, dimension="area", expanded=2 * middle.u))
    count = "left out" if run.excluded is not None else f"{used} of {len(readings)}"
    return (
        run.run, run.method, stream, "+".join(middle.lines), span, count, area, f"{middle.cav:.2f}", closure,
    )  # fmt: skip


def _share(ratio: Estimate) -> str:
    return str(printed(ratio.value, dimension="ratio", unit="%", expanded=half_width(ratio)))


def circuits(campaign: Campaign, characteristics: Mapping[str, Characteristic]) -> None:
    """What is carried of each circuit, and why a slope is or is not."""
    coverage = f"{100 * campaign.defaults.coverage:.3g} %"
    heading(f"Circuits: effective area, ± at {coverage}")
    if not characteristics:
        line("No effective area: no reading of any run counts.")
        return
    rows = [_circuit(one) for one in characteristics.values()]
    table(("circuit", "effective area", "Cd", "Re tested", "least K", "runs"), rows)
    for why, keys in _reasons({key: one.why for key, one in characteristics.items()}).items():
        indented("  ", f"{', '.join(keys)}: {why}.")
    causes = {key: one.cause.why for key, one in characteristics.items() if one.cause is not None}
    for why, keys in _reasons(causes).items():
        indented("  ", f"{', '.join(keys)}, cause test: {why}.")


def _circuit(one: Characteristic) -> tuple[str, ...]:
    low, high = one.re_span
    return (
        one.key,
        str(pieces(one.area_eff)),
        str(pieces(one.cd)) if one.cd is not None else NONE,
        f"{spelled(low, 2)} to {spelled(high, 2)}",
        f"{one.cav_least:.2f}",
        f"{', '.join(one.runs)} ({counted(one.days, 'day', 'days')})",
    )


def _reasons(whys: Mapping[str, str]) -> dict[str, list[str]]:
    """Keys by what is said of them."""
    reasons: dict[str, list[str]] = {}
    for key, why in whys.items():
        reasons.setdefault(why.rstrip("."), []).append(key)
    return reasons


def compared(reduced: Reduced) -> None:
    """Circuits alone and with their neighbours; circuits and lines crossed over."""
    if reduced.comparisons:
        heading("Alone or together: ratio of effective areas, shared errors cancelled")
        rows = [
            (
                f"{one.a} over {one.b}",
                _share(one.ratio),
                f"{one.carried}: {one.why}" if one.carried is not None else NONE,
            )
            for one in reduced.comparisons
        ]
        table(("areas", "ratio", "the engine carries"), rows)
    if reduced.crossovers:
        heading("Crossover: two circuits by two lines, swapped; shared errors cancelled")
        crossed = [
            (
                " and ".join(one.circuits),
                f"{one.lines[0]} over {one.lines[1]}",
                _share(one.line_bias),
                str(pieces(one.circuit_ratio)),
                _share(one.unexplained),
            )
            for one in reduced.crossovers
        ]
        table(("circuits", "lines", "line reads", "area, first over second", "left over"), crossed)
