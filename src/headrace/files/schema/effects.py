"""What a data sheet states of an instrument beside its accuracy: optional keys of [[instrument]], and [[logger]]."""

import re
from dataclasses import dataclass
from typing import Annotated, Any

from headrace.errors import QuantityError
from headrace.files.schema.fields import (
    Id,
    Inside,
    Number,
    Promise,
    Rising,
    Table,
    V,
    _Text,
    number_of,
    shown,
    told,
)
from headrace.records.given import Accuracy

TEMPERATURE = V("temperature", above=200.0, below=400.0)
MOST_BITS = 32


@dataclass(frozen=True, slots=True, kw_only=True)
class PromisePer(_Text):
    """An accuracy for each so much of something else, "0.1 % FS per 10 K"; read per SI unit of it."""

    dimension: str
    per: Number
    example: str

    def read(self, value: object) -> Accuracy:
        """The accuracy per one SI unit."""
        said = re.fullmatch(r"(.+?)\s+(?:per|/)\s+(.+)", value) if isinstance(value, str) else None
        if said is None or not isinstance(value, str):
            raise QuantityError(shown(value), "an accuracy per so much", f'"{self.example}"')
        text, k = said[2], ""
        if "," in text:
            text, k = text.split(",", 1)
            k = f", {k}"
        amount = re.sub(r"^(?=[^\d])", "1 ", text.strip())
        one = Promise(dimension=self.dimension).read(said[1] + k)
        over = number_of(self.per.read(amount))
        return Accuracy(of_reading=one.of_reading / over, of_span=one.of_span / over, absolute=one.absolute / over,
                        dist=one.dist, text=value)  # fmt: skip

    def describe(self) -> dict[str, Any]:
        """JSON Schema: text."""
        return {"type": "string", "title": "accuracy per so much"}


PER_KELVIN = V("temperature_difference", above=0)
PER_PRESSURE = V("pressure", "drop", above=0)


def effect_fields(dimension: str) -> dict[str, Any]:
    """The optional keys of an instrument that measures this dimension."""
    promise, warmth = Promise(dimension=dimension), "0.1 % FS per 10 K"
    squeezed = "0.1 % FS per 70 bar"
    kelvin = PromisePer(dimension=dimension, per=PER_KELVIN, example=warmth)
    line = PromisePer(dimension=dimension, per=PER_PRESSURE, example=squeezed)
    fields: dict[str, Any] = {
        "linearity": (Accuracy, promise, "limits of its bow, where the accuracy does not hold it", "0.05 % FS"),
        "hysteresis": (Accuracy, promise, "greatest difference up against down, likewise", "0.1 % FS"),
        "repeatability": (Accuracy, promise, "limits from one run or reading to the next, likewise", "0.05 % FS"),
        "zero_with_temperature": (Accuracy, kelvin, "shift of zero with its body's temperature", warmth),
        "span_with_temperature": (Accuracy, kelvin, "change of span with its body's temperature", warmth),
        "reference_temperature": (float, TEMPERATURE, "temperature at which it has none of the two", "23 degC"),
        "temperature_range": (tuple[float, float], Rising(each=TEMPERATURE),
                              "what its body may have, for runs that do not say", ["5 degC", "35 degC"]),
    }  # fmt: skip
    if dimension == "pressure":
        fields["zero_with_line_pressure"] = (Accuracy, line, "of a dp cell: shift of zero", squeezed)
        fields["span_with_line_pressure"] = (Accuracy, line, "of a dp cell: change of span", squeezed)
    return {
        name: (Annotated[kind, field] | None, told(help_, example, default=None))
        for name, (kind, field, help_, example) in fields.items()
    }


WARM = ("zero_with_temperature", "span_with_temperature")


class EffectKeys(Table):
    """What the effects need of each other, and the logger that stores the channel."""

    logger: Annotated[str, Id()] | None = told("id of the logger that stores it", "DAQ-1", default=None)
    logger_range: list[str | float] | None = told(
        "the logger's own range, in the unit of `signal`; default: that of `signal`, or the range",
        ["0 mA", "24 mA"],
        default=None,
    )

    def effects_fit(self) -> None:
        """Refuse an effect of temperature that nobody could work out, and a logger's range of nothing."""
        warm = next((name for name in WARM if getattr(self, name, None) is not None), None)
        for name in ("reference_temperature", "temperature_range"):
            if warm is not None and getattr(self, name, None) is None:
                raise Inside((name, QuantityError("nothing", f"{name}, since {warm} is given", '"23 degC"')))
        if self.logger_range is not None and (self.logger is None or getattr(self, "signal", None) is None):
            fault = QuantityError(
                "no `signal` or no `logger`",
                "both beside a logger_range",
                "without it the range is the signal's",
            )
            raise Inside(("logger_range", fault))


class LoggerKindTable(Table):
    """One logger as a measuring instrument."""

    id: Annotated[str, Id()] = told("name of the logger", "DAQ-1")
    bits: int | None = told("bits of its converter", 16, default=None, ge=4, le=MOST_BITS)
    accuracy: Annotated[Accuracy, Promise(dimension="ratio")] | None = told(
        "of the raw signal: gain as % of reading, offset as % of its range; shared by all channels it stores",
        "0.02 % of reading + 0.01 % of range",
        default=None,
    )
