"""An invented campaign with an invented answer, for tests of paper and figures: no number in it was computed."""

import datetime
import math
from dataclasses import dataclass

import numpy as np

from headrace.notices import Notice, Severity
from headrace.records.answers import Answer, BudgetLine, Estimate
from headrace.records.given import (
    Article,
    Bench,
    Campaign,
    Circuit,
    CStarGiven,
    Defaults,
    Design,
    Engine,
    Feed,
    Limits,
    Origin,
    Side,
    SideCircuit,
    Stated,
    Tank,
)
from headrace.records.readings import Characteristic, Reading, RunResult, Series, Window

BAR = 1e5
ORIGIN = Origin(file="runs/W01/W01.csv", sha256="0" * 64)


@dataclass(frozen=True, slots=True, kw_only=True)
class FakeReduced:
    """Stands for a reduced campaign."""

    runs: dict
    characteristics: dict
    notices: tuple = ()


def estimate(value: float, u: float, unit: str, kind: str | None = None, skew: float = 0.0) -> Estimate:
    """A value whose 95 % interval is 1.96 u wide to each side, more above than below by `skew`."""
    half = 1.96 * u
    return Estimate(
        value=value,
        u=u,
        low=value - half,
        high=value + half * (1 + skew),
        unit=unit,
        kind=kind,
        method="monte-carlo",
    )


def lines(*rows: tuple[str, str, float], u: float) -> tuple[BudgetLine, ...]:
    """Budget rows from (source, group, share)."""
    return tuple(
        BudgetLine(
            source=source,
            contribution=u * math.sqrt(share),
            share=share,
            scope="run",
            group=group,
            origin="bench.toml",
        )
        for source, group, share in rows
    )


SHARES = (
    ("ox.step", "step", 0.46),
    ("PG-OX.class", "stand", 0.17),
    ("c_star.efficiency", "combustion", 0.15),
    ("ox.feed", "feed", 0.09),
    ("FV-A.c", "water", 0.05),
    ("ox.droop", "stand", 0.04),
    ("DP-A.gain", "water", 0.02),
    ("throat.diameter", "combustion", 0.015),
    ("stand.barometer", "barometer", 0.005),
)


def side(name: str, propellant: str, temp: str, setting: float) -> Side:
    """One side with a feed line, a tank and one circuit."""
    return Side(
        id=name,
        propellant=propellant,
        temperature=Stated(value=90.5, u=0.3, text=temp, origin="engine.toml"),
        density=None,
        circuits=(SideCircuit(id=name, step=0.03),),
        feed=Feed(
            area_eff=Stated(value=2.9e-4, u=3e-6, text="2.9e-4 m2 ± 2 %", origin="engine.toml"),
            tap=f"T-{name.upper()}",
            basis="static",
            friction=0.4,
            bore=0.04,
            re_stated=1.5e5,
            head=Stated(value=1.8, u=0.15, text="1.8 m ± 0.3 m", origin="engine.toml"),
        ),
        tank=Tank(
            rating=50 * BAR,
            relief=46 * BAR,
            gauge=f"PG-{name.upper()}",
            droop=Stated(value=0.8 * BAR),
            lockup=Stated(value=0.3 * BAR),
            setting=setting,
        ),
    )


def engine() -> Engine:
    """An engine of no known kind."""
    return Engine(
        d_throat=Stated(value=0.0984, u=3e-5, text="98.4 mm ± 0.05 mm", origin="engine.toml"),
        c_throat=Stated(value=0.985, u=0.003, text="0.985 ± 0.005", origin="engine.toml"),
        c_star=CStarGiven(
            of_ratio=(2.2,),
            p_chamber=(20 * BAR,),
            c_star=((1785.0,),),
            u_rel=0.005,
            efficiency=Stated(value=0.93, u=0.02, text="0.93 ± 0.02 (k=1)", origin="engine.toml"),
            origin="table of an invented code run",
        ),
        design=Design(p_chamber=20 * BAR, m_dot=None, of_ratio=2.2),
        sides={
            "ox": side("ox", "lox", "90.5 K ± 0.5 K", 0.2 * BAR),
            "fuel": side("fuel", "kerosene", "288 K ± 2 K", 0.2 * BAR),
        },
        film_counts=True,
        ambient=Stated(value=1.013e5, u=290.0),
        instruments={},
    )


def circuit(name: str) -> Circuit:
    """A swirl circuit."""
    return Circuit(
        id=name,
        element="pressure-swirl",
        count=60,
        bore=Stated(value=1.2e-3),
        area=None,
        tap=f"T-{name.upper()}",
        outlet_height=Stated(value=0.3),
        alloy="copper",
    )


def campaign(*, notices: tuple[Notice, ...] = (), name: str = "Heron water campaign") -> Campaign:
    """The invented folder, read."""
    return Campaign(
        name=name,
        date=datetime.date(2026, 3, 14),
        invented=True,
        signers=("A. Example", "B. Example"),
        limits=Limits(),
        defaults=Defaults(),
        bench=Bench(instruments={}, meters={}, lines={}, taps={}, vessels={}),
        references={},
        certificates={},
        article=Article(serial="H-03", circuits={name: circuit(name) for name in ("ox", "fuel")}),
        engine=engine(),
        runs={},
        inputs={"campaign.toml": "aa", "engine.toml": "bb"},
        notices=notices,
    )


def reading(run: str, line: str, stream: str, place: int, area: float, *, used: bool = True) -> Reading:
    """One slice of a sweep from high to low Reynolds number, with a little scatter."""
    wiggle = 1 + 0.002 * math.sin(7.3 * place + 3.1 * hash_of(run))
    return Reading(
        run=run,
        stream=stream,
        state="alone",
        lines=(line,),
        t=2.0 + place,
        re=4.2e4 * 0.86**place,
        cav=1.2 + 0.35 * place if used else 1.1,
        dp=6e5 * 0.75**place,
        m_dot=2.1 * 0.866**place,
        area_eff=area * wiggle * (1 if used else 0.982),
        u=0.004 * area,
        cd=None,
        noise=5e-4,
        used=used,
        why="" if used else "K below 1.5",
        sources=("FV-A.c",),
        origin=ORIGIN,
    )


def hash_of(text: str) -> int:
    """A number from a name that is the same in every process."""
    return sum(ord(letter) for letter in text) % 17


def run(name: str, line: str, stream: str, area: float, excluded: str | None = None) -> RunResult:
    """A run of seven slices, the first of them cavitating."""
    time = np.linspace(0.0, 12.0, 241)
    dp = 6e5 * np.exp(-0.15 * time) * (1 - np.exp(-((time / 0.4) ** 2)))
    m_dot = area * np.sqrt(2 * 998.0 * dp)
    return RunResult(
        run=name,
        method="metered",
        excluded=excluded,
        windows={stream: Window(start=1.5, end=9.5, chosen="found")},
        readings=tuple(reading(name, line, stream, place, area, used=place > 0) for place in range(7)),
        series={stream: Series(time=time, dp=dp, m_dot=m_dot, area_eff=area + 0 * time, cav=2 + 0 * time)},
        closure=None,
        tares={},
        notices=(),
    )


def characteristic(stream: str, area: float, runs: tuple[str, ...]) -> Characteristic:
    """A constant E with its slope seen."""
    return Characteristic(
        stream=stream,
        state="alone",
        area_eff=estimate(area, 0.0041 * area, "m2"),
        cd=estimate(0.342, 0.0021, "1"),
        model="constant",
        why="nothing separated the causes of a slope",
        re_ref=2.4e4,
        re_span=(1.7e4, 3.62e4),
        cav_least=1.55,
        slope_seen=0.004,
        u_slope=0.003,
        runs=runs,
        days=2,
        weights=dict.fromkeys(runs, 1 / len(runs)),
        budget=(),
        notices=(),
    )


def reduced() -> FakeReduced:
    """Four runs, one of them left out, and two characteristics."""
    return FakeReduced(
        runs={
            "W01": run("W01", "A", "ox", 6.62e-5),
            "W02": run("W02", "B", "ox", 6.65e-5),
            "W03": run("W03", "A", "ox", 6.4e-5, excluded="gas came through at 6 s"),
            "W04": run("W04", "A", "fuel", 3.91e-5),
            "W05": run("W05", "B", "fuel", 3.93e-5),
        },
        characteristics={
            "ox": characteristic("ox", 6.63e-5, ("W01", "W02")),
            "fuel": characteristic("fuel", 3.92e-5, ("W04", "W05")),
        },
        notices=(
            Notice(
                code="gas-breakthrough",
                severity=Severity.DOUBT,
                text="Flow of W03 jumps by 31 % at 6.1 s while the drop does not: gas has reached the meter.",
                run="W03",
                about="line A",
                try_="End the window before 6 s, or leave the run out.",
            ),
        ),
    )


NOTICES = (
    Notice(
        code="step-untested",
        severity=Severity.DOUBT,
        text="The step from water to propellant of circuit ox is the default of 3 % (k = 1) for pressure-swirl "
        "elements; no firing of this injector has tested it.",
        limit="default by element kind, common practice",
        try_="Set step_ratio from your own firings.",
        about="circuit ox",
    ),
    Notice(
        code="re-beyond-tested",
        severity=Severity.DOUBT,
        text="Liquid oxygen runs at Re 1.9·10⁵ where the water runs ended at 3.6·10⁴; the doubt grows with distance.",
        about="circuit ox",
        try_='Warm water reaches further; see "re_distance".',
    ),
    Notice(
        code="article-cavitates",
        severity=Severity.DOUBT,
        text="Slices 1 of W01 and W02 stand at K below 1.5 and are left out of the carried curve.",
        limit="K > 1.5, owner default",
        run="W01",
    ),
    Notice(
        code="one-day",
        severity=Severity.INFO,
        text="Runs of circuit fuel were made on 1 day; the day-to-day term is the default of 0.3 %.",
        about="circuit fuel",
    ),
)

STOP = Notice(
    code="above-relief",
    severity=Severity.STOP,
    text="Static pressure of the oxidiser tank, 46.4 bar(g), is above its relief at 46 bar(g).",
    limit="relief 46 bar(g), engine.toml",
    try_="Lower the chamber pressure, or cut the feed loss.",
    about="tank ox",
)


def answer(*, notices: tuple[Notice, ...] = NOTICES, skew: float = 0.0) -> Answer:
    """An invented answer with every path that a sheet may print."""
    gauge = {"kind": "gauge"}
    values = {
        "tanks.ox": estimate(31.42 * BAR, 0.262 * BAR, "Pa", skew=skew, **gauge),
        "tanks.fuel": estimate(28.87 * BAR, 0.218 * BAR, "Pa", **gauge),
        "static.ox": estimate(32.52 * BAR, 0.31 * BAR, "Pa", **gauge),
        "static.fuel": estimate(29.67 * BAR, 0.27 * BAR, "Pa", **gauge),
        "p_chamber": estimate(20.0 * BAR, 0.0, "Pa", kind="abs"),
        "of_ratio": estimate(2.2, 0.0, "1"),
        "m_dot.ox": estimate(6.31, 0.021, "kg/s"),
        "m_dot.fuel": estimate(2.87, 0.011, "kg/s"),
        "m_dot.total": estimate(9.18, 0.034, "kg/s"),
        "manifold_lit.ox": estimate(25.1 * BAR, 0.21 * BAR, "Pa", **gauge),
        "manifold_lit.fuel": estimate(24.2 * BAR, 0.19 * BAR, "Pa", **gauge),
        "manifold_unlit.ox": estimate(12.8 * BAR, 0.25 * BAR, "Pa", **gauge),
        "manifold_unlit.fuel": estimate(13.6 * BAR, 0.22 * BAR, "Pa", **gauge),
        "as_set.p_chamber": estimate(20.0 * BAR, 0.23 * BAR, "Pa", kind="abs"),
        "as_set.of_ratio": estimate(2.2, 0.041, "1"),
    }
    groups = ("water", "step", "propellant", "feed", "combustion", "stand", "barometer")
    shares = (0.07, 0.46, 0.02, 0.09, 0.165, 0.21, 0.005)
    budgeted = ("tanks.ox", "tanks.fuel", "as_set.p_chamber", "as_set.of_ratio")
    return Answer(
        values=values,
        budgets={path: lines(*SHARES, u=values[path].u) for path in budgeted},
        correlation=-0.3,
        parts={
            f"tanks.{name}": {
                group: values[f"tanks.{name}"].u * math.sqrt(share)
                for group, share in zip(groups, shares, strict=True)
            }
            for name in ("ox", "fuel")
        },
        facts={
            "setting.ox": 0.2 * BAR,
            "setting.fuel": 0.2 * BAR,
            "setting.ox.p_chamber": 0.071 * BAR,
            "setting.ox.of_ratio": 0.013,
            "setting.fuel.p_chamber": 0.032 * BAR,
            "setting.fuel.of_ratio": -0.016,
            "setting.p_chamber": 0.103 * BAR,
            "setting.of_ratio": 0.029,
            "gauge.p_chamber": 0.09 * BAR,
            "gauge.of_ratio": 0.021,
            "ambient": 1.013e5,
        },
        notices=notices,
        draws=100_000,
        assumptions=(("Step of circuit ox", "3 % (k = 1)", "default by element kind"),),
    )


def infeasible() -> Answer:
    """What the balance says when the point cannot be reached."""
    stop = Notice(
        code="infeasible",
        severity=Severity.STOP,
        text="No pressure on the fuel side reaches the point: its manifold would need 3.1 bar more than it gets.",
        about="fuel side",
        try_="Ask for less flow, or open the feed.",
    )
    return Answer(
        values={},
        budgets={},
        correlation=None,
        parts={},
        facts={"ambient": 1.013e5},
        notices=(stop, *NOTICES),
    )
