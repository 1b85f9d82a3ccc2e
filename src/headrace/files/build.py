"""Validated tables of campaign, bench, certificates, article and engine to the records of `records.given`.

Nothing is refused here.
"""

from collections.abc import Iterable
from dataclasses import replace

from headrace.bench.meters import METERS
from headrace.bench.pairs import PAIRS, pair_of, pair_tag
from headrace.files.effects import effects_of, loggers
from headrace.files.schema.article import ArticleTable, CircuitTable, PartTable
from headrace.files.schema.bench import BenchTable, MeterTable
from headrace.files.schema.campaign import CampaignTable
from headrace.files.schema.certificates import CertificatesTable
from headrace.files.schema.engine import EngineTable, SideTable
from headrace.files.schema.instruments import InstrumentTable
from headrace.records.given import (
    Accuracy,
    Article,
    Bench,
    Circuit,
    CStarGiven,
    Defaults,
    Design,
    Engine,
    Feed,
    Instrument,
    Limits,
    Line,
    MeterGiven,
    Reference,
    Side,
    SideCircuit,
    Stated,
    Tank,
    Tap,
    Valve,
    Vessel,
)
from headrace.units import UNITS, Dimension


def said_by(stated: Stated, origin: str) -> Stated:
    """The same number with its origin; a default keeps its own."""
    return stated if stated.origin else replace(stated, origin=origin)


def limits(table: CampaignTable) -> Limits:
    """The owner's limits."""
    given = table.limits
    return Limits(injector_drop=given.injector_drop, vapour_margin=given.vapour_margin,
                  cavitation_doubt=given.cavitation_doubt, cavitation_stop=given.cavitation_stop,
                  tare_shift=given.tare_shift, window=given.window, re_span=given.re_span)  # fmt: skip


def defaults(table: CampaignTable) -> Defaults:
    """The owner's default doubts."""
    given = table.defaults
    return Defaults(run_to_run=given.run_to_run, day_to_day=given.day_to_day, re_distance=given.re_distance,
                    water_density=given.water_density, lag=given.lag,
                    polytropic=(given.polytropic.value, given.polytropic.u),
                    coverage=given.coverage, draws=given.draws)  # fmt: skip


def instrument(table: InstrumentTable, file: str) -> Instrument:
    """A transmitter, gauge, thermometer or scale."""
    low, high = table.range
    signal, signal_unit = None, ""
    if table.signal is not None:
        signal = table.signal[:2]
        signal_unit = UNITS[Dimension(table.signal[2])][0].name
    return Instrument(
        tag=table.tag, measures=table.measures, low=low, high=high, accuracy=table.accuracy,
        certificate=table.certificate, drift=_of_span(table.drift, low, high), division=table.division,
        lag=table.lag and said_by(table.lag, f"{file}, instrument {table.tag}, lag"),
        filter=table.filter and said_by(table.filter, f"{file}, instrument {table.tag}, filter"),
        skew=table.skew and said_by(table.skew, f"{file}, instrument {table.tag}, skew"),
        height=table.height and said_by(table.height, f"{file}, instrument {table.tag}, height"),
        leg=table.leg, signal=signal, signal_unit=signal_unit, effects=effects_of(table),
        origin=f"{file}, instrument {table.tag}",
    )  # fmt: skip


def _of_span(drift: Accuracy | None, low: float, high: float) -> float | None:
    """Drift in all at the upper end, over the span."""
    if drift is None:
        return None
    span = high - low
    return drift.of_span + drift.absolute / span + drift.of_reading * max(abs(low), abs(high)) / span


def instruments(tables: Iterable[InstrumentTable], file: str) -> dict[str, Instrument]:
    """All instruments of one file by tag."""
    return {table.tag: instrument(table, file) for table in tables}


def _meter(table: MeterTable) -> MeterGiven:
    kind = METERS[table.kind]
    values: dict[str, Stated] = {}
    for one in kind.fields:
        stated = getattr(table, one.name)
        if stated is not None:
            values[one.name] = said_by(stated, f"bench.toml, meter {table.id}, {one.name}")
    roles = {kind.role: getattr(table, kind.role)}
    if (pair := _pair(table)) is not None:
        roles = {kind.role: pair_tag(*pair), "p_up": pair[0]}
    if table.p_up:
        roles["p_up"] = table.p_up
    return MeterGiven(id=table.id, kind=table.kind, values=values, instruments=roles, certificate=table.certificate,
                      edition=table.edition, origin=f"bench.toml, meter {table.id}")  # fmt: skip


def _pair(table: MeterTable) -> tuple[str, str] | None:
    """Tags of the two gauges that stand in for the meter's own instrument."""
    high, low = (getattr(table, name, None) for name in PAIRS.get(METERS[table.kind].role, ("", "")))
    return (high, low) if high and low else None


def bench(table: BenchTable) -> Bench:
    """The bench. Two gauges in place of one transmitter stand as one more instrument, their difference."""
    held = instruments(table.instrument, "bench.toml")
    for pair in filter(None, map(_pair, table.meter)):
        if held.keys() >= set(pair):  # what points to nothing is told elsewhere
            held[pair_tag(*pair)] = pair_of(*(held[tag] for tag in pair))
    return Bench(
        instruments=held,
        meters={one.id: _meter(one) for one in table.meter},
        lines={
            one.id: Line(id=one.id, meter=one.meter, temperature=one.temperature, bore=one.bore, vessel=one.vessel,
                         inertance=one.inertance.value if one.inertance else 0.0,
                         inertance_u=one.inertance.u if one.inertance else 0.0,
                         trapped_gas=one.trapped_gas
                         and said_by(one.trapped_gas, f"bench.toml, line {one.id}, trapped_gas"))
            for one in table.line
        },
        taps={
            one.id: Tap(id=one.id, height=said_by(one.height, f"bench.toml, tap {one.id}, height"), bore=one.bore,
                        basis=one.basis)
            for one in table.tap
        },
        vessels={
            one.id: Vessel(
                id=one.id, content=one.content, rating=one.rating, relief=one.relief, below=one.below,
                gauge=one.gauge, pushed_by=one.pushed_by,
                volume=said_by(one.volume, f"bench.toml, vessel {one.id}, volume"),
                section=one.section and said_by(one.section, f"bench.toml, vessel {one.id}, section"),
            )
            for one in table.vessel
        },
        loggers=loggers(table),
        valves={
            one.id: Valve(id=one.id, between=(one.between[0], (*one.between, "")[1])) for one in table.valve
        },
    )  # fmt: skip


def references(table: CertificatesTable) -> dict[str, Reference]:
    """The reference standards."""
    return {
        one.id: Reference(
            id=one.id,
            of_reading=one.accuracy.of_reading + one.accuracy.of_span + one.accuracy.absolute,
            origin=one.origin or f"certificates.toml, reference {one.id}",
        )
        for one in table.reference
    }


def _circuit(table: CircuitTable) -> Circuit:
    origin = f"article.toml, circuit {table.id}"
    area = table.area and said_by(table.area, f"{origin}, area")
    return Circuit(
        id=table.id, element=table.element, count=table.count, bore=said_by(table.bore, f"{origin}, bore"),
        area=area, tap=table.tap, outlet_height=said_by(table.outlet_height, f"{origin}, outlet_height"),
        alloy=table.alloy,
    )  # fmt: skip


def _part(table: PartTable) -> Circuit:
    """A part of a feed; how high its taps stand is the bench's."""
    return Circuit(
        id=table.id, element=table.kind, count=1, bore=said_by(table.bore, f"article.toml, part {table.id}, bore"),
        area=None, tap=table.tap, outlet_height=Stated(value=0.0), alloy="none", down_tap=table.down_tap,
    )  # fmt: skip


def article(table: ArticleTable) -> Article:
    """The injector."""
    circuits = {one.id: _circuit(one) for one in table.circuit}
    return Article(serial=table.serial, circuits=circuits | {one.id: _part(one) for one in table.part})


def _side(table: SideTable, side: str) -> Side:
    origin = f"engine.toml, {side}"
    feed, tank = table.feed, table.tank
    return Side(
        id=side,
        propellant=table.propellant,
        temperature=said_by(table.temperature, f"{origin}, temperature"),
        density=table.density and said_by(table.density, f"{origin}, density"),
        circuits=tuple(
            SideCircuit(
                id=one.id, characteristic=one.characteristic, step=one.step,
                step_ratio=one.step_ratio and said_by(one.step_ratio, f"{origin}, circuit {one.id}, step_ratio"),
                shared_step=one.shared_step, film=one.film, origin=f"{origin}, circuit {one.id}",
            )
            for one in table.circuit
        ),
        feed=Feed(
            area_eff=feed.area_eff and said_by(feed.area_eff, f"{origin}, feed, area_eff"), tap=feed.to_tap,
            basis=feed.basis, friction=feed.friction, bore=feed.bore, re_stated=feed.re,
            head=said_by(feed.head, f"{origin}, feed, head"),
            parts=tuple((one,) if isinstance(one, str) else tuple(one) for one in feed.parts),
        ),
        tank=Tank(
            rating=tank.rating, relief=tank.relief, gauge=tank.gauge,
            droop=said_by(tank.droop, f"{origin}, tank, droop"),
            lockup=said_by(tank.lockup, f"{origin}, tank, lockup"), setting=tank.setting,
        ),
    )  # fmt: skip


def engine(table: EngineTable) -> Engine:
    """The engine and its stand."""
    chamber, c_star, design = table.chamber, table.c_star, table.design
    tabled = c_star.value is None
    return Engine(
        d_throat=said_by(chamber.d_throat, "engine.toml, chamber, d_throat"),
        c_throat=said_by(chamber.c_throat, "engine.toml, chamber, c_throat"),
        ambient=said_by(chamber.ambient, "engine.toml, chamber, ambient"),
        c_star=CStarGiven(
            of_ratio=tuple(c_star.of_ratio) if tabled else (design.of_ratio,),
            p_chamber=tuple(c_star.p_chamber) if tabled else (design.p_chamber or 1e6,),
            c_star=tuple(map(tuple, c_star.table)) if c_star.value is None else ((c_star.value,),),
            u_rel=c_star.doubt,
            efficiency=said_by(c_star.efficiency, "engine.toml, c_star, efficiency"),
            origin=c_star.origin,
        ),
        design=Design(p_chamber=design.p_chamber, m_dot=design.m_dot, of_ratio=design.of_ratio),
        sides={"ox": _side(table.ox, "ox"), "fuel": _side(table.fuel, "fuel")},
        film_counts=True if design.film_counts is None else design.film_counts,
        instruments=instruments(table.instrument, "engine.toml"),
    )  # fmt: skip
