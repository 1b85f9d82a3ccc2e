"""[[instrument]] of bench.toml and engine.toml: the declared keys depend on what the instrument measures."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Annotated, Any, ClassVar

from pydantic import create_model

from headrace.errors import QuantityError
from headrace.files.schema.fields import ByKey, Id, Key, Number, Promise, Rising, Table, V, _Text, shown, told
from headrace.records.given import Accuracy
from headrace.units import parse_one_of
from headrace.units.quantity import Wanted

SIGNALS = ("current", "voltage", "voltage_ratio", "count", "frequency")


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """What an instrument can measure. kind: of a pressure. example: a low end, a high end and a division as text."""

    dimension: str
    kind: Wanted | None = None
    example: tuple[str, str, str]

    @property
    def number(self) -> Number:
        """How one reading is written."""
        return V(self.dimension, self.kind)

    @property
    def step_number(self) -> Number:
        """How a difference of readings is written."""
        difference = "temperature_difference" if self.dimension == "temperature" else self.dimension
        return V(difference, "drop" if self.dimension == "pressure" else None, above=0)


MEASURES: Mapping[str, Measure] = MappingProxyType(
    {
        "drop": Measure(dimension="pressure", kind="drop", example=("0 bar", "2.5 bar", "0.02 bar")),
        "gauge": Measure(dimension="pressure", kind="gauge", example=("0 bar(g)", "40 bar(g)", "0.2 bar")),
        "abs": Measure(dimension="pressure", kind="abs", example=("0 bar(a)", "1.2 bar(a)", "1 mbar")),
        "temperature": Measure(dimension="temperature", example=("0 degC", "50 degC", "0.5 K")),
        "mass": Measure(dimension="mass", example=("0 kg", "300 kg", "0.1 kg")),
        "length": Measure(dimension="length", example=("0 m", "2 m", "1 mm")),
        "time": Measure(dimension="time", example=("0 s", "3600 s", "0.2 s")),
        "volume": Measure(dimension="volume", example=("0 L", "400 L", "0.5 L")),
        "volume_flow": Measure(dimension="volume_flow", example=("0 L/min", "400 L/min", "1 L/min")),
        "mass_flow": Measure(dimension="mass_flow", example=("0 kg/s", "10 kg/s", "0.01 kg/s")),
    }
)
"""Everything an instrument may measure, by the word used for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal(_Text):
    """Two raw values that stand for the two ends of the range; read as (raw low, raw high, SI unit's dimension)."""

    def read(self, value: object) -> tuple[float, float, str]:
        """Both ends in SI of the raw unit, which must differ (a falling signal is allowed)."""
        if not isinstance(value, list) or len(value) != 2:
            raise QuantityError(shown(value), "two raw values in brackets", '["4 mA", "20 mA"]')
        low, high = (parse_one_of(one, dimensions=SIGNALS) for one in value)
        if low.dimension != high.dimension or low.value == high.value:
            raise QuantityError(shown(value), "two different values in one unit", '["4 mA", "20 mA"]')
        return low.value, high.value, str(low.dimension)

    def describe(self) -> dict[str, Any]:
        """JSON Schema: an array of two."""
        items = {"type": ["string", "number"]}
        return {"type": "array", "items": items, "minItems": 2, "maxItems": 2}


_MODELS: dict[str, type[Table]] = {}  # filled below, one per kind of reading


class InstrumentTable(Table):
    """What every instrument states, whatever it measures."""

    variants: ClassVar[ByKey | None] = ByKey(key="measures", models=_MODELS)
    tag: Annotated[str, Id()] = told("name of the instrument, the one used everywhere", "DP-A")
    measures: Annotated[str, Key(what="quantity to measure", names=tuple(MEASURES))] = told(
        "what it measures", "drop"
    )
    certificate: Annotated[str, Id()] | None = told("id in certificates.toml", "C-101", default=None)
    lag: Annotated[float, V("time", least=0)] = told("first-order time constant", "20 ms", default=0.0)
    height: Annotated[float, V("length")] | None = told(
        "height of the sensing element above the datum, its leg full of water; default: at its tap",
        "0.40 m",
        default=None,
    )
    signal: Annotated[tuple[float, float, str], Signal()] | None = told(
        "what the logger stores for the two ends of the range; default: the quantity itself",
        ["4 mA", "20 mA"],
        default=None,
    )

    # given their texts by `instrument_models`, since these depend on what is measured
    range: Any
    accuracy: Any
    drift: Any
    division: Any


def _model(name: str, measure: Measure) -> type[Table]:
    promise = Promise(dimension=measure.dimension)
    fields: dict[str, Any] = {
        "measures": (
            Annotated[str, Key(what="quantity to measure", names=(name,))],
            told("what it measures", name),
        ),
        "range": (
            Annotated[tuple[float, float], Rising(each=measure.number)],
            told("both ends of the range, the lower first", list(measure.example[:2])),
        ),
        "accuracy": (
            Annotated[Accuracy, promise],
            told('limits, or an expanded uncertainty with "k=2"', "0.1 % FS"),
        ),
        "drift": (
            Annotated[Accuracy, promise] | None,
            told("limits of drift per year", "0.05 % FS", default=None),
        ),
        "division": (
            Annotated[float, measure.step_number] | None,
            told("scale division, when it is read by eye", measure.example[2], default=None),
        ),
    }
    return create_model(f"Instrument_{name}", __base__=InstrumentTable, **fields)


_MODELS.update({name: _model(name, measure) for name, measure in MEASURES.items()})
AnyInstrument = Annotated[InstrumentTable, InstrumentTable.variants]
"""An instrument of whichever kind its `measures` says."""
