"""Small invented campaigns made straight as records: a run's record is computed backwards from a known effective area.

No noise, no zero shift unless asked for: what `reduce` makes of them has a closed form. Start at `campaign`, `metered`.
"""

import datetime
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from headrace.physics.fluids import fluid
from headrace.records.given import (
    Accuracy,
    Article,
    Bench,
    Campaign,
    Certificate,
    Circuit,
    CStarGiven,
    Defaults,
    Design,
    Engine,
    Feed,
    Flow,
    HandReading,
    Instrument,
    Limits,
    Line,
    MeterGiven,
    Origin,
    Reference,
    RunGiven,
    Side,
    SideCircuit,
    Stated,
    Tank,
    Tap,
    Total,
    Trace,
    Vessel,
)

Array = NDArray[np.float64]

BAR = 1e5
G = 9.80665
AMBIENT = 1.01e5
WARM = 290.65
DAY = datetime.date(2026, 3, 12)
ORIGIN = Origin(file="runs/W01/W01.csv", sha256="0" * 64)
RISE = 0.2  # tap above outlet [m]
D_PIPE, D_THROAT, C = 0.05, 0.025, 0.98
ON = (3.0, 9.0)
TIME = np.arange(0.0, 13.0, 0.05)
FLOWING = (ON[0] <= TIME) & (ON[1] >= TIME)


def instrument(tag: str, measures: str, high: float, **changes: Any) -> Instrument:
    """An instrument of class 0.1 % of span, limits."""
    one = Instrument(
        tag=tag,
        measures=measures,
        low=0.0,
        high=high,
        accuracy=Accuracy(of_span=1e-3 / 3**0.5, text="0.1 % FS"),
    )
    return replace(one, **changes)


def instruments() -> dict[str, Instrument]:
    """What hangs on the bench."""
    many = (
        instrument("DP-A", "drop", 1.6 * BAR),
        instrument("DP-B", "drop", 1.6 * BAR),
        instrument("PM-OX", "gauge", 10 * BAR),
        instrument("PM-FUEL", "gauge", 10 * BAR),
        instrument("PA", "abs", 10 * BAR),
        instrument("P-BACK", "gauge", 10 * BAR),
        instrument("PB-ABS", "abs", 10 * BAR),
        instrument("TW-A", "temperature", 350.0, low=270.0, accuracy=Accuracy(absolute=0.2, text="0.35 K")),
        instrument(
            "SCALE", "mass", 200.0, accuracy=Accuracy(of_reading=5e-4, dist="normal", text="0.1 %, k=2")
        ),
        instrument(
            "PG",
            "gauge",
            10 * BAR,
            accuracy=Accuracy(of_span=1e-2 / 3**0.5, text="class 1"),
            division=0.2 * BAR,
        ),
    )
    return {one.tag: one for one in many}


def meter(name: str, **changes: Any) -> MeterGiven:
    """A calibrated venturi."""
    one = MeterGiven(
        id=f"FV-{name}",
        kind="venturi-calibrated",
        values={
            "d_pipe": Stated(value=D_PIPE, u=2e-5),
            "d_throat": Stated(value=D_THROAT, u=5e-6),
            "c": Stated(value=C, u=0.003 * C, dist="normal"),
        },
        instruments={"dp": f"DP-{name}"},
    )
    return replace(one, **changes)


def bench(**changes: Any) -> Bench:
    """Two lines with a venturi each, one without; a static and a total tap on each circuit's height."""
    height = Stated(value=0.5, u=0.003)
    one = Bench(
        instruments=instruments(),
        meters={"FV-A": meter("A"), "FV-B": meter("B")},
        lines={
            "A": Line(id="A", meter="FV-A", bore=D_PIPE),
            "B": Line(id="B", meter="FV-B", bore=D_PIPE),
            "T": Line(id="T", meter="FV-A", temperature="TW-A", bore=D_PIPE),
            "BARE": Line(id="BARE", meter=None),
        },
        taps={
            "T-OX": Tap(id="T-OX", height=height, bore=0.04, basis="static"),
            "T-FUEL": Tap(id="T-FUEL", height=height, bore=0.032, basis="static"),
            "T-TOTAL": Tap(id="T-TOTAL", height=height, bore=0.025, basis="total"),
        },
        vessels={
            "WV": Vessel(
                id="WV", content="water", volume=Stated(value=0.4), section=Stated(value=0.28, u=0.0014)
            )
        },
    )
    return replace(one, **changes)


def circuit(name: str, tap: str, **changes: Any) -> Circuit:
    """Sixty swirl elements: gas-cored, so that K judges nothing unless a test wants it to."""
    one = Circuit(
        id=name,
        element="pressure-swirl",
        count=60,
        bore=Stated(value=2e-3),
        area=Stated(value=3e-4, u=3e-6),
        tap=tap,
        outlet_height=Stated(value=0.5 - RISE),
        alloy="none",
    )
    return replace(one, **changes)


def article(**circuits: Circuit) -> Article:
    """ox, fuel and film, or those changed."""
    plain = {
        "ox": circuit("ox", "T-OX"),
        "fuel": circuit("fuel", "T-FUEL"),
        "film": circuit("film", "T-FUEL"),
        "tot": circuit("tot", "T-TOTAL"),
    }
    return Article(serial="X-1", circuits=plain | circuits)


def side(name: str, circuits: Iterable[SideCircuit], tap: str, **changes: Any) -> Side:
    """One side with a feed, a gauge, and room in its tank."""
    liquid = {"ox": ("lox", 90.5), "fuel": ("kerosene", 288.0)}[name]
    one = Side(
        id=name,
        propellant=liquid[0],
        temperature=Stated(value=liquid[1], u=0.3),
        density=None,
        circuits=tuple(circuits),
        feed=Feed(
            area_eff=Stated(value={"ox": 4e-4, "fuel": 2.4e-4}[name], u=4e-6),
            tap=tap,
            basis="static",
            friction=0.0,
            bore=None,
            re_stated=None,
            head=Stated(value=1.5, u=0.1),
        ),
        tank=Tank(
            rating=80 * BAR,
            relief=70 * BAR,
            gauge=f"SG-{name}",
            droop=Stated(value=0.6 * BAR, u=0.1 * BAR),
            lockup=Stated(value=0.2 * BAR, u=0.05 * BAR),
            setting=0.2 * BAR,
        ),
    )
    return replace(one, **changes)


def engine(**changes: Any) -> Engine:
    """A small invented engine of 20 bar."""
    one = Engine(
        d_throat=Stated(value=0.1064, u=2e-5),
        c_throat=Stated(value=0.985, u=0.003),
        c_star=CStarGiven(
            of_ratio=(2.2,), p_chamber=(20 * BAR,), c_star=((1785.0,),), u_rel=0.005,
            efficiency=Stated(value=0.93, u=0.02, dist="normal"), origin="invented",
        ),
        design=Design(p_chamber=20 * BAR, m_dot=None, of_ratio=2.2),
        sides={
            "ox": side("ox", [SideCircuit(id="ox", step=0.02)], "T-OX"),
            "fuel": side("fuel", [SideCircuit(id="fuel", step=0.02)], "T-FUEL"),
        },
        film_counts=True,
        ambient=Stated(value=1.013e5, u=300.0),
        instruments={name: instrument(name, "gauge", 60 * BAR) for name in ("SG-ox", "SG-fuel")},
    )  # fmt: skip
    return replace(one, **changes)


def with_side(given: Engine, name: str, **changes: Any) -> Engine:
    """The engine with one side changed."""
    return replace(given, sides={**given.sides, name: replace(given.sides[name], **changes)})


def campaign(*runs: RunGiven, **changes: Any) -> Campaign:
    """A campaign of these runs."""
    one = Campaign(
        name="invented",
        date=DAY,
        invented=True,
        signers=(),
        limits=Limits(),
        defaults=Defaults(draws=2000),
        bench=bench(),
        references={},
        certificates={},
        article=article(),
        engine=None,
        runs={run.id: run for run in runs},
    )
    return replace(one, **changes)


def certified(given: Campaign, tags: Iterable[str], **changes: Any) -> Campaign:
    """The campaign with one certificate for each of these instruments, all on one reference standard."""
    one = Certificate(
        id="",
        date=DAY,
        accuracy=Accuracy(of_reading=1e-3, of_span=5e-4, dist="normal"),
        reference="REF",
        origin="invented",
    )
    books = {f"C-{tag}": replace(one, id=f"C-{tag}", **changes) for tag in tags}
    held = {
        tag: replace(inst, certificate=f"C-{tag}", drift=0.0) if tag in set(tags) else inst
        for tag, inst in given.bench.instruments.items()
    }
    return replace(
        given,
        bench=replace(given.bench, instruments=held),
        certificates={**given.certificates, **books},
        references={"REF": Reference(id="REF", of_reading=4e-4, origin="invented")},
    )


def rho_of(temp: float = WARM, p_abs: float = AMBIENT + 4 * BAR) -> float:
    """Water."""
    return float(fluid("water").rho(temp, p_abs))


def meter_dp(m_dot: Array, rho: float) -> Array:
    """Drop of the venturi."""
    area = np.pi / 4 * D_THROAT**2
    return np.asarray(m_dot**2 * (1 - (D_THROAT / D_PIPE) ** 4) / (2 * rho * (C * area) ** 2))


def p_fall(p_start: float, p_end: float) -> Array:
    """Pressure at the tap over time: none, falling straight, none."""
    course = p_start + (p_end - p_start) * (TIME - ON[0]) / (ON[1] - ON[0])
    return np.where(FLOWING, course, 0.0)


def flow_of(area: float | Callable[[Array], Array], p_tap: Array, rho: float, rise: float = RISE) -> Array:
    """Mass flow through an effective area under a tap pressure (static)."""
    dp = np.where(FLOWING, p_tap + rho * G * rise, 0.0)
    e = area(dp) if callable(area) else area
    return np.asarray(e * np.sqrt(2 * rho * dp))


def trace(channels: Mapping[str, Array]) -> Trace:
    """A record of these channels."""
    return Trace(time=TIME, channels=dict(channels), lines=np.arange(TIME.size) + 2, origin=ORIGIN)


def run(name: str, method: str, **changes: Any) -> RunGiven:
    """A run of circuit ox by line A."""
    one = RunGiven(
        id=name,
        kind="water",
        method=method,
        date=DAY,
        flows=(Flow(circuits=("ox",), lines=("A",), p_tap="PM-OX"),),
        trace=None,
        ambient=Stated(value=AMBIENT, u=100.0),
        water_temperature=Stated(value=WARM, u=0.3),
        origin=ORIGIN,
    )
    return replace(one, **changes)


def metered(
    name: str,
    area: float | Callable[[Array], Array],
    *,
    circuit: str = "ox",
    tap: str = "PM-OX",
    line: str = "A",
    p: tuple[float, float] = (6 * BAR, 3 * BAR),
    temp: float = WARM,
    **changes: Any,
) -> RunGiven:
    """A metered run with a known effective area (static basis)."""
    p_tap = p_fall(*p)
    rho = rho_of(temp, AMBIENT + float(np.median(p_tap[FLOWING])))
    dp = meter_dp(flow_of(area, p_tap, rho), rho)
    one = run(
        name,
        "metered",
        flows=(Flow(circuits=(circuit,), lines=(line,), p_tap=tap),),
        trace=trace({f"DP-{line}": dp, tap: p_tap}),
        water_temperature=Stated(value=temp, u=0.3),
    )
    return replace(one, **changes)


def weighed(name: str, area: float, **changes: Any) -> RunGiven:
    """A weighed run with a known effective area."""
    p_tap = p_fall(6 * BAR, 3 * BAR)
    rho = rho_of(WARM, AMBIENT + 4.5 * BAR)
    shown = float(np.trapezoid(flow_of(area, p_tap, rho), TIME)) * (1 - 1.2 / rho) / (1 - 1.2 / 8000)
    total = Total(mass=Stated(value=shown, u=0.02, dist="normal"))
    return replace(run(name, "weighed", trace=trace({"PM-OX": p_tap}), total=total), **changes)


def by_hand(name: str, *, start: float, end: float, volume: float, time: float, **changes: Any) -> RunGiven:
    """A run with a gauge at start and end, a volume and a stopwatch."""
    readings = tuple(
        HandReading(instrument="PG", moment=moment, value=value)
        for moment, value in (("start", start), ("end", end))
    )
    one = run(
        name,
        "by-hand",
        flows=(Flow(circuits=("ox",), lines=("BARE",), p_tap="PG"),),
        hand=readings,
        total=Total(volume=Stated(value=volume, u=1e-4), duration=Stated(value=time, u=0.1)),
    )
    return replace(one, **changes)
