"""An invented run as a finding sees it, clean, with what a test changes: one circuit through one venturi.

`Scene()` is clean; change its arrays and fields, then ask for `.evidence()`. SI throughout.
"""

import datetime
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from headrace.bench.instruments import Zero
from headrace.findings.evidence import CampaignEvidence, Contrast, RunEvidence, StreamEvidence
from headrace.notices import Notice
from headrace.records.answers import Estimate
from headrace.records.given import (
    Accuracy,
    Article,
    Bench,
    Campaign,
    Certificate,
    Circuit,
    Defaults,
    Flow,
    HandReading,
    Instrument,
    Limits,
    Line,
    MeterGiven,
    Origin,
    RunGiven,
    Stated,
    Tap,
    Trace,
)
from headrace.records.readings import Characteristic, Closure, Reading, RunResult, Window

Array = NDArray[np.float64]

BAR = 1e5
AREA, RHO, P_VAP, AMBIENT = 2.31e-4, 998.6, 1900.0, 1.009e5
METER = 5.0e-4  # flow per root of the meter's drop: m_dot = METER * sqrt(2 rho dp)
DAY = datetime.date(2026, 3, 12)
ORIGIN = Origin(file="runs/W01/W01.csv", sha256="0" * 64)


def instrument(tag: str, measures: str, high: float, **changes: Any) -> Instrument:
    """A transmitter of class 0.1 % from none to `high`."""
    return Instrument(
        tag=tag,
        measures=measures,
        low=0.0,
        high=high,
        accuracy=Accuracy(of_span=1e-3 / np.sqrt(3), text="0.1 % FS"),
        **changes,
    )


def run_given(name: str, circuit: str, tap: str, **changes: Any) -> RunGiven:
    """A metered water run of one circuit."""
    given = RunGiven(
        id=name,
        kind="water",
        method="metered",
        date=DAY,
        flows=(Flow(circuits=(circuit,), lines=("A",), p_tap=tap),),
        trace=None,
        ambient=Stated(value=AMBIENT),
        water_temperature=Stated(value=290.0),
        origin=ORIGIN,
    )
    return replace(given, **changes)


@dataclass
class Scene:
    """One run of circuit "ox" at 50 Hz: rest to 2 s, blowdown to 10 s, rest to 12 s."""

    element: str = "plain-rounded"
    method: str = "metered"
    limits: Limits = field(default_factory=Limits)
    instruments: dict[str, Instrument] = field(
        default_factory=lambda: {
            "DP-A": instrument("DP-A", "drop", 1.6 * BAR),
            "PM-OX": instrument("PM-OX", "gauge", 10 * BAR),
            "PM-FUEL": instrument("PM-FUEL", "gauge", 10 * BAR),
        }
    )
    certificates: dict[str, Certificate] = field(default_factory=dict)
    zeros: dict[str, Zero] = field(
        default_factory=lambda: {
            "DP-A": Zero(before=300.0, after=330.0, u=10.0),
            "PM-OX": Zero(before=-900.0, after=-700.0, u=60.0),
            "PM-FUEL": Zero(before=1500.0, after=1400.0, u=40.0),
        }
    )
    window: Window = field(
        default_factory=lambda: Window(
            start=2.4,
            end=9.7,
            chosen="found",
            phases=(
                ("opening", 2.0, 2.2),
                ("settling", 2.2, 2.4),
                ("sweep", 2.4, 9.7),
                ("breakthrough", 9.7, 9.8),
                ("closing", 9.8, 10.0),
            ),
        )
    )
    inertance: float = 900.0
    hand: tuple[HandReading, ...] = ()
    readings: tuple[Reading, ...] = ()
    closure: Closure | None = None
    throat: Array | None = None
    on: tuple[float, float] = (2.0, 10.0)

    def __post_init__(self) -> None:
        dice = np.random.default_rng(7)
        self.time: Array = np.arange(0.0, 12.0, 0.02)
        self.flowing = (self.time >= 2.0) & (self.time <= 10.0)
        self.p_tap: Array = np.where(self.flowing, 5.0 * BAR * np.exp(-0.05 * (self.time - 2.0)), 0.0)
        self.dp_meter: Array = self.p_tap * (AREA / METER) ** 2
        self.p_tap = self.p_tap + dice.normal(0, 100.0, self.time.size)
        self.dp_meter = self.dp_meter + dice.normal(0, 20.0, self.time.size)
        self.p_fuel: Array = dice.normal(0, 100.0, self.time.size)

    def evidence(self) -> RunEvidence:
        """What a finding gets."""
        clean = {"DP-A": self.dp_meter, "PM-OX": self.p_tap, "PM-FUEL": self.p_fuel}
        signals = {tag: values + self._zero(tag) for tag, values in clean.items()}
        with np.errstate(invalid="ignore", divide="ignore"):
            m_dot = METER * np.sqrt(2 * RHO * self.dp_meter)
            area = m_dot / np.sqrt(2 * RHO * self.p_tap)
            cav = (self.p_tap + AMBIENT - P_VAP) / self.p_tap
        trace = Trace(time=self.time, channels=signals, lines=np.arange(self.time.size), origin=ORIGIN)
        run = run_given("W01", "ox", "PM-OX", trace=trace, method=self.method, hand=self.hand)
        campaign = self.campaign(run)
        stream = StreamEvidence(
            flow=run.flows[0],
            circuit=campaign.article.circuits["ox"],
            window=self.window,
            on=self.on,
            time=self.time,
            p_tap=self.p_tap,
            dp=self.p_tap,
            m_dot=m_dot,
            area_eff=area,
            cav=cav,
            m_dot_by_line={"A": m_dot},
            dp_by_line={"A": self.dp_meter},
            throat={} if self.throat is None else {"A": self.throat},
            rho=RHO,
            p_vap=P_VAP,
            p_out=AMBIENT,
        )
        return RunEvidence(
            campaign=campaign,
            run=run,
            time=self.time,
            signals=signals,
            zeros=self.zeros,
            streams={"ox": stream},
            readings=self.readings,
            closure=self.closure,
        )

    def _zero(self, tag: str) -> Array | float:
        zero = self.zeros.get(tag)
        if zero is None:
            return 0.0
        after = zero.before if zero.after is None else zero.after
        return np.interp(self.time, self.on, (zero.before, after))

    def campaign(self, run: RunGiven | None = None) -> Campaign:
        """The campaign it belongs to: W02 is a run of the neighbour."""
        first = run or run_given("W01", "ox", "PM-OX")
        runs = {"W01": first, "W02": run_given("W02", "fuel", "PM-FUEL")}
        meter = MeterGiven(id="FV-A", kind="venturi-machined", values={}, instruments={"dp": "DP-A"})
        return Campaign(
            name="invented",
            date=DAY,
            invented=True,
            signers=(),
            limits=self.limits,
            defaults=Defaults(),
            bench=Bench(
                instruments=self.instruments,
                meters={"FV-A": meter},
                lines={"A": Line(id="A", meter="FV-A", inertance=self.inertance)},
                taps={
                    name: Tap(id=name, height=Stated(value=0.3), bore=0.04, basis="static")
                    for name in ("T-OX", "T-FUEL")
                },
                vessels={},
            ),
            references={},
            certificates=self.certificates,
            article=Article(
                serial="X-1",
                circuits={
                    "ox": circuit("ox", self.element, 60, 2.6e-3, "T-OX"),
                    "fuel": circuit("fuel", self.element, 60, 1.3e-3, "T-FUEL"),
                },
            ),
            engine=None,
            runs=runs,
        )


def circuit(name: str, element: str, count: int, bore: float, tap: str) -> Circuit:
    """A circuit of plain numbers."""
    return Circuit(
        id=name,
        element=element,
        count=count,
        bore=Stated(value=bore),
        area=Stated(value=3.2e-4),
        tap=tap,
        outlet_height=Stated(value=0.3),
        alloy="none",
    )


def reading(**changes: Any) -> Reading:
    """One clean slice of W01."""
    base = Reading(
        run="W01",
        stream="ox",
        state="alone",
        lines=("A",),
        t=5.0,
        re=7e4,
        cav=2.6,
        dp=0.6 * BAR,
        m_dot=2.5,
        area_eff=AREA,
        u=1e-6,
        cd=0.72,
        noise=1e-4,
        used=True,
        why="",
        sources=(),
        origin=ORIGIN,
    )
    return replace(base, **changes)


def characteristic(**changes: Any) -> Characteristic:
    """Two runs on two days, even weights."""
    base = Characteristic(
        stream="ox",
        state="alone",
        area_eff=estimate(AREA, 1e-6),
        cd=None,
        model="constant",
        why="",
        re_ref=7e4,
        re_span=(6e4, 8e4),
        cav_least=2.6,
        slope_seen=0.0,
        u_slope=0.01,
        runs=("W01", "W03"),
        days=2,
        weights={"W01": 0.5, "W03": 0.5},
        budget=(),
        notices=(),
    )
    return replace(base, **changes)


def estimate(value: float, u: float) -> Estimate:
    """A value with its standard uncertainty."""
    return Estimate(value=value, u=u, low=value - 2 * u, high=value + 2 * u, unit="1")


def contrast(kind: str, ln_ratio: float, u: float) -> Contrast:
    """A comparison of two results."""
    return Contrast(kind=kind, stream="ox", a="A", b="B", ln_ratio=ln_ratio, u=u)


def campaign_evidence(
    *,
    scene: Scene | None = None,
    readings: tuple[Reading, ...] = (),
    excluded: str | None = None,
    characteristics: tuple[Characteristic, ...] = (),
    contrasts: tuple[Contrast, ...] = (),
) -> CampaignEvidence:
    """A campaign of one run, as a finding sees it."""
    run = RunResult(
        run="W01",
        method="metered",
        excluded=excluded,
        windows={},
        readings=readings,
        series={},
        closure=None,
        tares={},
        notices=(),
    )
    return CampaignEvidence(
        campaign=(scene or Scene()).campaign(),
        runs={"W01": run},
        characteristics={one.key: one for one in characteristics},
        contrasts=contrasts,
    )


def only(notices: tuple[Notice, ...]) -> Notice:
    """The one notice there is."""
    assert len(notices) == 1, notices
    return notices[0]
