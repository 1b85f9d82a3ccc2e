"""[[instrument]] of bench.toml and engine.toml: the declared keys depend on what the instrument measures."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Annotated, Any, ClassVar

from pydantic import create_model, model_validator

from headrace.bench.filters import FILTERS, MOST, delay_of
from headrace.errors import QuantityError
from headrace.files.schema.effects import EffectKeys, effect_fields
from headrace.files.schema.fields import (
    ByKey,
    Id,
    Inside,
    Key,
    Number,
    Promise,
    Q,
    Rising,
    Table,
    V,
    _Text,
    meant,
    number_of,
    shown,
    told,
)
from headrace.records.given import Accuracy, Stated
from headrace.units import parse_one_of
from headrace.units.quantity import Wanted

LEGS = ("filled", "empty")
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
        "frequency": Measure(dimension="frequency", example=("0 Hz", "2000 Hz", "1 Hz")),
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Filter(_Text):
    """A low-pass filter as its kind, order and corner; read as the delay of a slow signal [s]."""

    def read(self, value: object) -> Stated:
        """The delay, its text kept."""
        example = '"butterworth 2, 10 Hz"'
        form = f"kind ({', '.join(FILTERS)}), order and corner"
        said = re.fullmatch(r"\s*([a-z]+)\s+(\d+)\s*,\s*(.+?)\s*", value) if isinstance(value, str) else None
        if said is None or not isinstance(value, str):
            raise QuantityError(shown(value), form, example)
        kind, order, corner = said[1], int(said[2]), number_of(V("frequency", above=0).read(said[3]))
        if kind not in FILTERS:
            raise QuantityError(shown(value), form, meant(kind, FILTERS))
        if not 1 <= order <= MOST:
            raise QuantityError(shown(value), f"an order of 1 to {MOST}", example)
        return Stated(value=delay_of(kind=kind, order=order, corner=corner), text=value)

    def describe(self) -> dict[str, Any]:
        """JSON Schema: text."""
        return {"type": "string", "title": "filter"}


_MODELS: dict[str, type[Table]] = {}  # filled below, one per kind of reading


class InstrumentTable(EffectKeys):
    """What every instrument states, whatever it measures."""

    variants: ClassVar[ByKey | None] = ByKey(key="measures", models=_MODELS)
    tag: Annotated[str, Id()] = told("name of the instrument, the one used everywhere", "DP-A")
    measures: Annotated[str, Key(what="quantity to measure", names=tuple(MEASURES))] = told(
        "what it measures", "drop"
    )
    certificate: Annotated[str, Id()] | None = told("id in certificates.toml", "C-101", default=None)
    lag: Annotated[Stated, Q("time", least=0)] | None = told(
        "first-order time constant of the instrument with its lines", "20 ms ± 5 ms", default=None
    )
    filter: Annotated[Stated, Filter()] | None = told(
        f"filter before the converter: kind ({', '.join(FILTERS)}), order, corner; taken as its delay",
        "butterworth 2, 10 Hz",
        default=None,
    )
    skew: Annotated[Stated, Q("time")] | None = told(
        "how much later than the time of its row the logger samples it (channels in turn)",
        "2 ms ± 0.5 ms",
        default=None,
    )
    height: Annotated[Stated, Q("length")] | None = told(
        "height of the sensing element above the datum, where it is not at its tap",
        "0.40 m ± 5 mm",
        default=None,
    )
    leg: Annotated[str, Key(what="content of a leg", names=LEGS)] = told(
        "what stands in the leg between tap and sensing element: filled (with water) or empty",
        "filled",
        default="filled",
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
    linearity: Any
    hysteresis: Any
    repeatability: Any
    zero_with_temperature: Any
    span_with_temperature: Any
    reference_temperature: Any
    temperature_range: Any

    @model_validator(mode="after")
    def _effects_fit(self) -> "InstrumentTable":
        self.effects_fit()
        if self.logger_range is not None:
            try:
                raw_range(self)
            except QuantityError as error:
                raise Inside(("logger_range", error)) from error
        return self


def raw_range(table: InstrumentTable) -> tuple[float, float, str]:
    """The logger's own range, which must be of the signal's kind and hold the signal.

    Raises:
        QuantityError: another unit than the signal's, or a range that the signal leaves.
    """
    assert table.logger_range is not None
    assert table.signal is not None
    low, high, kind = Signal().read(table.logger_range)
    low, high = min(low, high), max(low, high)
    if kind != table.signal[2] or low > min(table.signal[:2]) or high < max(table.signal[:2]):
        raise QuantityError(
            shown(table.logger_range), "a range in the unit of `signal` that holds it", '["0 mA", "24 mA"]'
        )
    return low, high, kind


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
        **effect_fields(measure.dimension),
    }
    return create_model(f"Instrument_{name}", __base__=InstrumentTable, **fields)


_MODELS.update({name: _model(name, measure) for name, measure in MEASURES.items()})
AnyInstrument = Annotated[InstrumentTable, InstrumentTable.variants]
"""An instrument of whichever kind its `measures` says."""
