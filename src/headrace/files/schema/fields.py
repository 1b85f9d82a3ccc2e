"""The kinds of field that a campaign file has: quantities as text, keys of registries, ids.

Each is an annotation for pydantic that reads its text once into SI and refuses in words (`QuantityError`), and that
describes itself in the JSON Schema. Start at `Q` (a number with its doubt) and `V` (a plain number).
"""

import difflib
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from headrace.errors import QuantityError
from headrace.records.given import Accuracy, Stated
from headrace.units import DISPLAY, UNITS, Dimension, from_si, parse_accuracy, parse_doubt, parse_quantity
from headrace.units.quantity import Wanted

BARE = ("ratio", "count")


@dataclass(frozen=True, slots=True, kw_only=True)
class ByKey:
    """A table whose declared keys depend on one of its own: `models` gives them by that key's value."""

    key: str
    models: Mapping[str, type["Table"]]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        choices = {name: handler.generate_schema(model) for name, model in self.models.items()}
        return core_schema.tagged_union_schema(choices, discriminator=self.key)


class Table(BaseModel):
    """A table of a campaign file: no keys but the declared ones, no number where text is wanted."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, allow_inf_nan=False, arbitrary_types_allowed=True,
        defer_build=True,  # a command builds the tables that it reads, not all of them
    )  # fmt: skip
    variants: ClassVar[ByKey | None] = None


class Inside(ValueError):  # noqa: N818 - named after where the faults are
    """Faults of single keys inside a table, found when the table is looked at as a whole."""

    def __init__(self, *faults: tuple[str, QuantityError]) -> None:
        super().__init__(*faults)
        self.faults = faults


def told(help_: str, example: object, **more: Any) -> Any:
    """A field with its line of help and an example value; both go into messages and the JSON Schema."""
    return Field(description=help_, examples=[example], **more)


def a(word: str) -> str:
    """The word with its article.

    >>> a("area"), a("length")
    ('an area', 'a length')
    """
    return f"{'an' if word[:1] in 'aeiou' else 'a'} {word}"


def nearest(name: str, names: Iterable[str]) -> str:
    """The known name most like this one, or "" when none is alike."""
    known = list(names)
    folded = {one.lower(): one for one in known}
    near = difflib.get_close_matches(name.lower(), folded, n=1, cutoff=0.5)
    return folded[near[0]] if near else ""


def meant(name: str, names: Iterable[str]) -> str:
    """What to try for an unknown name: the nearest one, or all of them."""
    known = list(names)
    near = known[0] if len(known) == 1 else nearest(name, known)
    if near:
        return f'"{near}", if that is meant'
    return "one of " + ", ".join(f'"{one}"' for one in known) if known else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Text:
    """A field whose text one function reads."""

    def read(self, value: object) -> Any:
        raise NotImplementedError

    def describe(self) -> dict[str, Any]:
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return self.describe()


@dataclass(frozen=True, slots=True, kw_only=True)
class Number(_Text):
    """A quantity. kind: for pressures. Bounds in SI; exact: read as a plain float, for which no doubt is wanted."""

    dimension: str
    kind: Wanted | None = None
    above: float | None = None
    least: float | None = None
    below: float | None = None
    most: float | None = None
    exact: bool = False

    def read(self, value: object) -> Stated | float:
        """The quantity in SI, inside its bounds."""
        quantity = parse_quantity(value, dimension=self.dimension, kind=self.kind)
        number = quantity.value
        if not self.holds(number):
            raise QuantityError(f'"{quantity.text}"', self.wanted(), "check sign, unit and decimal mark")
        if self.exact:
            if quantity.half:
                raise QuantityError(f'"{quantity.text}"', "a plain value: its doubt has another key", "")
            return number
        return Stated(
            value=number, u=quantity.u or 0.0, dist=quantity.dist or "rectangular", text=quantity.text
        )

    def holds(self, number: float) -> bool:
        """True when a number [SI] is inside the bounds."""
        low = self.above is None or number > self.above
        high = self.below is None or number < self.below
        return low and high and (self.least is None or number >= self.least) and (
            self.most is None or number <= self.most
        )  # fmt: skip

    def wanted(self) -> str:
        """The bounds in words."""
        said = (
            ("above", self.above), ("of at least", self.least), ("below", self.below), ("of at most", self.most),
        )  # fmt: skip
        bounds = [f"{word} {self.shown(limit)}" for word, limit in said if limit is not None]
        return f"{a(self.dimension.replace('_', ' '))} " + " and ".join(bounds)

    def shown(self, limit: float) -> str:
        """A bound in the unit in which such numbers are printed."""
        if limit == 0 and self.dimension != "temperature":
            return "0"
        where = Dimension(self.dimension)
        unit = next(one for one in UNITS[where] if one.name == DISPLAY[where])
        return f"{from_si(limit, unit):.6g} {unit.show}".strip()

    def describe(self) -> dict[str, Any]:
        """JSON Schema: text, or a bare number where no unit is needed."""
        kind = f", {self.kind}" if self.kind else ""
        return {
            "type": ["string", "number"] if self.dimension in BARE else "string",
            "title": f"{self.dimension.replace('_', ' ')}{kind}",
        }


def Q(dimension: str, kind: Wanted | None = None, **bounds: float) -> Number:  # noqa: N802 - reads as a type
    """A quantity with its doubt: a `Stated`. Bounds: above, least, below, most [SI]."""
    return Number(dimension=dimension, kind=kind, above=bounds.get("above"), least=bounds.get("least"),
                  below=bounds.get("below"), most=bounds.get("most"))  # fmt: skip


def V(dimension: str, kind: Wanted | None = None, **bounds: float) -> Number:  # noqa: N802 - reads as a type
    """A quantity that is taken as a plain value: a float. Bounds as for `Q`."""
    return Number(dimension=dimension, kind=kind, above=bounds.get("above"), least=bounds.get("least"),
                  below=bounds.get("below"), most=bounds.get("most"), exact=True)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise(_Text):
    """An accuracy: parts in % of reading, % FS and a unit, as standard uncertainties."""

    dimension: str

    def read(self, value: object) -> Accuracy:
        """The accuracy; limits over sqrt 3, an expanded uncertainty over its k."""
        if not isinstance(value, str):
            raise QuantityError(shown(value), "an accuracy as text in quotes", '"0.1 % FS"')
        said = parse_accuracy(value, dimension=self.dimension)
        over = math.sqrt(3) if said.k is None else said.k
        return Accuracy(of_reading=said.of_reading / over, of_span=said.of_span / over,
                        absolute=said.absolute / over, dist=said.dist, text=said.text)  # fmt: skip

    def describe(self) -> dict[str, Any]:
        """JSON Schema: text."""
        return {"type": "string", "title": "accuracy"}


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtOf(_Text):
    """A relative doubt in a field of its own, as a standard uncertainty. k: what a text without k means."""

    k: float | None = None

    def read(self, value: object) -> float:
        """Relative standard uncertainty."""
        if not isinstance(value, str):
            raise QuantityError(shown(value), "a doubt as text in quotes", '"0.5 % (k=1)"')
        doubt = parse_doubt(value, k=self.k)
        if not doubt.u < 1:
            raise QuantityError(f'"{doubt.text}"', "a relative doubt below 100 %", '"0.5 %"')
        return doubt.u

    def describe(self) -> dict[str, Any]:
        """JSON Schema: text."""
        return {"type": "string", "title": "relative doubt"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Key(_Text):
    """A key of a registry: one of `names`; anything else is told the nearest."""

    what: str
    names: tuple[str, ...]

    def read(self, value: object) -> str:
        """The key itself."""
        if isinstance(value, str) and value in self.names:
            return value
        near = meant(value, self.names) if isinstance(value, str) else ""
        raise QuantityError(shown(value), f"{a(self.what)}: {', '.join(self.names)}", near)

    def describe(self) -> dict[str, Any]:
        """JSON Schema: the list of keys."""
        return {"enum": list(self.names), "title": self.what}


ID = r"^\w[\w .#-]{0,59}$"


@dataclass(frozen=True, slots=True, kw_only=True)
class Id(_Text):
    """A name that other keys point to: letters, digits, blank and . _ # -, so that it can stand in other names."""

    def read(self, value: object) -> str:
        """The id itself."""
        if isinstance(value, str) and re.fullmatch(ID, value) and value == value.strip():
            return value
        raise QuantityError(
            shown(value), "a name of letters, digits, blank and . _ # -, at most 60", '"DP-A"'
        )

    def describe(self) -> dict[str, Any]:
        """JSON Schema: text of that pattern."""
        return {"type": "string", "pattern": ID, "title": "id"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Said(_Text):
    """Free text that may not be empty: a reason, a name."""

    def read(self, value: object) -> str:
        """The text without blanks around it."""
        if isinstance(value, str) and value.strip():
            return value.strip()
        raise QuantityError(shown(value), "a text in quotes that says something", "")

    def describe(self) -> dict[str, Any]:
        """JSON Schema: text of at least one character."""
        return {"type": "string", "minLength": 1}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rising(_Text):
    """Two quantities, the second above the first. `each` reads one of them. Read as a pair of floats."""

    each: Number

    def read(self, value: object) -> tuple[float, float]:
        """Both, in SI."""
        if not isinstance(value, list) or len(value) != 2:
            raise QuantityError(shown(value), "two values in brackets, the lower first", "")
        pair = [self.each.read(one) for one in value]
        low, high = map(number_of, pair)
        if not low < high:
            raise QuantityError(shown(value), "two values, the lower first", f'["{value[1]}", "{value[0]}"]')
        return low, high

    def describe(self) -> dict[str, Any]:
        """JSON Schema: an array of two."""
        return {"type": "array", "items": self.each.describe(), "minItems": 2, "maxItems": 2}


def number_of(read: Stated | float) -> float:
    """The plain value of what a `Number` read."""
    return read.value if isinstance(read, Stated) else read


def shown(value: object) -> str:
    """A TOML value as it is written there, not too long."""
    text = _toml(value)
    return text if len(text) <= 80 else text[:76] + " ..."


def _toml(value: object) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value[:9]))}]"
    if isinstance(value, dict):
        return f"a table with {', '.join(map(str, list(value)[:5])) or 'no keys'}"
    return str(value)
