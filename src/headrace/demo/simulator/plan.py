"""What an invented campaign consists of: the hardware, the engine, the runs, and what goes wrong in them. Data only."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from headrace.demo.simulator.instruments import Device
from headrace.demo.simulator.said import Said

DROOP = Said(value=0.8, unit="bar", half=0.2)
LOCKUP = Said(value=0.3, unit="bar")
SETTING = Said(value=0.2, unit="bar")


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterPlan:
    """A venturi: tag of its cell, of its upstream gauge (None: not read), what is stated of it."""

    id: str
    dp: str
    p_up: str | None
    d_pipe: Said
    d_throat: Said
    c: Said
    kind: str = "venturi-machined"


@dataclass(frozen=True, slots=True, kw_only=True)
class LinePlan:
    """A supply line and the vessel behind it. Effective areas of valve and pipe [m2] are true and stated nowhere.

    inertance: sum of L/A between the circuit's tap and its face [1/m], stated as it is.
    """

    id: str
    meter: MeterPlan | None
    thermometer: str | None
    vessel: str
    area_valve: float = 1.2e-3
    area_line: float = 8e-4
    bore: str = "52.5 mm"
    inertance: float = 250.0


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselPlan:
    """A vessel: stated volume and section, level at the start of a run [m above datum]."""

    id: str
    content: str
    volume: Said
    section: Said | None = None
    level: float = 1.9
    below: str | None = None
    pushed_by: str | None = None
    rating: str = "16 bar(g)"
    relief: str = "14 bar(g)"


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitPlan:
    """An injector circuit. area_eff: true effective area on total pressure, before its own draw of `spread` [m2];
    gauge: tag at its tap.

    basis: "static" or "total", of the areas that are stated and found at its tap; the hole itself is in the wall.
    slope: true d ln E / d ln Re in water. together: ratio of E with the neighbour flowing to E alone.
    """

    id: str
    area_eff: float
    gauge: str
    tap: str
    tap_height: Said
    tap_bore: Said
    outlet_height: Said
    bore: Said
    count: int = 60
    element: str = "pressure-swirl"
    alloy: str = "none"
    basis: str = "static"
    spread: float = 0.03
    slope: float = 0.0
    together: float = 1.0
    choke: float | None = None
    area: Said | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SidePlan:
    """One side of the engine as its folder states it. step: k = 1, None for the usual doubt by element kind.

    from_table: density by the simulator's own equation for liquid oxygen instead of a measured batch.
    """

    propellant: str
    circuit: str
    temperature: Said
    density: Said | None
    mu: float
    step: float | None
    feed_area: Said | None
    head: Said
    gauge: Device
    friction: Said | None = None
    feed_bore: Said | None = None
    feed_re: float | None = None
    rating: str = "40 bar(g)"
    relief: str = "36 bar(g)"
    droop: Said = DROOP
    lockup: Said = LOCKUP
    setting: Said = SETTING


@dataclass(frozen=True, slots=True, kw_only=True)
class EnginePlan:
    """Chamber and sides. c_star: one number, or one per O/F in of_ratio [m/s]."""

    d_throat: Said
    c_throat: Said
    ambient: Said
    c_star: tuple[float, ...]
    c_star_doubt: float
    efficiency: Said
    p_chamber: Said
    design_of: float
    sides: Mapping[str, SidePlan]
    of_ratio: tuple[float, ...] = ()
    origin: str = "invented"


@dataclass(frozen=True, slots=True, kw_only=True)
class Faults:
    """What goes wrong in a run. Times are seconds after opening.

    leak: effective area of a leak into the neighbour circuit [m2]. air_leg: tag whose impulse leg holds air, and how
    many metres. breakthrough: when gas comes through. clock_jump: when, and by how much the logger's clock jumps [s].
    spoilt_lines: how many lines of the file are damaged.
    """

    leak: float = 0.0
    air_leg: tuple[str, float] | None = None
    breakthrough: float | None = None
    clock_jump: tuple[float, float] | None = None
    spoilt_lines: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stream:
    """One circuit fed by one or two lines."""

    circuit: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPlan:
    """One run. p_start: air pressure at opening [Pa gauge]; flowing: opening to closing [s].

    scale: tag of the scale that caught the water; level: the sight tube is read before and after.
    """

    id: str
    date: datetime.date
    streams: tuple[Stream, ...]
    p_start: float
    flowing: float
    water: Said
    ambient: Said
    method: str = "metered"
    rate: float = 50.0
    before: float = 1.5
    after: float = 1.5
    dialect: str = "plain"
    hour: int = 10
    scale: str | None = None
    scale_doubt: float = 0.05
    level: bool = False
    stopwatch: float = 0.2
    reader: str = "AB"
    faults: Faults = field(default_factory=Faults)
    exclude: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubts:
    """Sizes (k = 1, relative) of what no certificate states and the campaign's defaults allow for."""

    run_to_run: float = 0.003
    day_to_day: float = 0.003
    re_distance: float = 0.005
    water_density: float = 2e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A whole campaign. log_all: store every tap and line in every run, not only those that flow.

    ledger: the crew kept one. factors: see `Draws`. columns: name of an instrument's column where it is not its tag.
    """

    name: str
    serial: str
    date: datetime.date
    devices: tuple[Device, ...]
    lines: tuple[LinePlan, ...]
    vessels: tuple[VesselPlan, ...]
    circuits: tuple[CircuitPlan, ...]
    engine: EnginePlan
    runs: tuple[RunPlan, ...]
    doubts: Doubts = field(default_factory=Doubts)
    usual_step: Mapping[str, float] = field(default_factory=lambda: {"pressure-swirl": 0.03})
    air_volume: float = 0.8
    log_all: bool = False
    ledger: bool = False
    ripple: float = 2e-3
    default_draws: int | None = None
    signers: tuple[str, ...] = ()
    factors: Mapping[str, float] = field(default_factory=dict)
    columns: Mapping[str, str] = field(default_factory=dict)
