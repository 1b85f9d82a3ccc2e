"""engine.toml: the engine that the water results are carried to, and its stand."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated

from pydantic import Field, model_validator

from headrace.errors import OutOfDomain, QuantityError
from headrace.files.schema.bench import BASES
from headrace.files.schema.fields import (
    DoubtOf,
    Id,
    Inside,
    Key,
    Q,
    Said,
    Table,
    V,
    _Text,
    shown,
    told,
)
from headrace.files.schema.instruments import AnyInstrument
from headrace.physics.fluids.registry import fluid
from headrace.records.given import Stated

MOST_PRESSURE = 2e7  # Pa; what boils even there was not meant
CHARACTERISTICS = ("alone", "together")
ZERO = Stated(value=0.0, origin="default", text="0")


@dataclass(frozen=True, slots=True, kw_only=True)
class Propellant(_Text):
    """A name that the register of liquids knows."""

    def read(self, value: object) -> str:
        """The name itself."""
        if not isinstance(value, str):
            raise QuantityError(shown(value), "the name of a propellant in quotes", '"lox"')
        try:
            fluid(value)
        except OutOfDomain as error:
            raise QuantityError(f'"{value}"', f"a propellant: {error.allowed}", error.hint) from error
        return value

    def describe(self) -> dict[str, object]:
        """JSON Schema: text."""
        return {"type": "string", "title": "propellant"}


class ChamberTable(Table):
    """[chamber]: throat and surroundings."""

    d_throat: Annotated[Stated, Q("length", above=0, below=5)] = told("throat diameter", "98.4 mm ± 0.05 mm")
    c_throat: Annotated[Stated, Q("ratio", above=0.5, most=1.05)] = told(
        "discharge coefficient of the throat", "0.985 ± 0.005"
    )
    ambient: Annotated[Stated, Q("pressure", "abs", above=1e4, below=1.2e5)] = told(
        "barometer at the stand", "1013 mbar(a) ± 5 mbar"
    )


class CStarTable(Table):
    """[c_star]: one value or a table, its doubt and its efficiency."""

    value: Annotated[float, V("velocity", above=100, below=5000)] | None = told(
        "one value for all", "1785 m/s", default=None
    )
    of_ratio: list[float] = told("mixture ratios of the table's rows", [2.0, 2.2, 2.4], default_factory=list)
    p_chamber: list[Annotated[float, V("pressure", "abs", above=0)]] = told(
        "chamber pressures of the table's columns", ["20 bar(a)"], default_factory=list
    )
    table: list[list[Annotated[float, V("velocity", above=100, below=5000)]]] = told(
        "a row per mixture ratio, a value per pressure", [["1779.65 m/s"]], default_factory=list
    )
    doubt: Annotated[float, DoubtOf(k=None)] = told("doubt of the values", "0.5 % (k=1)")
    efficiency: Annotated[Stated, Q("ratio", above=0.3, most=1.1)] = told(
        "c* of this engine over that of the table", "0.93 ± 0.02 (k=1)"
    )
    origin: Annotated[str, Said()] = told("where the values come from", "equilibrium calculation")

    @model_validator(mode="after")
    def _one_form(self) -> "CStarTable":
        tabled = bool(self.of_ratio or self.p_chamber or self.table)
        if (self.value is not None) == tabled:
            raise Inside(
                ("value", QuantityError("both" if tabled else "neither value nor table",
                                        "either value, or of_ratio with p_chamber and table", ""))
            )  # fmt: skip
        if not tabled:
            return self
        for name, axis in (("of_ratio", self.of_ratio), ("p_chamber", self.p_chamber)):
            if not axis or any(b <= a for a, b in pairwise(axis)) or axis[0] <= 0:
                raise Inside((name, QuantityError(shown(axis), "rising values above 0", "")))
        rows, columns = len(self.of_ratio), len(self.p_chamber)
        if len(self.table) != rows or any(len(row) != columns for row in self.table):
            sizes = sorted({len(row) for row in self.table})
            raise Inside(
                ("table", QuantityError(f"{len(self.table)} rows of {sizes} values",
                                        f"{rows} rows of {columns}: a row per of_ratio, a value per p_chamber", ""))
            )  # fmt: skip
        return self


class DesignTable(Table):
    """[design]: the wanted point."""

    p_chamber: Annotated[float, V("pressure", "abs", above=0)] | None = told(
        "wanted chamber pressure", "20 bar(a)", default=None
    )
    m_dot: Annotated[float, V("mass_flow", above=0)] | None = told(
        "or the wanted flow in all", "9.2 kg/s", default=None
    )
    of_ratio: float = told("wanted mixture ratio, oxidiser over fuel by mass", 2.2, gt=0, lt=1000)
    film_counts: bool | None = told("does film flow count in the mixture ratio", True, default=None)

    @model_validator(mode="after")
    def _one_point(self) -> "DesignTable":
        if (self.p_chamber is None) == (self.m_dot is None):
            found = "neither" if self.p_chamber is None else "both"
            raise Inside(
                ("p_chamber", QuantityError(found, "either p_chamber or m_dot", "leave one of the two"))
            )
        return self


class SideCircuitTable(Table):
    """[[ox.circuit]]: how the engine uses a circuit of the article."""

    id: Annotated[str, Id()] = told("a circuit of article.toml", "ox")
    characteristic: Annotated[str, Key(what="characteristic", names=CHARACTERISTICS)] | None = told(
        "measured alone or together with its neighbour; default: ours to choose", "alone", default=None
    )
    step: Annotated[float, DoubtOf(k=1)] | None = told(
        "doubt (k=1) of the step from water to propellant; default by element kind", "3 %", default=None
    )
    step_ratio: Annotated[Stated, Q("ratio", above=0.2, below=5)] | None = told(
        "hot over water area of own firings; in place of step", "1.00 ± 1 % (k=1)", default=None
    )
    shared_step: Annotated[str, Said()] | None = told(
        "circuits with the same text share one step", "same drill", default=None
    )
    film: bool = told("is it film cooling", False, default=False)

    @model_validator(mode="after")
    def _one_step(self) -> "SideCircuitTable":
        if self.step is not None and self.step_ratio is not None:
            raise Inside(
                ("step_ratio", QuantityError("step as well", "step or step_ratio", "leave one of the two"))
            )
        return self


class FeedTable(Table):
    """[ox.feed]: what lies between tank and tap."""

    area_eff: Annotated[Stated, Q("area", above=0)] | None = told(
        "effective area of the feed; none: no loss", "2.9e-4 m2 ± 2 %", default=None
    )
    parts: list[Annotated[str, Id()] | Annotated[list[Annotated[str, Id()]], Field(min_length=1)]] = told(
        "instead of area_eff: parts of article.toml in series, from the tank on; those in inner brackets side by side",
        ["OX-VALVE", "OX-LINE"],
        default=[],
    )
    to_tap: Annotated[str, Id()] = told("tap of bench.toml where it ends", "T-OX")
    basis: Annotated[str, Key(what="basis", names=BASES)] = told("pressure meant there", "static")
    friction: Annotated[float, V("ratio", least=0, most=1)] = told(
        "share of the loss that is pipe friction", "40 %", default=0.0
    )
    bore: Annotated[float, V("length", above=0)] | None = told("pipe bore", "40 mm", default=None)
    re: float | None = told("Reynolds number in that bore at which area_eff holds", 1.5e5, default=None, gt=0)
    head: Annotated[Stated, Q("length")] = told("liquid surface above the tap", "1.8 m ± 0.3 m", default=ZERO)

    @model_validator(mode="after")
    def _friction_needs(self) -> "FeedTable":
        if self.parts and self.area_eff is not None:
            raise Inside(("parts", QuantityError("both", "area_eff or parts, one of them", "leave one out")))
        stated = (("area_eff", self.area_eff), ("bore", self.bore), ("re", self.re))
        needs = (("bore", self.bore),) if self.parts else stated
        lacking = [name for name, value in needs if value is None] if self.friction > 0 else []
        if lacking:
            raise Inside(
                *(
                    (name, QuantityError("nothing", f"{name}, since friction is given", ""))
                    for name in lacking
                )
            )
        return self


class TankTable(Table):
    """[ox.tank]."""

    gauge: Annotated[str, Id()] | None = told("tag of the gauge that it is set by", "PG-OX", default=None)
    rating: Annotated[float, V("pressure", "gauge", above=0)] | None = told(
        "rated pressure", "50 bar(g)", default=None
    )
    relief: Annotated[float, V("pressure", "gauge", above=0)] | None = told(
        "set pressure of its relief", "46 bar(g)", default=None
    )
    droop: Annotated[Stated, Q("pressure", "drop", least=0)] = told(
        "static minus flowing", "0.8 bar ± 0.2 bar", default=ZERO
    )
    lockup: Annotated[Stated, Q("pressure", "drop", least=0)] = told(
        "rise above static when no flow is drawn", "0.3 bar", default=ZERO
    )
    setting: Annotated[float, V("pressure", "drop", least=0)] = told(
        "half-width within which the crew sets it", "0.2 bar", default=0.0
    )


class SideTable(Table):
    """[ox] or [fuel]."""

    propellant: Annotated[str, Propellant()] = told("name of the liquid", "lox")
    temperature: Annotated[Stated, Q("temperature", above=50, below=500)] = told(
        "at the injector", "90.5 K ± 0.5 K"
    )
    density: Annotated[Stated, Q("density", above=100, below=3000)] | None = told(
        "measured batch, in place of the table: at `temperature`, in open air; we add the pressure's share",
        "1143 kg/m3 ± 2 kg/m3",
        default=None,
    )
    circuit: list[SideCircuitTable] = told("its circuits", [], min_length=1)
    feed: FeedTable = told("between tank and tap", {})
    tank: TankTable = told("the tank", {})

    @model_validator(mode="after")
    def _liquid(self) -> "SideTable":
        facts = fluid(self.propellant).outside(temp=self.temperature.value, p_abs=MOST_PRESSURE)
        if any(fact.code == "boils" for fact in facts):
            most = f"{MOST_PRESSURE / 1e5:g} bar(a)"
            found = f'"{self.temperature.text}", at which {self.propellant} boils even at {most}'
            raise Inside(
                ("temperature", QuantityError(found, "a temperature at which it is liquid", "check the unit"))
            )
        return self


class EngineTable(Table):
    """engine.toml."""

    chamber: ChamberTable = told("throat and surroundings", {})
    c_star: CStarTable = told("characteristic velocity", {})
    design: DesignTable = told("the wanted point", {})
    instrument: list[AnyInstrument] = told("the stand's own gauges", [], default_factory=list)
    ox: SideTable = told("oxidiser side", {})
    fuel: SideTable = told("fuel side", {})

    @model_validator(mode="after")
    def _film_named(self) -> "EngineTable":
        film = any(circuit.film for side in (self.ox, self.fuel) for circuit in side.circuit)
        if film and self.design.film_counts is None:
            raise Inside(
                ("design.film_counts", QuantityError("nothing", "true or false: a circuit is film",
                                                     "film_counts = true"))
            )  # fmt: skip
        return self
