"""A small invented campaign for recovery tests: two circuits, short runs, every doubt drawn as it is stated.

`write_mini(directory, seed, ...)` writes the folder and tells the truth of it. What a knob leaves out is left out of
the folder as well, so that claims and draws keep the same sizes. Nothing here reads results: that is the tests' part.
"""

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from headrace.demo.simulator.campaign import Truth, write_campaign
from headrace.demo.simulator.instruments import Device, Paper, Standard
from headrace.demo.simulator.plan import (
    CircuitPlan,
    Doubts,
    EnginePlan,
    LinePlan,
    MeterPlan,
    Plan,
    RunPlan,
    SidePlan,
    Stream,
    VesselPlan,
)
from headrace.demo.simulator.said import Said

BAR = 1e5
CERTIFIED = datetime.date(2025, 12, 1)
TESTER = Standard(id="DWT-9", of_reading=6e-4)


def write_mini(directory: Path, seed: int, **knobs: Any) -> Truth:
    """Write a small campaign; knobs as of `mini_plan`."""
    return write_campaign(directory, mini_plan(**knobs), seed)


def mini_plan(
    *,
    runs: int = 2,
    lines: int = 1,
    days: int = 2,
    certified: bool = True,
    shared: bool = True,
    step: float | None = 0.0,
    drift: float = 4e-4,
    slope: float = 0.0,
    basis: str = "static",
    measured_density: bool = True,
    rate: float = 40.0,
    flowing: float = 6.0,
    dialect: str = "plain",
    methods: tuple[str, ...] = ("metered",),
    joined: bool = False,
    draws: int = 2000,
    factors: Mapping[str, float] | None = None,
    doubts: Doubts | None = None,
) -> Plan:
    """A plan of 2 circuits times `runs` runs.

    Args:
        lines: 1: both circuits through line A in turn; 2: ox through A, fuel through B.
        days: the runs of a circuit are dealt over so many days.
        certified: cells and gauges have certificates (k = 2); else their class is all there is.
        shared: the certificates rest on one reference standard, named in them.
        step: stated doubt (k = 1) of the step from water to propellant, which is drawn from it; 0.0: known to be 1;
            None: not stated, so the usual one of the element kind.
        slope: true d ln E / d ln Re in water. basis: "static" or "total", of taps and feeds.
        measured_density: batch densities in engine.toml; else liquid oxygen by table.
        methods: dealt over the runs of a circuit: "metered", "weighed" (SCALE-1), "by-hand" (PG-HAND, sight tube).
        joined: both lines feed every circuit at once (with lines=2). draws: as campaign.toml asks for.
        factors: broken promises, see `Draws`; {"*": 0.0} is a campaign without any error.
    """
    devices = _devices(lines=lines, certified=certified, shared=shared, drift=drift, methods=methods)
    line_plans = tuple(_line(name, f"WV-{name}" if joined else "WV-A") for name in "AB"[:lines])
    circuits = (
        _circuit("ox", 2.31e-4, 40.0, 3.4, slope, basis),
        _circuit("fuel", 1.243e-4, 32.0, 2.6, slope, basis),
    )
    plans = []
    for index in range(runs):
        for circuit in circuits:
            own = "B" if lines == 2 and circuit.id == "fuel" else "A"
            method = methods[index % len(methods)]
            day = datetime.date(2026, 3, 10) + datetime.timedelta(days=index % days)
            plans.append(
                RunPlan(
                    id=f"W{len(plans) + 1:02d}",
                    date=day,
                    streams=(Stream(circuit=circuit.id, lines=("A", "B") if joined else (own,)),),
                    method=method,
                    scale="SCALE-1" if method == "weighed" else None,
                    level=method == "by-hand",
                    p_start=(6.2, 5.0, 5.6, 4.4)[index % 4] * BAR,
                    flowing=flowing,
                    water=Said(value=17.0, unit="degC", half=0.5, doubt_unit="K"),
                    ambient=Said(value=1007.0, unit="mbar", half=1.0, mark="(a)"),
                    rate=rate,
                    dialect=dialect,
                )
            )
    return Plan(
        name="small invented campaign",
        serial="M-1",
        date=datetime.date(2026, 3, 14),
        devices=devices,
        lines=line_plans,
        vessels=tuple(
            VesselPlan(
                id=name,
                content="water",
                volume=Said(value=0.4, unit="m3"),
                section=Said(value=0.283, unit="m2"),
            )
            for name in ("WV-A", "WV-B")[: 2 if joined else 1]
        ),
        circuits=circuits,
        engine=_engine(step=step, measured_density=measured_density),
        runs=tuple(plans),
        doubts=doubts or Doubts(),
        factors=factors or {},
        default_draws=draws,
    )


def _devices(
    *, lines: int, certified: bool, shared: bool, drift: float, methods: tuple[str, ...]
) -> tuple[Device, ...]:
    def paper(name: str) -> Paper | None:
        if not certified:
            return None
        return Paper(
            id=name, date=CERTIFIED, of_reading=1e-3, of_span=8e-4, standard=TESTER if shared else None
        )

    ends = {"A": 1.2 * BAR, "B": 1.2 * BAR}
    cells = [
        Device(
            tag=f"DP-{name}",
            measures="drop",
            low=0.0,
            high=ends[name],
            unit="mbar",
            limits=2e-3,
            paper=paper(f"C-{name}"),
            drift=drift,
        )
        for name in "AB"[:lines]
    ]
    gauges = [
        Device(
            tag=f"PM-{name}",
            measures="gauge",
            low=0.0,
            high=8 * BAR,
            unit="bar",
            limits=2e-3,
            paper=paper(f"C-{name}"),
            drift=drift,
        )
        for name in ("OX", "FUEL")
    ]
    thermometers = [
        Device(
            tag=f"TW-{name}",
            measures="temperature",
            low=273.15,
            high=323.15,
            unit="degC",
            absolute=0.3,
            steps=8192,
        )
        for name in "AB"[:lines]
    ]
    scale = Device(tag="SCALE-1", measures="mass", low=0.0, high=300.0, unit="kg", of_reading=5e-4)
    dial = Device(
        tag="PG-HAND",
        measures="gauge",
        low=0.0,
        high=10 * BAR,
        unit="bar",
        limits=1e-2,
        division=0.1 * BAR,
    )
    extra = [device for method, device in (("weighed", scale), ("by-hand", dial)) if method in methods]
    return (*cells, *gauges, *thermometers, *extra)


def _line(name: str, vessel: str) -> LinePlan:
    throat = {"A": 26.02, "B": 21.04}[name]
    meter = MeterPlan(
        id=f"FV-{name}",
        dp=f"DP-{name}",
        p_up=None,
        d_pipe=Said(value=52.48, unit="mm", half=0.05),
        d_throat=Said(value=throat, unit="mm", half=0.02),
        c=Said(value=0.9885, half=0.006, k=2, share=True),
    )
    return LinePlan(id=name, meter=meter, thermometer=f"TW-{name}", vessel=vessel)


def _circuit(name: str, area_eff: float, tap: float, bore: float, slope: float, basis: str) -> CircuitPlan:
    return CircuitPlan(
        id=name,
        area_eff=area_eff,
        gauge=f"PM-{name.upper()}",
        tap=f"T-{name.upper()}",
        tap_height=Said(value=0.50, unit="m", half=10.0, doubt_unit="mm"),
        tap_bore=Said(value=tap, unit="mm"),
        outlet_height=Said(value=0.30, unit="m"),
        bore=Said(value=bore, unit="mm"),
        slope=slope,
        basis=basis,
    )


def _engine(*, step: float | None, measured_density: bool) -> EnginePlan:
    def gauge(name: str) -> Device:
        return Device(tag=name, measures="gauge", low=0.0, high=40 * BAR, unit="bar", limits=6e-3)

    sides = {
        "ox": SidePlan(
            propellant="lox",
            circuit="ox",
            temperature=Said(value=90.5, unit="K", half=0.5),
            density=Said(value=1140.0, unit="kg/m3", half=3.0) if measured_density else None,
            mu=1.93e-4,
            step=step,
            feed_area=Said(value=4.1e-4, unit="m2", half=0.02, share=True),
            head=Said(value=1.8, unit="m", half=0.3),
            gauge=gauge("PG-OX"),
        ),
        "fuel": SidePlan(
            propellant="kerosene",
            circuit="fuel",
            temperature=Said(value=288.0, unit="K", half=3.0),
            density=Said(value=806.0, unit="kg/m3", half=2.0),
            mu=1.63e-3,
            step=step,
            feed_area=Said(value=2.1e-4, unit="m2", half=0.02, share=True),
            head=Said(value=1.2, unit="m", half=0.3),
            gauge=gauge("PG-FUEL"),
        ),
    }
    return EnginePlan(
        d_throat=Said(value=106.4, unit="mm", half=0.05),
        c_throat=Said(value=0.985, half=0.005),
        ambient=Said(value=1013.0, unit="mbar", half=5.0, mark="(a)"),
        c_star=(1785.0,),
        c_star_doubt=0.005,
        efficiency=Said(value=0.93, half=0.02, k=1),
        p_chamber=Said(value=20.0, unit="bar", mark="(a)"),
        design_of=2.2,
        sides=sides,
    )
