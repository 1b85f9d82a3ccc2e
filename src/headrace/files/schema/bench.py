"""bench.toml: instruments, taps, meters, lines and vessels as they are built."""

from typing import Annotated, Any, ClassVar

from pydantic import create_model, model_validator

from headrace.bench.meters import METERS
from headrace.bench.meters.base import MeterKind
from headrace.bench.pairs import PAIRS
from headrace.errors import QuantityError
from headrace.files.schema.effects import LoggerKindTable
from headrace.files.schema.fields import ByKey, Id, Inside, Key, Q, Table, V, told
from headrace.files.schema.instruments import AnyInstrument
from headrace.records.given import Stated

BASES = ("static", "total")
CONTENTS = ("water", "air")
ANY_SIGN = ("temperature", "temperature_difference", "inverse_temperature")
EXAMPLES = {
    "length": "26.02 mm ± 0.01 mm", "ratio": "0.985 ± 0.5 % (k=2)", "per_volume": "1240 1/L ± 0.5 %",
    "mass_flow": "0.002 kg/s", "kinematic_viscosity": "1.0 mm2/s",
}  # fmt: skip


class TapTable(Table):
    """Where a pressure is taken."""

    id: Annotated[str, Id()] = told("name of the tap", "T-OX")
    height: Annotated[Stated, Q("length")] = told("height above the datum", "0.35 m ± 5 mm")
    bore: Annotated[float, V("length", above=0)] = told("bore of the pipe or manifold there", "40 mm")
    basis: Annotated[str, Key(what="basis", names=BASES)] = told(
        'what effective areas here refer to: "static", as the hole in the wall shows, or "total", velocity head added',
        "static",
    )


_MODELS: dict[str, type[Table]] = {}  # filled below, one per meter kind


class MeterTable(Table):
    """What every meter states; its own fields come from its kind."""

    variants: ClassVar[ByKey | None] = ByKey(key="kind", models=_MODELS)
    id: Annotated[str, Id()] = told("name of the meter", "FV-A")
    kind: Annotated[str, Key(what="meter kind", names=tuple(METERS))] = told("what it is", "venturi-machined")
    p_up: Annotated[str, Id()] | None = told(
        "tag of the gauge upstream of it, to see whether its throat cavitates", "P1-A", default=None
    )
    edition: str = told("edition of its standard", "ISO 5167-4:2003", default="")
    certificate: Annotated[str, Id()] | None = told("id in certificates.toml", "C-201", default=None)

    @model_validator(mode="after")
    def _throat_fits(self) -> "MeterTable":
        pipe, throat = getattr(self, "d_pipe", None), getattr(self, "d_throat", None)
        if isinstance(pipe, Stated) and isinstance(throat, Stated) and not throat.value < pipe.value:
            raise Inside(
                ("d_throat", QuantityError(f'"{throat.text}"', f'less than d_pipe, which is "{pipe.text}"',
                                           "swap the two, if they stand the wrong way round"))
            )  # fmt: skip
        return self

    @model_validator(mode="after")
    def _one_signal(self) -> "MeterTable":
        """A drop by one transmitter or by two gauges, not by both and not by one of the two alone."""
        for role, pair in PAIRS.items():
            if role not in type(self).model_fields:
                continue
            one, two = getattr(self, role), [name for name in pair if getattr(self, name)]
            either = f"{role}, the tag of one transmitter, or {' and '.join(pair)}, the tags of two gauges"
            if one and two:
                raise Inside((two[0], QuantityError(f"{two[0]} besides {role}", either, "leave one way out")))
            if not one and not two:
                raise Inside((role, QuantityError("nothing", either, "")))
            if len(two) == 1:
                lacks = next(name for name in pair if name != two[0])
                raise Inside((lacks, QuantityError("nothing", f"{lacks}, since {two[0]} is given", "")))
            if two and getattr(self, pair[0]) == getattr(self, pair[1]):
                raise Inside((pair[1], QuantityError(f'"{getattr(self, pair[1])}" twice', "two gauges", "")))
        return self


PAIRED = {
    "p_high": "in place of dp: tag of the gauge upstream",
    "p_low": "in place of dp: tag of the gauge at the throat",
}


def _model(name: str, kind: MeterKind) -> type[Table]:
    fields: dict[str, Any] = {
        "kind": (Annotated[str, Key(what="meter kind", names=(name,))], told(kind.title, name)),
    }
    reads = "tag of the instrument that reads it"
    if kind.role in PAIRS:
        fields[kind.role] = (Annotated[str, Id()] | None, told(reads, "DP-A", default=None))
        for name in PAIRS[kind.role]:
            fields[name] = (Annotated[str, Id()] | None, told(PAIRED[name], "P1-A", default=None))
    else:
        fields[kind.role] = (Annotated[str, Id()], told(reads, "DP-A"))
    for one in kind.fields:
        bounds = {} if one.dimension in ANY_SIGN else {"above": 0.0}
        field = Annotated[Stated, Q(one.dimension, **bounds)]
        example = EXAMPLES.get(one.dimension, "1")
        fields[one.name] = (
            (field, told(one.help, example))
            if one.required
            else (field | None, told(one.help, example, default=None))
        )
    return create_model(f"Meter_{name}", __base__=MeterTable, **fields)


_MODELS.update({name: _model(name, kind) for name, kind in METERS.items()})


class LineTable(Table):
    """One supply line."""

    id: Annotated[str, Id()] = told("name of the line", "A")
    meter: Annotated[str, Id()] | None = told("its flow meter; none for weighed runs", "FV-A", default=None)
    temperature: Annotated[str, Id()] | None = told("tag of its thermometer", "TW-A", default=None)
    vessel: Annotated[str, Id()] | None = told("the water vessel that feeds it", "WV-A", default=None)
    bore: Annotated[float, V("length", above=0)] | None = told("bore of its pipe", "52.5 mm", default=None)
    inertance: Annotated[Stated, Q("per_length", least=0)] | None = told(
        "sum of length over area between tap and injector face", "900 1/m ± 10 %", default=None
    )
    trapped_gas: Annotated[Stated, Q("volume", least=0)] | None = told(
        "gas between meter and injector that cannot be bled, as a volume at ambient pressure; it is corrected for",
        "0.2 L ± 0.1 L",
        default=None,
    )


class VesselTable(Table):
    """One pressure vessel."""

    id: Annotated[str, Id()] = told("name of the vessel", "WV-A")
    content: Annotated[str, Key(what="content", names=CONTENTS)] = told("water or air", "water")
    volume: Annotated[Stated, Q("volume", above=0)] = told("inner volume", "0.400 m3 ± 1 %")
    section: Annotated[Stated, Q("area", above=0)] | None = told(
        "free cross-section, for its sight tube", "0.283 m2 ± 0.5 %", default=None
    )
    rating: Annotated[float, V("pressure", "gauge", above=0)] | None = told(
        "rated pressure", "40 bar(g)", default=None
    )
    below: Annotated[float, V("volume")] = told(
        "water in it when its sight tube stands at zero; negative where that is below its bottom",
        "12 L",
        default=0.0,
    )
    gauge: Annotated[str, Id()] | None = told(
        "tag of what reads the pressure of its gas", "PG-AV", default=None
    )
    pushed_by: Annotated[str, Id()] | None = told(
        "the air vessel behind a water vessel", "AV-A", default=None
    )
    relief: Annotated[float, V("pressure", "gauge", above=0)] | None = told(
        "set pressure of its relief", "38 bar(g)", default=None
    )


class ValveTable(Table):
    """One valve."""

    id: Annotated[str, Id()] = told("name of the valve", "V-A")
    between: list[Annotated[str, Id()]] = told(
        "the vessels or lines it joins; only one where its other side is open air or a supply",
        ["AV-A", "WV-A"],
        min_length=1,
        max_length=2,
    )


class BenchTable(Table):
    """bench.toml."""

    instrument: list[AnyInstrument] = told(
        "transmitters, gauges, thermometers, scales", [], default_factory=list
    )
    tap: list[TapTable] = told("where pressures are taken", [], default_factory=list)
    meter: list[Annotated[MeterTable, MeterTable.variants]] = told("flow meters", [], default_factory=list)
    line: list[LineTable] = told("supply lines", [], default_factory=list)
    vessel: list[VesselTable] = told("pressure vessels", [], default_factory=list)
    logger: list[LoggerKindTable] = told("loggers as measuring instruments", [], default_factory=list)
    valve: list[ValveTable] = told("valves between them, for the ledger", [], default_factory=list)
