"""runs/<id>/run.toml: one run, its raw file, and what people read and decided."""

import datetime
from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated

from pydantic import model_validator

from headrace.errors import QuantityError
from headrace.files.schema.fields import Id, Inside, Key, Number, Q, Rising, Said, Table, V, shown, told
from headrace.records.given import Stated

KINDS = ("water", "hot")
MOMENTS = ("before", "start", "end", "after")
METHODS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "metered": ("file", "channels"),
        "weighed": ("file", "channels", "total"),
        "by-hand": ("hand", "total"),
        "long-minus-short": ("hand", "total", "total.minus"),
        "bucket": ("catch",),
    }
)
"""How a run is reduced, and the keys of run.toml without which it cannot be."""
BY_HAND = ("by-hand", "long-minus-short")
"""Methods that need no raw file."""

WAYS = ("rises", "falls")
"""How a signal passes through half of its step."""

TIME: Number = V("time")


class FlowTable(Table):
    """One stream."""

    circuits: list[Annotated[str, Id()]] = told("circuits it went into", ["ox"], min_length=1)
    lines: list[Annotated[str, Id()]] = told("lines it came by", ["A"], min_length=1)
    p_tap: Annotated[str, Id()] = told("tag of the instrument at the circuit's tap", "PM-OX")
    p_back: Annotated[str, Id()] | None = told("tag of the back-pressure gauge", "P-BACK", default=None)


class LoggerTable(Table):
    """Answers to what the raw file leaves open."""

    family: str | None = told("family of the raw file", "delimited", default=None)
    table: str | None = told(
        "sheet, group or kind of sentence, where the file holds several tables", "Run 7", default=None
    )
    encoding: str | None = told("text encoding", "utf-8", default=None)
    delimiter: str | None = told("what stands between fields", ";", default=None)
    decimal: str | None = told("decimal mark: point or comma", "comma", default=None)
    thousands: str | None = told('mark between thousands: comma, point or ""', "", default=None)
    header_line: int | None = told("line with the names; 0: none", 4, default=None, ge=0)
    names: list[str] | None = told("names of the columns", ["t", "p"], default=None)
    time_column: str | int | None = told("name or number of the time column", "t", default=None)
    time_unit: str | None = told("unit or form of the time", "s", default=None)
    time_fraction: str | None = told("digits after the seconds: decimal or ms", "decimal", default=None)
    time_wrap: Annotated[float, V("time", least=0)] | None = told(
        "time starts again after so long", "60 s", default=None
    )
    day_first: bool | None = told("is 03/04 the third of April", True, default=None)
    date_order: str | None = told("ymd, dmy or mdy", "dmy", default=None)
    sample_rate: Annotated[float, V("frequency", above=0)] | None = told(
        "rows per second, when no column is a clock", "100 Hz", default=None
    )
    segment: int | None = told("which run of the logger, where its clock began anew", 2, default=None, ge=1)
    scaling: str | None = told(
        "a scale beside the stored numbers: applied to them, or stored (left as they are)",
        "applied",
        default=None,
    )


class ChannelTable(Table):
    """What a column of the raw file is."""

    instrument: Annotated[str, Id()] = told("tag of the instrument", "DP-A")
    unit: str | None = told("unit of the column, where its heading does not say", "mbar", default=None)
    pulses: bool = told(
        "the column holds pulses counted since the row before; the instrument gives a frequency",
        True,
        default=False,
    )
    skew: Annotated[Stated, Q("time")] | None = told(
        "how much later than the time of its row the logger samples it; default: that of the instrument",
        "2 ms ± 0.5 ms",
        default=None,
    )


class TareTable(Table):
    """When nothing flowed."""

    before: Annotated[tuple[float, float], Rising(each=TIME)] | None = told(
        "span before the run", ["0.0 s", "1.5 s"], default=None
    )
    after: Annotated[tuple[float, float], Rising(each=TIME)] | None = told(
        "span after the run", ["16.0 s", "18.0 s"], default=None
    )
    at_pressure: Annotated[tuple[float, float], Rising(each=TIME)] | None = told(
        "span at rest with the valve shut and the line under pressure, for cells that read a drop",
        ["2.0 s", "3.5 s"],
        default=None,
    )

    @model_validator(mode="after")
    def _in_order(self) -> "TareTable":
        if self.before and self.after and self.after[0] < self.before[1]:
            raise Inside(
                ("after", QuantityError("a span that starts before `before` ends", "a later span", ""))
            )
        return self


class WindowTable(Table):
    """A window set by a person."""

    start: Annotated[float, TIME] = told("start on the trace's time", "3.0 s")
    end: Annotated[float, TIME] = told("end on the trace's time", "9.5 s")
    reason: Annotated[str, Said()] = told("why", "valve B bounced at 9.6 s")

    @model_validator(mode="after")
    def _in_order(self) -> "WindowTable":
        if not self.start < self.end:
            raise Inside(
                ("end", QuantityError(f"{self.end:g} s", f"an end after the start, {self.start:g} s", ""))
            )
        return self


class ExcludeTable(Table):
    """The run is left out."""

    reason: Annotated[str, Said()] = told("why", "valve stuck half open")


class TotalTable(Table):
    """Water of the whole run by scale, tank or sight tube."""

    mass: Annotated[Stated, Q("mass", above=0)] | None = told(
        "as the scale shows it; the buoyancy of air is corrected by us", "61.3 kg ± 0.05 kg", default=None
    )
    volume: Annotated[Stated, Q("volume", above=0)] | None = told("by volume", "61.3 L ± 0.3 L", default=None)
    vessel: Annotated[str, Id()] | None = told("vessel with the sight tube", "WV-A", default=None)
    level_before: Annotated[Stated, Q("length")] | None = told("its level", "1.20 m ± 1 mm", default=None)
    level_after: Annotated[Stated, Q("length")] | None = told("its level", "0.98 m ± 1 mm", default=None)
    duration: Annotated[Stated, Q("time", above=0)] | None = told(
        "by stopwatch", "12.4 s ± 0.2 s", default=None
    )
    line: Annotated[str, Id()] | None = told("the line it went by", "A", default=None)
    instrument: Annotated[str, Id()] | None = told("tag of the scale", "SCALE-1", default=None)
    minus: Annotated[str, Id()] | None = told("short run of a long-minus-short pair", "W05", default=None)

    @model_validator(mode="after")
    def _one_form(self) -> "TotalTable":
        levels = {"vessel": self.vessel, "level_before": self.level_before, "level_after": self.level_after}
        given = [name for name, value in levels.items() if value is not None]
        forms = (self.mass is not None) + (self.volume is not None) + bool(given)
        if forms != 1:
            raise Inside(
                ("mass", QuantityError("nothing" if forms == 0 else "more than one amount",
                                       "one of mass, volume, or vessel with level_before and level_after", ""))
            )  # fmt: skip
        if given and given != ["vessel"] and len(given) < len(levels):
            raise Inside(
                *((name, QuantityError("nothing", f"{name}, since {given[0]} is given", ""))
                  for name in levels if name not in given)
            )  # fmt: skip
        if self.level_before and self.level_after and self.level_before.value == self.level_after.value:
            raise Inside(("level_after", QuantityError(shown(self.level_after.text), "another level", "")))
        return self


class HandTable(Table):
    """One value read by a person; its text is read when it is known what its instrument measures."""

    instrument: Annotated[str, Id()] = told("tag of the instrument", "PG-TAP")
    moment: Annotated[str, Key(what="moment", names=MOMENTS)] = told("when", "start")
    value: Annotated[str, Said()] = told("what it read", "12.4 bar(g)")
    time: Annotated[Stated, Q("time")] | None = told("time of the reading", "0 s ± 0.3 s", default=None)
    division: str | None = told("scale division; default: the instrument's", "0.2 bar", default=None)
    reader: str = told("who read it", "AB", default="")


class CatchColumn(Table):
    """A column of a table of catches."""

    column: Annotated[str, Said()] = told("name of the column", "m full")
    unit: str | None = told("its unit, where its heading does not say", "lb", default=None)


class CatchRow(Table):
    """One catch, typed."""

    mass: Annotated[float, V("mass", above=0)] | None = told(
        "net, as the scale shows it", "10.24 kg", default=None
    )
    full: Annotated[float, V("mass", above=0)] | None = told("bucket and water", "12.31 kg", default=None)
    empty: Annotated[float, V("mass", least=0)] | None = told("bucket before", "2.07 kg", default=None)
    duration: Annotated[float, V("time", above=0)] = told("by stopwatch", "30.2 s")
    pressure: Annotated[str, Said()] = told("what the tap's instrument showed", "5.0 bar(g)")
    temperature: Annotated[float, V("temperature", above=273.0, below=373.2)] | None = told(
        "of the water", "17.2 degC", default=None
    )
    group: str | None = told(
        "rows with the same word, one after the other, are repeats", "5 bar", default=None
    )

    @model_validator(mode="after")
    def _one_mass(self) -> "CatchRow":
        two = self.full is not None and self.empty is not None
        if two == (self.mass is not None) or (not two and (self.full is not None or self.empty is not None)):
            raise Inside(
                ("mass", QuantityError("not one way of weighing", "mass alone, or full and empty", ""))
            )
        if self.full is not None and self.empty is not None and not self.full > self.empty:
            raise Inside(("full", QuantityError("no more than the empty bucket", "full above empty", "")))
        return self


class CatchTable(Table):
    """Catch-and-weigh points of one set-up: columns of the run's file, or rows typed here."""

    timing: Annotated[float, V("time", least=0)] = told(
        "limits of one timing, start and stop together; by hand 0.2 s or more", "0.2 s"
    )
    timing_shared: Annotated[float, V("time", least=0)] = told(
        "limits of what all timings have in common, a slow thumb say", "0.05 s", default=0.0
    )
    scale: Annotated[str, Id()] | None = told("tag of the scale", "SCALE-1", default=None)
    thermometer: Annotated[str, Id()] | None = told(
        "tag of the thermometer of the column or of the rows", "TW-A", default=None
    )
    mass: CatchColumn | None = told("column of the net mass", {"column": "net", "unit": "kg"}, default=None)
    full: CatchColumn | None = told(
        "or of bucket and water", {"column": "m full", "unit": "lb"}, default=None
    )
    empty: CatchColumn | None = told(
        "... and of the bucket before", {"column": "m empty", "unit": "lb"}, default=None
    )
    duration: CatchColumn | None = told(
        "column of the durations", {"column": "time", "unit": "s"}, default=None
    )
    pressure: CatchColumn | None = told(
        "column of the pressures, as the tap's instrument showed them",
        {"column": "p", "unit": "psi"},
        default=None,
    )
    temperature: CatchColumn | None = told(
        "column of water temperatures", {"column": "T", "unit": "degF"}, default=None
    )
    group: str | None = told("column whose value is the same in all repeats of a group", "set", default=None)
    number: str | None = told(
        "column that numbers the repeats and starts again in each group", "no", default=None
    )
    row: list[CatchRow] = told("the catches, typed", [], default_factory=list)

    @model_validator(mode="after")
    def _one_source(self) -> "CatchTable":
        columns = {name: getattr(self, name) for name in ("mass", "full", "empty", "duration", "pressure")}
        given = [name for name, one in columns.items() if one is not None]
        if self.row:
            if given:
                raise Inside(
                    (given[0], QuantityError("columns beside typed rows", "either columns or rows", ""))
                )
            return self
        lacking = [name for name in ("duration", "pressure") if columns[name] is None]
        two = self.full is not None and self.empty is not None
        if two == (self.mass is not None) or (not two and (self.full is not None or self.empty is not None)):
            lacking.append("mass")
        if lacking:
            wanted = "the column of mass alone, or of full and empty; of duration; of pressure; or typed rows"
            raise Inside(*((name, QuantityError("not one column for it", wanted, "")) for name in lacking))
        return self


class EventTable(Table):
    """The same event as two files saw it."""

    here: list[str] = told(
        f"column (or tag) of the run's own file, and whether it {' or '.join(WAYS)}",
        ["PM-OX", "rises"],
        min_length=2,
        max_length=2,
    )
    there: list[str] = told("likewise of this file", ["P-CH2", "rises"], min_length=2, max_length=2)
    u: Annotated[float, V("time", least=0)] = told(
        "standard uncertainty of taking both for one moment; their sampling comes on top", "20 ms"
    )

    @model_validator(mode="after")
    def _ways(self) -> "EventTable":
        for name, (_, way) in (("here", self.here), ("there", self.there)):
            if way not in WAYS:
                raise Inside((name, QuantityError(shown(way), f"a second word, {' or '.join(WAYS)}",
                                                  '["PM-OX", "rises"]')))  # fmt: skip
        return self


class AlsoTable(Table):
    """Another raw file of the same run, by another logger; its channels go to the clock of the run's own file."""

    file: Annotated[str, Said()] = told("raw file in this folder", "W07-slow.csv")
    offset: Annotated[Stated, Q("time")] | None = told(
        "what to add to its time, both counted from the first row of their file",
        "1.32 s ± 0.05 s",
        default=None,
    )
    event: EventTable | None = told("or: an event that both files saw", {}, default=None)
    clock_rate: Annotated[Stated, Q("ratio", above=0.9, below=1.1)] | None = told(
        "seconds of the run's clock in one second of this one", "1.00002 ± 0.00001", default=None
    )
    bridge: Annotated[float, V("time", above=0)] | None = told(
        "longest time between two of its samples that is bridged; default: five usual steps",
        "0.5 s",
        default=None,
    )
    logger: LoggerTable = told("answers for this raw file", {}, default_factory=LoggerTable)
    channels: dict[str, ChannelTable] = told("column name to instrument", {}, min_length=1)

    @model_validator(mode="after")
    def _one_way(self) -> "AlsoTable":
        if (self.offset is None) == (self.event is None):
            said = "nothing" if self.offset is None else "offset and event"
            raise Inside(("offset", QuantityError(said, "either offset or event: how the two clocks meet",
                                                  'offset = "1.32 s ± 0.05 s"')))  # fmt: skip
        return self


class FilmedTable(Table):
    """A gauge that was photographed or filmed, its values typed from the frames."""

    instrument: Annotated[str, Id()] = told("tag of the gauge", "PG-TAP")
    camera: Annotated[str, Id()] = told(
        "name of the camera's place; the same in all runs in which it stood there", "CAM-1", default="film"
    )
    values: list[list[str]] = told(
        "time and value, frame by frame; none where they stand in a raw file",
        [["0.0 s", "0 bar(g)"], ["0.5 s", "12.4 bar(g)"], ["1.0 s", "12.2 bar(g)"]],
        default_factory=list,
    )
    division: str | None = told("scale division; default: the instrument's", "0.2 bar", default=None)
    parallax: str | None = told("limits of what the view from aside does", "0.05 bar", default=None)
    clock: Annotated[float, V("time", least=0)] = told(
        "limits of the film's clock against that of the run, one error of the film", "0.2 s", default=0.0
    )


class RunTable(Table):
    """run.toml."""

    kind: Annotated[str, Key(what="run kind", names=KINDS)] = told("water or hot fire", "water")
    method: Annotated[str, Key(what="method", names=tuple(METHODS))] = told("how it is reduced", "metered")
    date: datetime.date = told("day of the run", datetime.date(2026, 3, 12))
    ambient: Annotated[Stated, Q("pressure", "abs", above=1e4, below=1.2e5)] | None = told(
        "barometer; default: that of ledger.toml, which then has an event of this run",
        "1009 mbar(a) ± 1 mbar",
        default=None,
    )
    water_temperature: Annotated[Stated, Q("temperature", above=273.0, below=373.2)] | None = told(
        "of the water, unless the line's thermometer is logged", "17.2 degC ± 0.5 K", default=None
    )
    air_temperature: Annotated[Stated, Q("temperature", above=223.0, below=333.2)] | None = told(
        "of the air around the instruments, for those that feel it; default: `room` of ledger.toml",
        "18 degC ± 2 K",
        default=None,
    )
    file: Annotated[str, Said()] | None = told("raw file in this folder", "W07.csv", default=None)
    flow: list[FlowTable] = told("streams", [], min_length=1)
    logger: LoggerTable = told("answers for the raw file", {}, default_factory=LoggerTable)
    channels: dict[str, ChannelTable] = told("column name to instrument", {}, default_factory=dict)
    also: list[AlsoTable] = told(
        "other raw files of the same run, by other loggers", [], default_factory=list
    )
    tare: TareTable = told("when nothing flowed", {}, default_factory=TareTable)
    window: WindowTable | None = told("a window set by a person", {}, default=None)
    exclude: ExcludeTable | None = told("the run is left out", {}, default=None)
    total: TotalTable | None = told("water of the whole run", {}, default=None)
    catch: CatchTable | None = told("catch-and-weigh points of a small bench", {}, default=None)
    calibrates: Annotated[str, Id()] | None = told(
        "meter that the total of this run calibrates in place, for all runs by it", "FV-A", default=None
    )
    filmed: list[FilmedTable] = told("gauges read off photographs or film", [], default_factory=list)
    hand: list[HandTable] = told("values read by a person", [], default_factory=list)

    @model_validator(mode="after")
    def _method_needs(self) -> "RunTable":
        seen = ("file", "channels") if self.filmed else ()
        lacking = [name for name in METHODS[self.method] if name not in seen and not self.given(name)]
        if lacking:
            raise Inside(
                *((name, QuantityError("nothing", f'{name}, which a run by method "{self.method}" needs', ""))
                  for name in lacking)
            )  # fmt: skip
        return self

    @property
    def mapped(self) -> set[str]:
        """Tags of all instruments that some raw file of the run holds."""
        every = (self.channels, *(one.channels for one in self.also))
        logged = {channel.instrument for channels in every for channel in channels.values()}
        return logged | {one.instrument for one in self.filmed if one.values}

    def given(self, key: str) -> bool:
        """True when a dotted key is there and not empty."""
        at: object = self
        for part in key.split("."):
            at = getattr(at, part, None)
        return bool(at)
