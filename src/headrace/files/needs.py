"""What a run cannot be reduced without: readings of its taps and meters, a temperature, a duration, its short run.

One function for logged runs and one for runs read by hand, chosen by method. A pair of runs is looked at in `pairs`.
"""

from collections.abc import Iterator, Mapping
from itertools import chain

from headrace.errors import Problem
from headrace.files.document import Document
from headrace.files.references import found_at
from headrace.files.schema.fields import meant
from headrace.files.schema.run import BY_HAND, FlowTable, RunTable
from headrace.records.given import Bench, Line

DURATION = 'duration = "12.4 s ± 0.2 s"'
TEMPERATURE = 'water_temperature = "17.2 degC ± 0.5 K"'


def needs(
    document: Document, table: RunTable, bench: Bench | None, *, warm: bool = False
) -> Iterator[Problem]:
    """What one run lacks. bench: None when it could not be read; then less is looked at. warm: the ledger says how warm
    its water was.
    """
    yield from _whose_total(document, table)
    yield from _calibrates(document, table, bench)
    if table.method == "bucket":
        lacking = _caught(document, table)
    else:
        lacking = (
            _by_hand(document, table, bench) if table.method in BY_HAND else _logged(document, table, bench)
        )
    for problem in lacking:
        if not (warm and problem.key == "water_temperature"):
            yield problem


def _calibrates(document: Document, table: RunTable, bench: Bench | None) -> Iterator[Problem]:
    """A run that calibrates its meter needs that meter alone on a line of its own, and a total of that line."""
    name = table.calibrates
    if name is None or bench is None or name not in bench.meters:
        return
    if table.method != "metered":
        yield document.problem(
            ("calibrates",), f'"{name}", in a run by method {table.method}', "a metered run", ""
        )
        return
    if table.total is None:
        yield document.problem(
            ("calibrates",), f'"{name}", in a run without a total', "a total by scale or level beside it",
            'total = { mass = "61.3 kg ± 0.05 kg" }',
        )  # fmt: skip
    alone = {flow.lines[0] for flow in table.flow if len(flow.lines) == 1}
    lines = {one.id for one in bench.lines.values() if one.meter == name}
    other = table.total is not None and table.total.line is not None and table.total.line not in lines
    if not alone & lines or other:
        yield document.problem(
            ("calibrates",), f'"{name}", by which no stream of this run was metered alone',
            "the meter of its only line", "name the meter of the line that the total belongs to",
        )  # fmt: skip


def _whose_total(document: Document, table: RunTable) -> Iterator[Problem]:
    """A total that makes the area must be the water of one stream."""
    if table.method == "metered" or table.total is None:
        return
    line, came = table.total.line, [flow.lines for flow in table.flow]
    if line is None and len(came) > 1:
        yield document.problem(
            ("total", "line"), "nothing", "the line of the stream whose water it is, since there are several",
            "name its line, or make a run of each stream",
        )  # fmt: skip
    if line is not None and [line] not in came:
        yield document.problem(
            ("total", "line"), f'"{line}"', "the only line of a stream of this run",
            "leave `line` out where all the water of the only stream was caught",
        )  # fmt: skip


def _by_hand(document: Document, table: RunTable, bench: Bench | None) -> Iterator[Problem]:
    for index, flow in enumerate(table.flow):
        if flow.p_back is not None:
            yield document.problem(
                ("flow", index, "p_back"), f'"{flow.p_back}", in a run by hand', "no back-pressure in a run by hand",
                "log the run, or read the drop itself with one gauge",
            )  # fmt: skip
        moments = {one.moment for one in table.hand if one.instrument == flow.p_tap}
        if not {"start", "end"} <= moments and _known(bench, flow.p_tap):
            yield document.problem(
                ("flow", index, "p_tap"), f'"{flow.p_tap}", not read at start and end',
                f'[[hand]] values of "{flow.p_tap}" at moment "start" and "end"', "add the readings",
            )  # fmt: skip
    if table.total is not None and table.total.duration is None:
        yield document.problem(("total", "duration"), "nothing", "a duration by stopwatch", DURATION)
    if table.water_temperature is None:
        yield document.problem(("water_temperature",), "nothing", "temperature of the water", TEMPERATURE)


def _logged(document: Document, table: RunTable, bench: Bench | None) -> Iterator[Problem]:
    mapped = table.mapped
    for index, flow in enumerate(table.flow):
        for key, tag in (("p_tap", flow.p_tap), ("p_back", flow.p_back)):
            if tag is not None and tag not in mapped and _known(bench, tag):
                yield document.problem(
                    ("flow", index, key), f'"{tag}", to which no column is mapped', "an instrument under [channels]",
                    f'map its column: "..." = {{ instrument = "{tag}" }}',
                )  # fmt: skip
        if bench is not None:
            yield from _of_lines(document, table, bench, index, flow, mapped)


def _caught(document: Document, table: RunTable) -> Iterator[Problem]:
    """What a table of catches lacks."""
    if len(table.flow) > 1:
        yield document.problem(
            ("flow",), f"{len(table.flow)} streams", "the one stream whose water was caught",
            "make a run of each stream",
        )  # fmt: skip
    for index, flow in enumerate(table.flow):
        if flow.p_back is not None:
            yield document.problem(
                ("flow", index, "p_back"), f'"{flow.p_back}", in a run by bucket',
                "no back-pressure in a run by bucket",
                "read the drop itself with one gauge",
            )  # fmt: skip
    catch = table.catch
    if catch is None:
        return
    if not catch.row and table.file is None:
        yield document.problem(
            ("file",), "nothing", "the file that holds the table, or typed rows", "[[catch.row]]"
        )
    if catch.row and table.file is not None:
        yield document.problem(
            ("file",), f'"{table.file}"', "no file beside typed rows", "leave one of the two out"
        )
    warm = catch.temperature is not None or (
        bool(catch.row) and all(one.temperature is not None for one in catch.row)
    )
    if warm and catch.thermometer is None:
        yield document.problem(
            ("catch", "thermometer"), "nothing", "the tag of the thermometer that was read", 'thermometer = "TW-A"'
        )  # fmt: skip
    if not warm and table.water_temperature is None:
        yield document.problem(("water_temperature",), "nothing", "temperature of the water", TEMPERATURE)


def _known(bench: Bench | None, tag: str) -> bool:
    """False for a tag that the bench lacks: that is told as a pointer to nothing, and once is enough."""
    return bench is None or tag in bench.instruments


def _of_lines(
    document: Document, table: RunTable, bench: Bench, index: int, flow: FlowTable, mapped: set[str]
) -> Iterator[Problem]:
    lines = [bench.lines[line] for line in flow.lines if line in bench.lines]  # others are told as dangling
    if table.method == "metered":
        for line in lines:
            path = ("flow", index, "lines", flow.lines.index(line.id))
            yield from _of_meter(document, bench, line, path, mapped)
    thermometers = [line.temperature for line in lines if line.temperature]
    if lines and table.water_temperature is None and not mapped.intersection(thermometers):
        logged = f", or a column for {' or '.join(thermometers)}" if thermometers else ""
        yield document.problem(
            ("water_temperature",), "nothing", f"temperature of the water{logged}", TEMPERATURE
        )


def _of_meter(
    document: Document, bench: Bench, line: Line, path: tuple[str | int, ...], mapped: set[str]
) -> Iterator[Problem]:
    if line.meter is None:
        yield document.problem(
            path, f'line "{line.id}", which has no meter', "a line with a meter",
            f'give line "{line.id}" its meter in bench.toml, or take another method',
        )  # fmt: skip
        return
    meter = bench.meters.get(line.meter)
    read = [tag for role, tag in meter.instruments.items() if role != "p_up"] if meter else []
    known = [bench.instruments[tag].parts or (tag,) if tag in bench.instruments else (tag,) for tag in read]
    for tag in chain.from_iterable(known):
        if tag not in mapped:
            yield document.problem(
                ("channels",), f'no column mapped to "{tag}"',
                f'a column for "{tag}", which reads the meter of line "{line.id}"',
                f'"name of the column" = {{ instrument = "{tag}" }}',
            )  # fmt: skip


def pairs(run: str, document: Document, documents: Mapping[str, Document | None]) -> Iterator[Problem]:
    """What is wrong with the short run that a run names: it must be another run by hand, of the same circuits."""
    for path, name in found_at(document.data, "total.minus"):
        if not isinstance(name, str) or name.strip() == "?":
            continue
        others = [one for one in documents if one != run]
        short = documents.get(name)
        if name not in others:
            yield document.problem(path, f'"{name}"', "another run of this campaign", meant(name, others))
        elif short is not None and short.data.get("method") not in ("by-hand", "?"):
            yield document.problem(
                path, f'"{name}", a run by method {short.data.get("method")}', "a run by method by-hand", ""
            )
        elif short is not None and _circuits(short) != _circuits(document):
            yield document.problem(
                path, f'"{name}", which flows into other circuits', "a run of the same circuits",
                "take the short run of this circuit",
            )  # fmt: skip


def _circuits(document: Document) -> tuple[object, ...]:
    return tuple(circuit for _, circuit in found_at(document.data, "flow.*.circuits.*"))
