"""The engine and the carried characteristics, frozen into the chain. Every decision of the hot side is taken here.

Which characteristic is carried, which step from water to propellant, how far the Reynolds number lies outside what was
tested, where the feed's loss meets the injector's: all at nominal, once. Start at `Builder`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import log, pi, sqrt

import numpy as np

from headrace.bench.elements import ELEMENTS, regime
from headrace.bench.instruments import Conditions, at_work, corrected
from headrace.chain.density import FluidDensity
from headrace.chain.engine import (
    Balance,
    Chamber,
    HotCircuit,
    HotFeed,
    HotSide,
    StandGauge,
)
from headrace.chain.water import Reduced, WaterChain
from headrace.errors import Infeasible, InputError, Problem
from headrace.jobs.balance.between_models import gap_of
from headrace.jobs.balance.feed_parts import Composed, composed
from headrace.notices import Notice, Severity, spelled
from headrace.physics.combustion.table import CStarTable
from headrace.physics.contraction import ALLOYS, area_factor, u_area_factor
from headrace.physics.fluids import fluid
from headrace.physics.hydraulics.injector import element_re_ideal
from headrace.records.given import Campaign, Circuit, Engine, Instrument, Side, SideCircuit, Stated
from headrace.records.readings import Characteristic, characteristic_key
from headrace.uncertainty.source import Source

WATER_TEMP = 293.15
"""Metal temperature when the water ran, for contraction [K]; a few kelvin move the area by less than 0.02 %."""

FAR = 3.0
"""Times the highest pressure of a property table beyond which the table is not stretched any more."""


@dataclass(slots=True, kw_only=True)
class Builder:
    """Freezes one engine; gathers sources, notices and the assumptions that the sheet shows and the owner owns."""

    campaign: Campaign
    reduced: Reduced
    sources: dict[str, Source] = field(default_factory=dict)
    notices: list[Notice] = field(default_factory=list)
    assumptions: list[tuple[str, str, str]] = field(default_factory=list)
    carried: dict[str, Characteristic] = field(default_factory=dict)
    feeds: dict[str, Composed] = field(default_factory=dict)

    @property
    def engine(self) -> Engine:
        """The engine; asked for only once it is known to be there."""
        engine = self.campaign.engine
        if engine is None:
            raise InputError(
                (
                    Problem(
                        file="engine.toml",
                        line=None,
                        key="",
                        found="no engine.toml",
                        expected="the engine",
                        try_="describe chamber, c*, design point, tanks and feeds in engine.toml",
                    ),
                )
            )
        return engine

    def declare(
        self, name: str, u: float, dist: str, origin: str, group: str, scope: str = "model"
    ) -> str | None:
        """A source of the hot side; None when it is exact. Declared twice (a shared step), the larger one holds."""
        if u <= 0:
            return None
        known = self.sources.get(name)
        if known is None or known.u < u:
            self.sources[name] = Source(
                name=name, u=u, dist=dist, scope=scope, origin=origin or "as given", group=group
            )
        return name

    def stated(self, name: str, value: Stated, group: str, *, relative: bool = False) -> str | None:
        """The source of a stated value, absolute or relative to it."""
        u = value.u / abs(value.value) if relative and value.value else value.u
        return self.declare(name, u, value.dist, value.origin, group)

    def chamber(self) -> Chamber:
        """Throat, c* and efficiency."""
        engine = self.engine
        for name, value in (("throat.diameter", engine.d_throat), ("throat.discharge", engine.c_throat)):
            self._always(name, value.u, value.dist, value.origin)
        given = engine.c_star
        self._always("c_star.table", given.u_rel, "normal", given.origin)
        self._always("c_star.efficiency", given.efficiency.u, given.efficiency.dist, given.efficiency.origin)
        self._always(
            "stand.barometer", engine.ambient.u, engine.ambient.dist, engine.ambient.origin, "barometer"
        )
        table = CStarTable(of_ratio=given.of_ratio, p_chamber=given.p_chamber, c_star=given.c_star)
        return Chamber(
            d_throat=engine.d_throat.value,
            c_throat=engine.c_throat.value,
            table=table,
            efficiency=given.efficiency.value,
            film_counts=engine.film_counts,
        )

    def _always(self, name: str, u: float, dist: str, origin: str, group: str = "combustion") -> None:
        """A source that the chain always asks for, even when it is stated as exact (u = 0)."""
        self.sources[name] = Source(
            name=name, u=u, dist=dist, scope="model", origin=origin or "as given", group=group
        )

    def characteristic(self, circuit: SideCircuit, side: str) -> Characteristic:
        """The characteristic that a circuit carries: as the owner says, else alone if there is one."""
        states = (circuit.characteristic,) if circuit.characteristic else ("alone", "together")
        for state in states:
            found = self.reduced.characteristics.get(characteristic_key(circuit.id, state))
            if found is not None:
                self.carried[circuit.id] = found
                whose = "the owner" if circuit.characteristic else "alone where there is one, default"
                words = f"{found.area_eff.value * 1e6:.4g} mm2, measured {found.state}, runs {', '.join(found.runs)}"
                self.assumptions.append((f"{circuit.id}: effective area carried", words, whose))
                return found
        known = ", ".join(self.reduced.characteristics) or "none"
        raise Infeasible(
            side,
            f"circuit {circuit.id} has no effective area for {' or '.join(states)}; characteristics found: {known}",
        )

    def side(self, side: Side, *, p_tank: float, dp: float) -> HotSide:
        """Freeze one side near a nominal tank pressure and injector drop."""
        name = side.id
        liquid = fluid(side.propellant)
        temp = side.temperature.value
        self._check_liquid(side, p_tank)
        rho = float(liquid.rho(temp, p_tank))
        factor, rho_source = 1.0, None
        if side.density is not None:
            factor = side.density.value / float(liquid.rho(temp, self.engine.ambient.value))
            u = side.density.u / side.density.value
            rho_source = self.declare(
                f"{name}.density", u, side.density.dist, side.density.origin, "propellant"
            )
        else:
            u = liquid.u_rel("rho")
            rho_source = self.declare(f"{name}.density", u, "normal", liquid.source("rho"), "propellant")
        mu = float(liquid.mu(temp, p_tank))
        temp_source = self.stated(f"{name}.temperature", side.temperature, "propellant")
        circuits = tuple(self._circuit(one, side, rho=rho * factor, mu=mu, dp=dp) for one in side.circuits)
        taps = {self.campaign.article.circuits[one.id].tap for one in side.circuits}
        self._meet(side, taps)
        first = self.campaign.article.circuits[side.circuits[0].id]
        tap_height = self.campaign.bench.taps[first.tap].height.value - first.outlet_height.value
        return HotSide(
            id=name,
            density=FluidDensity(propellant=side.propellant, factor=factor),
            temp=temp,
            temp_source=temp_source,
            rho_source=rho_source,
            mu=mu,
            circuits=circuits,
            feed=self._feed(side, tap_height),
            p_guess=p_tank,
            tap_height=tap_height,
        )

    def _check_liquid(self, side: Side, p_tank: float) -> None:
        """Refuse what boils or lies outside its table in temperature; beyond the table in pressure is a doubt."""
        liquid, temp = fluid(side.propellant), side.temperature.value
        for fact in liquid.outside(temp=temp, p_abs=p_tank):
            if fact.code == "boils":
                raise Infeasible(
                    side.id,
                    f"{liquid.title} at {temp:.2f} K boils below {fact.low / 1e5:.3f} bar(a), and its tank would stand "
                    f"at {p_tank / 1e5:.3f} bar(a)",
                )
            if fact.code == "temp-outside":
                raise Infeasible(
                    side.id,
                    f"{liquid.title}: {temp:.2f} K is outside {fact.low:g} to {fact.high:g} "
                    "K, where its properties are known",
                )
            if p_tank > FAR * fact.high:
                raise Infeasible(
                    side.id,
                    f"its tank would stand at {p_tank / 1e5:.0f} bar(a); the properties of {liquid.title} are known "
                    f"to {fact.high / 1e5:g} bar(a)",
                )
            self.notices.append(
                Notice(
                    code="property-outside",
                    severity=Severity.DOUBT,
                    text=(
                        f"{liquid.title}: {p_tank / 1e5:.1f} bar(a) is outside "
                        f"{fact.low / 1e5:g} to {fact.high / 1e5:g} bar(a), "
                        "where its properties are known."
                    ),
                    facts=(("p_abs", p_tank), ("low", fact.low), ("high", fact.high)),
                    limit="range of the property table",
                    try_="look whether this tank pressure is meant",
                    about=f"{side.id} side",
                )
            )

    def _circuit(self, one: SideCircuit, side: Side, *, rho: float, mu: float, dp: float) -> HotCircuit:
        circuit = self.campaign.article.circuits[one.id]
        found = self.characteristic(one, side.id)
        temp = side.temperature.value
        ln_factor, sources = 0.0, []
        alloy = ALLOYS.get(circuit.alloy)
        if alloy is not None:
            shrunk = float(area_factor(alloy=alloy, temp=temp, temp_ref=WATER_TEMP))
            u = float(u_area_factor(alloy=alloy, temp=temp, temp_ref=WATER_TEMP))
            ln_factor += log(shrunk)
            sources.append(self.declare(f"{side.id}.contraction", u / shrunk, "normal", alloy.source, "step"))
            self.assumptions.append(
                (f"{one.id}: bores at {temp:.1f} K", f"area × {shrunk:.4f}, {circuit.alloy}", alloy.title)
            )
        step, ratio = self._step(one, circuit, found)
        sources.append(step)
        ln_factor += ratio
        re_hot = float(element_re_ideal(dp=dp, rho=rho, mu=mu, d_element=circuit.bore.value))
        sources.extend(self._beyond(one, found, re_hot))
        return HotCircuit(
            id=one.id,
            key=found.key,
            ln_re=log(re_hot),
            ln_factor=ln_factor,
            sources=tuple(name for name in sources if name is not None),
            film=one.film,
        )

    def _step(self, one: SideCircuit, circuit: Circuit, found: Characteristic) -> tuple[str | None, float]:
        """Name of the step's source and ln of its nominal ratio."""
        name = f"step: {one.shared_step}" if one.shared_step else f"{one.id}.step"
        if one.step_ratio is not None:
            value = one.step_ratio
            self.assumptions.append(
                (f"{one.id}: E_hot/E_water", value.text, value.origin or "the owner's firings")
            )
            return self.declare(name, value.u / value.value, value.dist, value.origin, "step"), log(
                value.value
            )
        if one.step is not None:
            if one.step == 0:
                self.notices.append(
                    Notice(
                        code="step-set-to-zero",
                        severity=Severity.DOUBT,
                        text=(
                            f"Circuit {one.id}: the step from water to propellant is set to exactly zero doubt. "
                            "It is usually the largest share of all; the intervals here leave it out."
                        ),
                        limit="the owner's engine.toml",
                        try_=(
                            "leave `step` out for the usual doubt of this element, or give "
                            "E_hot/E_water of own firings"
                        ),
                        about=f"circuit {one.id}",
                    )
                )
            self.assumptions.append(
                (f"{one.id}: step from water", f"{100 * one.step:.3g} % (k = 1)", "the owner")
            )
            return self.declare(name, one.step, "normal", one.origin or "the owner", "step"), 0.0
        element = ELEMENTS[circuit.element]
        limits = self.campaign.limits
        state = regime(
            cav=found.cav_least,
            doubtful_below=limits.cavitation_doubt,
            cavitating_below=limits.cavitation_stop,
            element=element,
        )
        u = element.step[state]
        if state != "clear":
            stop = state in element.stop
            self.notices.append(
                Notice(
                    code="step-from-doubtful-water",
                    severity=Severity.STOP if stop else Severity.DOUBT,
                    text=(
                        f"Circuit {one.id} ({element.title}): K fell to {found.cav_least:.2f} "
                        "in the water that is carried "
                        f"({state}); the step to the propellant is taken as {100 * u:.0f} % (k = 1)."
                    ),
                    facts=(("cav", found.cav_least), ("step", u)),
                    limit=(
                        f"K > {limits.cavitation_doubt:g} clear, K < {limits.cavitation_stop:g} "
                        "cavitating; owner's limits"
                    ),
                    try_="run with back-pressure or at a lower drop, or state `step` in engine.toml and own it",
                    about=f"circuit {one.id}",
                )
            )
        words = f"{100 * u:.3g} % (k = 1), {element.title}, water {state}"
        self.assumptions.append((f"{one.id}: step from water", words, "default, common practice"))
        return self.declare(
            name, u, "normal", "default by element kind and cavitation regime, common practice", "step"
        ), 0.0

    def _beyond(self, one: SideCircuit, found: Characteristic, re_hot: float) -> list[str | None]:
        """Sources for a Reynolds number that was not tested, and for a slope that was seen but not carried."""
        low, high = found.re_span
        distance = max(log(re_hot / high), log(low / re_hot), 0.0)
        out: list[str | None] = []
        if distance > 0:
            u = self.campaign.defaults.re_distance * distance
            out.append(
                self.declare(
                    f"{one.id}.re_distance", u, "normal", "beyond the tested Reynolds numbers", "step"
                )
            )
            self.notices.append(
                Notice(
                    code="re-outside",
                    severity=Severity.DOUBT if re_hot > 10 * high or re_hot < low / 10 else Severity.INFO,
                    text=(
                        f"Circuit {one.id}: Reynolds number {spelled(re_hot, 3)} in the engine, "
                        f"{spelled(low, 3)} to {spelled(high, 3)} in water; "
                        f"{100 * u:.2g} % (k = 1) added for the distance."
                    ),
                    facts=(("re", re_hot), ("re_low", low), ("re_high", high)),
                    limit="tested span of the water runs",
                    try_="run warm water, or at a higher drop with back-pressure",
                    about=f"circuit {one.id}",
                )
            )
        gap = gap_of(one.id, found, re_hot)
        if gap is not None:
            self.notices.append(gap.notice)
            u = gap.size / sqrt(3)
            out.append(self.declare(f"{one.id}.model", u, "rectangular", gap.origin, "step"))
        return out

    def _meet(self, side: Side, taps: set[str]) -> None:
        """Feed loss and injector area must meet at one tap on one basis, or the balance refuses."""
        feed = side.feed
        problems = []
        bases = {self.campaign.bench.taps[tap].basis for tap in taps}
        if taps != {feed.tap}:
            problems.append(("to_tap", feed.tap, f"the tap of its circuits, {', '.join(sorted(taps))}"))
        if bases != {feed.basis}:
            problems.append(("basis", feed.basis, f"the basis of that tap, {', '.join(sorted(bases))}"))
        if problems:
            raise InputError(
                tuple(
                    Problem(
                        file="engine.toml",
                        line=None,
                        key=f"{side.id}.feed.{key}",
                        found=found,
                        expected=expected,
                        try_="give the feed's area up to the tap at which the injector was measured, on the same basis",
                    )
                    for key, found, expected in problems
                )
            )

    def _feed(self, side: Side, tap_height: float) -> HotFeed:
        feed = side.feed
        area = feed.area_eff
        if feed.parts:
            return self._feed_of_parts(side, tap_height)
        if area is None:
            self.notices.append(
                Notice(
                    code="no-feed-loss",
                    severity=Severity.DOUBT,
                    text=f"The {side.id} feed has no loss in engine.toml; the tank pressure needed will be higher.",
                    limit="common practice: 20 to 100 % of the injector drop in small engines",
                    try_=f"give {side.id}.feed.area_eff from a water run through the real line",
                    about=f"{side.id} feed",
                )
            )
        source = None if area is None else self.stated(f"{side.id}.feed", area, "feed", relative=True)
        return HotFeed(
            area=None if area is None else area.value,
            source=source,
            friction=feed.friction if feed.bore and feed.re_stated else 0.0,
            re_per=4 / (pi * feed.bore) if feed.bore else 0.0,
            re_stated=feed.re_stated or 1.0,
            head=feed.head.value + tap_height,
            head_source=self.stated(f"{side.id}.head", feed.head, "propellant"),
        )

    def _feed_of_parts(self, side: Side, tap_height: float) -> HotFeed:
        """The feed from its own water runs: its sources are the chain's, so that what it shares cancels."""
        feed, whole = side.feed, composed(self.campaign, self.reduced, side)
        self.feeds[side.id] = whole
        names = " + ".join(
            "(" + " beside ".join(group) + ")" if len(group) > 1 else group[0] for group in whole.keys
        )
        runs = ", ".join(dict.fromkeys(run for one in whole.found.values() for run in one.runs))
        self.assumptions.append(
            (
                f"{side.id}: feed",
                f"{whole.area * 1e6:.4g} mm2 from {names}, runs {runs}",
                "water runs of its parts",
            )
        )
        return HotFeed(
            area=None,
            source=None,
            friction=feed.friction if feed.bore else 0.0,
            re_per=4 / (pi * feed.bore) if feed.bore else 0.0,
            re_stated=feed.re_stated or (whole.re_bore / feed.bore if feed.bore else 1.0),
            head=feed.head.value + tap_height,
            head_source=self.stated(f"{side.id}.head", feed.head, "propellant"),
            parts=whole.keys,
        )

    def dial(self, side: Side) -> Instrument | None:
        """The gauge by which a tank is set, of the stand or of the bench; None when it has none."""
        tag = side.tank.gauge
        return None if tag is None else {**self.campaign.bench.instruments, **self.engine.instruments}[tag]

    def gauge(self, side: Side, p_gauge: float) -> StandGauge:
        """The stand gauge by which a tank is set: its class as one error, its reading by eye apart."""
        instrument = self.dial(side)
        if instrument is None:
            self.notices.append(
                Notice(
                    code="no-stand-gauge",
                    severity=Severity.DOUBT,
                    text=(
                        f"The {side.id} tank has no gauge in engine.toml; its error is not in "
                        "the scatter of pc and O/F."
                    ),
                    try_=f"name the gauge in {side.id}.tank.gauge and describe it as an instrument",
                    about=f"{side.id} tank",
                )
            )
            return StandGauge(terms=())
        doubted, sources = at_work(
            instrument,
            np.array([p_gauge]),
            run="stand",
            zero=None,
            certificates=self.campaign.certificates,
            references=self.campaign.references,
            on=self.campaign.date,
            group="stand",
            conditions=Conditions(loggers=self.campaign.bench.loggers),
        )
        for source in sources:
            self.sources.setdefault(source.name, source)
        terms = [(name, float(shape[0])) for name, shape in doubted.terms]
        if instrument.division is not None:
            name = self.declare(
                f"{side.id}.{instrument.tag}.reading",
                instrument.division / 4 / sqrt(3),
                "rectangular",
                "read by eye",
                "stand",
                "run",
            )
            if name is not None:
                terms.append((name, 1.0))
        off = self.correction(side, p_gauge)
        if off:
            words = (
                f"shows {abs(off) / 1e5:.3g} bar {'less' if off > 0 else 'more'} than there is: allowed for"
            )
            origin = f"points of certificate {instrument.certificate}"
            self.assumptions.append((f"{side.id} tank gauge {instrument.tag}", words, origin))
        return StandGauge(terms=tuple(terms), off=off)

    def correction(self, side: Side, p_gauge: float) -> float:
        """True minus shown of a tank's gauge by its certificate, where it shows this, set from below [Pa]."""
        instrument, papers = self.dial(side), self.campaign.certificates
        paper = None if instrument is None else papers.get(instrument.certificate or "")
        if instrument is None or paper is None:
            return 0.0
        floor = self.engine.ambient.value if instrument.measures == "abs" else 0.0
        shown = np.array([p_gauge + floor])
        true = corrected(paper, shown, certificates=papers, on=self.campaign.date)
        return float((true - shown)[0])

    def shown(self, side: Side, p_gauge: float) -> float:
        """What a tank's gauge must show for a true pressure [Pa gauge]: its correction turned round."""
        out = p_gauge
        for _ in range(TURNS):
            out = p_gauge - self.correction(side, out)
        return out

    def rise(self, side: Side) -> tuple[float, tuple[str, ...]]:
        """Static minus flowing tank pressure [Pa] with its sources."""
        tank = side.tank
        names = (
            self.stated(f"{side.id}.droop", tank.droop, "stand"),
            self.stated(f"{side.id}.lockup", tank.lockup, "stand"),
        )
        return tank.droop.value + tank.lockup.value, tuple(name for name in names if name is not None)

    def all_sources(self, water: WaterChain) -> tuple[Source, ...]:
        """Sources of the water side that are needed, and of the hot side."""
        known: Mapping[str, Source] = {source.name: source for source in self.reduced.sources}
        needed = {name: known[name] for name in water.names}
        for name, source in self.sources.items():
            old = needed.get(name)
            needed[name] = source if old is None or source.u > old.u else old
        return tuple(needed.values())

    def wanted_characteristics(self) -> tuple[str, ...]:
        """Keys of the characteristics that are carried, each once."""
        own = (found.key for found in self.carried.values())
        parts = (key for whole in self.feeds.values() for key in whole.found)
        return tuple(dict.fromkeys((*own, *parts)))


def balance_of(
    sides: tuple[HotSide, HotSide], chamber: Chamber, *, p_start: float, m_start: tuple[float, float]
) -> Balance:
    """The frozen balance; its iteration count closes the nominal to rounding with reserve for the draws."""
    return Balance(sides=sides, chamber=chamber, iterations=ITERATIONS, p_start=p_start, m_start=m_start)


TURNS = 8
"""A correction changes by a few per cent of what the gauge does, so that each turn gains more than a digit."""

ITERATIONS = 9
"""Each iteration gains about a factor of 30 in this balance, so that draws 20 % away still close to rounding."""
