"""The invented scenario that `headrace demo` shows: one injector head, one bench, two days of water runs.

About 25 kN, liquid oxygen and kerosene, 60 pressure-swirl elements with both circuits in each. Nothing of it exists.
The bench has the faults that real ones have, and the crew left the spoilt runs out and wrote down why. Start at
`write`.
"""

import datetime
import json
from pathlib import Path

from headrace.demo.simulator.campaign import Truth, write_campaign
from headrace.demo.simulator.instruments import Device, Paper, Standard
from headrace.demo.simulator.plan import (
    CircuitPlan,
    EnginePlan,
    Faults,
    LinePlan,
    MeterPlan,
    Plan,
    RunPlan,
    SidePlan,
    Stream,
    VesselPlan,
)
from headrace.demo.simulator.said import Said

SEED = 64
BAR = 1e5

FIRST_DAY = datetime.date(2026, 3, 12)
SECOND_DAY = datetime.date(2026, 3, 13)

TESTER = Standard(id="DWT-2", of_reading=2e-4)


def _paper(name: str, bend: tuple[float, float] | None = None) -> Paper:
    return Paper(
        id=name,
        date=datetime.date(2025, 11, 20),
        of_reading=6e-4,
        of_span=3e-4,
        standard=TESTER,
        bend=bend,
    )


def _cell(tag: str, high: float, paper: Paper) -> Device:
    return Device(
        tag=tag,
        measures="drop",
        low=0.0,
        high=high,
        unit="mbar",
        limits=1e-3,
        drift=5e-4,
        lag=0.008,
        paper=paper,
    )


def _gauge(
    tag: str,
    high: float,
    limits: float,
    paper: Paper | None = None,
    signal: tuple[float, float] | None = None,
) -> Device:
    return Device(
        tag=tag,
        measures="gauge",
        low=0.0,
        high=high,
        unit="bar",
        limits=limits,
        drift=5e-4 if paper else 0.0,
        lag=0.008,
        paper=paper,
        signal=signal,
    )


def _dial(tag: str, high: float, limits: float, division: float) -> Device:
    return Device(tag=tag, measures="gauge", low=0.0, high=high, unit="bar", limits=limits, division=division)


def _thermometer(tag: str) -> Device:
    return Device(
        tag=tag, measures="temperature", low=273.15, high=323.15, unit="degC", absolute=0.3, steps=8192
    )


def _devices() -> tuple[Device, ...]:
    return (
        _cell("DP-A", 1.6 * BAR, _paper("C-101", (1e-4, 2.5e-4))),
        _cell("DP-B", 3.0 * BAR, _paper("C-102")),
        _gauge("P1-A", 16 * BAR, 2.5e-3),
        _gauge("P1-B", 16 * BAR, 2.5e-3),
        _gauge("PM-OX", 10 * BAR, 1e-3, _paper("C-103")),
        _gauge("PM-FUEL", 10 * BAR, 1e-3, _paper("C-104"), signal=(4e-3, 20e-3)),
        _thermometer("TW-A"),
        _thermometer("TW-B"),
        _dial("PG-HAND", 10 * BAR, 1e-2, 0.1 * BAR),
        Device(tag="SCALE-1", measures="mass", low=0.0, high=300.0, unit="kg", of_reading=5e-4),
    )


def _lines() -> tuple[LinePlan, ...]:
    c = Said(value=0.9885, half=0.006, k=2, share=True)
    pipe = Said(value=52.48, unit="mm", half=0.03)
    wide = MeterPlan(
        id="FV-A", dp="DP-A", p_up="P1-A", d_pipe=pipe, d_throat=Said(value=26.02, unit="mm", half=0.01), c=c
    )
    narrow = MeterPlan(
        id="FV-B", dp="DP-B", p_up="P1-B", d_pipe=pipe, d_throat=Said(value=21.63, unit="mm", half=0.01), c=c
    )
    return (
        LinePlan(id="A", meter=wide, thermometer="TW-A", vessel="WV-A"),
        LinePlan(id="B", meter=narrow, thermometer="TW-B", vessel="WV-B"),
        LinePlan(id="C", meter=None, thermometer="TW-A", vessel="WV-A"),
    )


def _vessels() -> tuple[VesselPlan, ...]:
    water = Said(value=0.4, unit="m3", half=0.01, share=True)
    section = Said(value=0.283, unit="m2", half=0.005, share=True)
    air = Said(value=0.8, unit="m3", half=0.01, share=True)
    return (
        VesselPlan(
            id="WV-A", content="water", volume=water, section=section, below="-188 L", pushed_by="AV-1"
        ),
        VesselPlan(
            id="WV-B", content="water", volume=water, section=section, below="-188 L", pushed_by="AV-2"
        ),
        VesselPlan(id="AV-1", content="air", volume=air),
        VesselPlan(id="AV-2", content="air", volume=air),
    )


def _circuits() -> tuple[CircuitPlan, ...]:
    height = Said(value=0.35, unit="m", half=5.0, doubt_unit="mm")
    outlet = Said(value=0.30, unit="m")
    return (
        CircuitPlan(
            id="ox",
            area_eff=2.31e-4,
            spread=0.0,
            gauge="PM-OX",
            tap="T-OX",
            tap_height=height,
            tap_bore=Said(value=40.0, unit="mm"),
            outlet_height=outlet,
            bore=Said(value=3.40, unit="mm", half=0.02),
            alloy="austenitic-steel",
            together=0.997,
        ),
        CircuitPlan(
            id="fuel",
            area_eff=1.243e-4,
            spread=0.0,
            gauge="PM-FUEL",
            tap="T-FUEL",
            tap_height=height,
            tap_bore=Said(value=32.0, unit="mm"),
            outlet_height=outlet,
            bore=Said(value=2.60, unit="mm", half=0.02),
            alloy="austenitic-steel",
            together=0.998,
        ),
    )


def _engine() -> EnginePlan:
    ox = SidePlan(
        propellant="lox",
        circuit="ox",
        temperature=Said(value=90.5, unit="K", half=0.5),
        density=None,
        mu=1.93e-4,
        step=None,
        feed_area=Said(value=4.1e-4, unit="m2", half=0.02, share=True),
        friction=Said(value=40, unit="%"),
        feed_bore=Said(value=40.0, unit="mm"),
        feed_re=1.8e5,
        head=Said(value=1.8, unit="m", half=0.3),
        gauge=_dial("PG-OX", 40 * BAR, 6e-3, 0.5 * BAR),
    )
    fuel = SidePlan(
        propellant="kerosene",
        circuit="fuel",
        temperature=Said(value=288.0, unit="K", half=3.0),
        density=Said(value=806.0, unit="kg/m3", half=1.5),
        mu=1.63e-3,
        step=None,
        feed_area=Said(value=2.1e-4, unit="m2", half=0.02, share=True),
        friction=Said(value=40, unit="%"),
        feed_bore=Said(value=32.0, unit="mm"),
        feed_re=1.1e5,
        head=Said(value=1.2, unit="m", half=0.3),
        gauge=_dial("PG-FUEL", 40 * BAR, 6e-3, 0.5 * BAR),
    )
    return EnginePlan(
        d_throat=Said(value=106.4, unit="mm", half=0.05),
        c_throat=Said(value=0.985, half=0.005),
        ambient=Said(value=1013.0, unit="mbar", half=5.0, mark="(a)"),
        of_ratio=(2.0, 2.2, 2.4, 2.6),
        c_star=(1779.65, 1788.53, 1786.2, 1775.9),
        c_star_doubt=0.005,
        efficiency=Said(value=0.93, half=0.02, k=1),
        p_chamber=Said(value=20.0, unit="bar", mark="(a)"),
        design_of=2.2,
        sides={"ox": ox, "fuel": fuel},
        origin="equilibrium calculation for liquid oxygen and kerosene (invented campaign)",
    )


def _run(
    name: str,
    day: datetime.date,
    bars: float,
    *streams: tuple[str, str],
    flowing: float = 10.0,
    dialect: str = "semicolon",
    hour: int = 9,
    method: str = "metered",
    scale: str | None = None,
    level: bool = False,
    faults: Faults | None = None,
    exclude: str | None = None,
) -> RunPlan:
    warm = Said(value=14.6 if day == FIRST_DAY else 16.3, unit="degC", half=0.5, doubt_unit="K")
    air = Said(value=1009.0 if day == FIRST_DAY else 1004.0, unit="mbar", half=1.0, mark="(a)")
    return RunPlan(
        id=name,
        date=day,
        streams=tuple(Stream(circuit=circuit, lines=tuple(lines)) for circuit, lines in streams),
        p_start=bars * BAR,
        flowing=flowing,
        water=warm,
        ambient=air,
        method=method,
        rate=100.0,
        before=2.0,
        after=2.0,
        dialect=dialect,
        hour=hour,
        scale=scale,
        level=level,
        faults=faults or Faults(),
        exclude=exclude,
    )


def _runs() -> tuple[RunPlan, ...]:
    return (
        _run("W01", FIRST_DAY, 6.8, ("ox", "A"), level=True, hour=8),
        _run("W02", FIRST_DAY, 5.2, ("ox", "A"), hour=9),
        _run("W03", FIRST_DAY, 5.3, ("fuel", "B"), dialect="iso", level=True, hour=10),
        _run("W04", FIRST_DAY, 4.1, ("fuel", "B"), dialect="iso", hour=10),
        _run(
            "W05",
            FIRST_DAY,
            5.7,
            ("ox", "A"),
            hour=11,
            faults=Faults(leak=2.6e-5),
            exclude="seal between the circuits leaked: the fuel manifold showed pressure; seal replaced after this run",
        ),
        _run(
            "W06",
            FIRST_DAY,
            5.4,
            ("ox", "A"),
            hour=12,
            faults=Faults(air_leg=("DP-A", 0.45)),
            exclude="air in an impulse leg of DP-A: its zero came back shifted; leg bled after this run",
        ),
        _run("W07", FIRST_DAY, 6.3, ("ox", "B"), dialect="tab-clock", hour=13),
        _run("W08", FIRST_DAY, 4.8, ("fuel", "A"), dialect="tab-clock", hour=14),
        _run("W09", SECOND_DAY, 4.6, ("ox", "A"), hour=8),
        _run("W10", SECOND_DAY, 6.0, ("fuel", "B"), dialect="iso", hour=9),
        _run("W11", SECOND_DAY, 5.6, ("ox", "A"), ("fuel", "B"), dialect="tab-clock", flowing=8.0, hour=10),
        _run(
            "W12",
            SECOND_DAY,
            5.8,
            ("ox", "A"),
            hour=11,
            faults=Faults(breakthrough=6.5),
            exclude="gas came through before the valve was shut: the vessel had not been refilled",
        ),
        _run(
            "W13",
            SECOND_DAY,
            4.9,
            ("fuel", "B"),
            dialect="iso",
            hour=12,
            faults=Faults(clock_jump=(5.0, 3.2), spoilt_lines=3),
            exclude="the logger's clock jumped in the middle of the run and lines are damaged",
        ),
        _run("W14", SECOND_DAY, 5.6, ("ox", "C"), method="weighed", scale="SCALE-1", hour=13),
        _run("W15", SECOND_DAY, 4.9, ("fuel", "C"), method="by-hand", level=True, flowing=14.0, hour=14),
        _run("W16", SECOND_DAY, 4.6, ("fuel", "B"), dialect="iso", hour=15),
    )


def plan() -> Plan:
    """The whole scenario."""
    return Plan(
        name="Heron water campaign (invented)",
        serial="H-03",
        date=datetime.date(2026, 3, 14),
        signers=("A. Example", "B. Example"),
        devices=_devices(),
        lines=_lines(),
        vessels=_vessels(),
        circuits=_circuits(),
        engine=_engine(),
        runs=_runs(),
        log_all=True,
        ledger=True,
        columns={
            "DP-A": "dp venturi A",
            "DP-B": "dp venturi B",
            "P1-A": "p line A",
            "P1-B": "p line B",
            "PM-OX": "p ox manifold",
            "PM-FUEL": "fuel manifold",
            "TW-A": "water A",
            "TW-B": "water B",
        },
    )


def write(directory: Path) -> Truth:
    """Write the demo's campaign folder, and beside it truth.json with what a real crew could never know.

    Args:
        directory: the campaign folder, made when missing.
    Returns:
        The truth; the same on every call.
    """
    truth = write_campaign(directory, plan(), SEED)
    text = json.dumps(truth.as_json(), indent=1, ensure_ascii=False)
    (directory / "truth.json").write_text(text + "\n", encoding="utf-8")
    return truth
