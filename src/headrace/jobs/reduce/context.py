"""What every method needs of one run: its water, its taps, its instruments at work. Decisions at nominal only.

Start at `Context`; a method asks it for `water`, `tap_drop`, `instrument` and hands back a `Prepared`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from headrace.bench.instruments import Zero, at_work, corrected, travel
from headrace.chain.streams import Drop, Shared, Stream
from headrace.errors import NoAnswer
from headrace.findings.evidence import Aside, StreamEvidence
from headrace.jobs.reduce.conditions import Seen, conditions
from headrace.jobs.reduce.meter_scope import Left
from headrace.notices import Notice
from headrace.physics.fluids import fluid
from headrace.physics.hydraulics.hydrostatics import G_STANDARD
from headrace.records.given import Campaign, Circuit, Flow, RunGiven, Stated
from headrace.records.readings import Closure, Series, Window
from headrace.uncertainty.doubted import Doubted, constant
from headrace.uncertainty.errors_map import Model
from headrace.uncertainty.source import Source

Array = NDArray[np.float64]

WATER = "water"


@dataclass(frozen=True, slots=True, kw_only=True)
class SliceNominal:
    """One slice at nominal; units as in `records.readings.Reading`."""

    t: float
    re: float
    cav: float
    dp: float
    m_dot: float
    noise: float
    rows: tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """One stream of one run, frozen, with what reports and findings want of it."""

    name: str
    run: str
    stream: str
    state: str
    lines: tuple[str, ...]
    circuit: Circuit
    frozen: Stream
    slices: tuple[SliceNominal, ...]
    window: Window
    series: Series | None
    evidence: StreamEvidence | None
    signals: Mapping[str, Array] = field(default_factory=dict)
    zeros: Mapping[str, Zero] = field(default_factory=dict)
    aside: Mapping[str, Aside] = field(default_factory=dict)
    closure: Closure | None = None
    closing: Model | None = None  # of a run that calibrates its meter
    re_pipe: tuple[float, float] | None = None  # of a single meter's own pipe
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """Water of one run at nominal, and its density with the terms of thermometer and tap water."""

    temp: float
    rho: float
    mu: float
    p_vap: float
    density: Doubted  # (1,): the same for every slice
    sources: tuple[Source, ...]


@dataclass(slots=True, kw_only=True)
class Context:
    """One run of a campaign on its way to being frozen; gathers the sources that are met on it."""

    campaign: Campaign
    run: RunGiven
    sources: dict[str, Source] = field(default_factory=dict)
    notices: list[Notice] = field(default_factory=list)
    scope: list[Left] = field(default_factory=list)
    seen: dict[str, Seen] = field(default_factory=dict)

    def declare(self, *sources: Source) -> None:
        """Add sources; one met twice keeps the larger uncertainty."""
        for source in sources:
            known = self.sources.get(source.name)
            if known is None or source.u > known.u:
                self.sources[source.name] = source

    def term(self, name: str, stated: Stated, *, scope: str, origin: str) -> tuple[tuple[str, float], ...]:
        """A stated value's own error as a term of shape 1, declared; nothing when it is stated as exact."""
        if stated.u <= 0:
            return ()
        source = Source(
            name=name, u=stated.u, dist=stated.dist, scope=scope, origin=stated.origin or origin, group=WATER
        )
        self.declare(source)
        return ((name, 1.0),)

    def instrument(
        self, tag: str, values: Array, zero: Zero | None, moments: tuple[str, ...] = ()
    ) -> Doubted:
        """Values of an instrument with its terms, its sources declared. moments: names of values read one by one."""
        bench = self.campaign.bench
        instrument = bench.instruments[tag]
        doubted, sources = at_work(
            instrument,
            values,
            run=self.run.id,
            zero=zero,
            certificates=self.campaign.certificates,
            references=self.campaign.references,
            on=self.run.date,
            conditions=conditions(bench, self.run, instrument, values, self.seen.get(tag), moments),
        )
        self.declare(*sources)
        return doubted

    def corrected(self, tag: str, values: Array) -> Array:
        """Values read one after the other, with what the certificate of their instrument says of the day."""
        instrument, papers = self.campaign.bench.instruments[tag], self.campaign.certificates
        return corrected(
            papers.get(instrument.certificate or ""),
            values,
            certificates=papers,
            on=self.run.date,
            travel=travel(values, span=instrument.span),
        )

    def water(self, temperatures: Array | None, tag: str | None, *, p_abs: float) -> Water:
        """Water at the run's temperature: by the thermometer's channel, else as typed.

        Args:
            temperatures: of the thermometer `tag` within the window [K], or None.
            p_abs: a pressure typical of the meter and manifold [Pa].
        """
        if temperatures is not None and tag is not None and np.any(np.isfinite(temperatures)):
            mean = float(np.nanmean(temperatures))
            temp = self.instrument(tag, np.array([mean]), None)
        else:
            stated = self.run.water_temperature
            if stated is None:
                raise NoAnswer(f"the thermometer {tag} has no values, and no water temperature is typed")
            terms = self.term("water.thermometer", stated, scope="shared", origin="typed water temperature")
            temp = constant(stated.value, terms)
        water = fluid("water")
        at = float(temp.base[0])
        water.check(temp=at, p_abs=p_abs)
        rho = float(water.rho(at, p_abs))
        slope = (float(water.rho(at + 0.5, p_abs)) - float(water.rho(at - 0.5, p_abs))) / 1.0
        pure = Source(
            name="water.density",
            u=self.campaign.defaults.water_density,
            dist="normal",
            scope="shared",
            origin="tap water against pure water, default",
            group=WATER,
        )
        self.declare(pure)
        density = Doubted(
            base=np.array([rho]),
            terms=(*((name, shape * slope) for name, shape in temp.terms), (pure.name, np.array([rho]))),
        )
        names = set(density.names)
        return Water(
            temp=at,
            rho=rho,
            mu=float(water.mu(at, p_abs)),
            p_vap=float(water.p_vap(at)),
            density=density,
            sources=tuple(source for name, source in self.sources.items() if name in names),
        )

    def height(self, circuit: Circuit) -> Doubted:
        """Height of the circuit's tap above its outlet [m]; of a part, above the tap behind it."""
        tap = self.campaign.bench.taps[circuit.tap]
        name, low = f"{circuit.id}.outlet_height", circuit.outlet_height
        if circuit.down_tap is not None:
            name, low = f"{circuit.down_tap}.height", self.campaign.bench.taps[circuit.down_tap].height
        terms = (
            *self.term(f"{tap.id}.height", tap.height, scope="shared", origin="height of the tap"),
            *(
                (name, -shape)
                for name, shape in self.term(name, low, scope="shared", origin="height of the outlet")
            ),
        )
        return constant(tap.height.value - low.value, terms)

    def area_tap(self, circuit: Circuit) -> float | None:
        """Bore area at the tap when its basis is total, None when static [m2].

        Between two taps of one bore the velocity heads are the same, and the basis makes no difference.

        Raises:
            NoAnswer: a part whose two taps are on two bases, or on total pressure in two bores.
        """
        tap = self.campaign.bench.taps[circuit.tap]
        if circuit.down_tap is not None:
            down = self.campaign.bench.taps[circuit.down_tap]
            if tap.basis != down.basis or (tap.basis == "total" and tap.bore != down.bore):
                raise NoAnswer(
                    f"part {circuit.id} lies between taps {tap.id} ({tap.basis}, {1e3 * tap.bore:g} mm) and {down.id} "
                    f"({down.basis}, {1e3 * down.bore:g} mm), and losses add only on one basis: take both as static"
                )
            return None
        return BASES[tap.basis](tap.bore)

    def tap_pressure(
        self,
        flow: Flow,
        circuit: Circuit,
        values: Array,
        back: Array | None,
        zeros: Mapping[str, Zero],
        moments: tuple[str, ...] = (),
    ) -> Doubted:
        """Tap minus outlet pressure [Pa] with its terms: zero taken off, back-pressure taken off.

        moments: names of values that were read one by one.
        """
        out = self._over_ambient(flow.p_tap, values, zeros.get(flow.p_tap), moments)
        out = out.plus(_spread(self._leg(flow, circuit, zeros), values.size))
        if flow.p_back is not None and back is not None:
            out = out.plus(self._over_ambient(flow.p_back, back, zeros.get(flow.p_back)).times(-1.0))
        return out

    def lift(self, flow: Flow, circuit: Circuit, zeros: Mapping[str, Zero]) -> float:
        """What a leg full of water takes from the tap's pressure on its way [Pa]; a zero takes it off by itself."""
        return float(self._leg(flow, circuit, zeros).base[0])

    def _leg(self, flow: Flow, circuit: Circuit, zeros: Mapping[str, Zero]) -> Doubted:
        """`lift` with what is not known of the two heights [Pa], shape (1,)."""
        instrument = self.campaign.bench.instruments[flow.p_tap]
        height = instrument.height
        if height is None or flow.p_tap in zeros or instrument.leg == "empty":
            return constant(0.0)
        tap = self.campaign.bench.taps[circuit.tap]
        own = self.term(
            f"{instrument.tag}.height", height, scope="instrument", origin="height of the sensing element"
        )
        of_tap = self.term(f"{tap.id}.height", tap.height, scope="shared", origin="height of the tap")
        terms = (*own, *((name, -shape) for name, shape in of_tap))
        return constant(height.value - tap.height.value, terms).times(self.weight_of_water)

    @property
    def weight_of_water(self) -> float:
        """Of a column in a leg, which is as warm as the room [Pa/m]."""
        return float(fluid("water").rho(293.15, 2e5)) * G_STANDARD

    def _over_ambient(
        self, tag: str, values: Array, zero: Zero | None, moments: tuple[str, ...] = ()
    ) -> Doubted:
        """Pressure over ambient: an absolute transmitter needs the barometer for it, unless its zero took both off."""
        out = self.instrument(tag, values, zero, moments)
        if zero is not None or self.campaign.bench.instruments[tag].measures != "abs":
            return out
        terms = self.term("barometer", self.run.ambient, scope="shared", origin="barometer of the run")
        off = tuple((name, -shape * np.ones_like(values)) for name, shape in terms)
        return out.plus(Doubted(base=np.zeros_like(values), terms=off))

    def shared(self, stream: str) -> Shared:
        """The run's own set-up and its day, declared with the campaign's defaults (the fit may know better)."""
        defaults = self.campaign.defaults
        setup = Source(
            name=f"{self.run.id}.{stream}.setup",
            u=defaults.run_to_run,
            scope="run",
            group=WATER,
            origin="run to run, default",
        )
        day = Source(
            name=f"{self.run.date.isoformat()}.{stream}.day",
            u=defaults.day_to_day,
            scope="run",
            group=WATER,
            origin="day to day, default",
        )
        self.declare(setup, day)
        return Shared(names=(setup.name, day.name))

    def with_window(self, shared: Shared, stream: str, u: float) -> Shared:
        """The same with the doubt of where the window begins and ends."""
        if u <= 0:
            return shared
        window = Source(
            name=f"{self.run.id}.{stream}.window",
            u=u,
            scope="run",
            group=WATER,
            origin="window moved by 20 % at either end",
        )
        self.declare(window)
        return Shared(names=(*shared.names, window.name))

    def drop(
        self, p_tap: Doubted, water: Water, circuit: Circuit, inertia: Array, *, on_total: bool = True
    ) -> Drop:
        """The frozen drop of a stream."""
        return Drop(
            p_tap=p_tap,
            rho=water.density,
            height=self.height(circuit),
            area_tap=self.area_tap(circuit) if on_total else None,
            inertia=inertia,
            g=G_STANDARD,
        )

    def state(self, flow: Flow) -> str:
        """ "alone", or "together" when other circuits than this stream's flowed in the same run."""
        known = self.campaign.article.circuits
        flowing = {circuit for other in self.run.flows for circuit in other.circuits}
        apart = {circuit for circuit in flowing - set(flow.circuits) if known[circuit].down_tap is None}
        return "alone" if not apart or known[flow.circuits[0]].down_tap is not None else "together"


def _spread(one: Doubted, size: int) -> Doubted:
    """A single value with its terms, the same for every slice."""
    return Doubted(
        base=np.full(size, one.base[0]),
        terms=tuple((name, np.full(size, shape[0])) for name, shape in one.terms),
    )


def bore_area(circuit: Circuit) -> Stated:
    """Geometric area that Cd refers to [m2]: as stated, else of all bores (a swirl element's exit bore)."""
    if circuit.area is not None:
        return circuit.area
    bore = circuit.bore
    return Stated(
        value=circuit.count * np.pi / 4 * bore.value**2,
        u=circuit.count * np.pi / 2 * bore.value * bore.u,
        dist=bore.dist,
        origin="count × π/4 × bore²",
    )


def stream_of(flow: Flow) -> str:
    """Name of a stream: its circuits joined by "+"."""
    return "+".join(flow.circuits)


def stream_circuit(campaign: Campaign, flow: Flow) -> Circuit:
    """The circuit whose tap, bore and element stand for the stream: its own, or the first of a joint one.

    Raises:
        NoAnswer: a part of a feed without the pressure behind it.
    """
    circuit = campaign.article.circuits[flow.circuits[0]]
    measures = campaign.bench.instruments[flow.p_tap].measures
    if circuit.down_tap is not None and flow.p_back is None and measures != "drop":
        raise NoAnswer(
            f"part {circuit.id} ends at tap {circuit.down_tap}, and no `p_back` says the pressure there"
        )
    return circuit


def _static(bore: float) -> float | None:  # noqa: ARG001 - a static basis has no velocity head, whatever the bore
    return None


def _total(bore: float) -> float | None:
    return float(np.pi / 4 * bore**2)


BASES: Mapping[str, Callable[[float], float | None]] = {"static": _static, "total": _total}
