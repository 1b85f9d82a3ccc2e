"""What the campaign folder states, in SI, as plain frozen records. `files` makes them; nothing here checks text.

Pressures keep their kind in their name or in the instrument that read them: `p_gauge`, `p_abs`, `dp`.
"""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from headrace.notices import Notice
from headrace.records.effects import NO_EFFECTS, Effects, Logger
from headrace.records.filmed import Filmed
from headrace.records.in_place import InPlace

if TYPE_CHECKING:  # the ledger's events hold numbers as stated here
    from headrace.records.ledger import Ledger

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stated:
    """A number as somebody stated it, with the doubt they gave it.

    value: SI; u: standard uncertainty, same unit, 0 when stated as exact; dist: "normal" when a coverage factor was
    given, "rectangular" when limits were; origin: who says so (file and key, certificate, default); text: as written.
    """

    value: float
    u: float = 0.0
    dist: str = "rectangular"
    origin: str = ""
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Accuracy:
    """What an instrument promises: limits or expanded uncertainty, as standard uncertainties.

    of_reading: relative; of_span: relative to the span; absolute: SI. Each a standard uncertainty (limits / sqrt 3,
    or U / k). dist: "rectangular" for limits (a class), "normal" for U with k (a certificate).
    """

    of_reading: float = 0.0
    of_span: float = 0.0
    absolute: float = 0.0
    dist: str = "rectangular"
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """A reference standard that one or more certificates rest on: its own doubt is shared by all of them."""

    id: str
    of_reading: float  # relative standard uncertainty
    origin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """What a certificate states of one instrument or meter.

    accuracy: total standard uncertainty, the reference's share included. reference: id of the standard behind it.
    points: indicated and true values where corrections were found (SI), to be interpolated; empty for none. falling:
    the same read downwards; points are then those read upwards. as_found, as_found_falling: before an adjustment.
    former: id of the certificate before it, older. valid_until: last day for which its laboratory vouches. Of a meter:
    points of its factor over a quantity, named in `over`.
    """

    id: str
    date: datetime.date
    accuracy: Accuracy
    reference: str | None = None
    points: tuple[tuple[float, float], ...] = ()
    falling: tuple[tuple[float, float], ...] = ()
    as_found: tuple[tuple[float, float], ...] = ()
    as_found_falling: tuple[tuple[float, float], ...] = ()
    former: str | None = None
    valid_until: datetime.date | None = None
    over: str = ""
    origin: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """A transmitter, gauge, thermometer, scale, sight tube or stopwatch.

    measures: "drop", "gauge", "abs" (pressures), "temperature", "mass", "length" (level), "time", "volume".
    low, high: range, SI. accuracy: class or maker's promise. drift: limits per year relative to span (standard
    uncertainty), None when unknown. division: scale division for reading by eye, None for a logged transmitter.
    lag: first-order time constant [s], None when nobody stated it; u = 0: the campaign's default share of it.
    filter: delay of the filter behind it [s], as equivalent to its order and corner; skew: how much later than the
    time of its row it is sampled [s]; both None: none. parts: tags of two instruments whose difference it is (high,
    low), for a drop by two gauges. height: of the sensing element above the datum [m]; None: at its tap. leg: what
    stands in the impulse line down or up to it, "filled" (water) or "empty" (gas).
    signal: scaling of what the logger stores: (raw low, raw high) that stand for (low, high), SI of the raw unit;
    None when the logger stores the quantity itself.
    """

    tag: str
    measures: str
    low: float
    high: float
    accuracy: Accuracy
    certificate: str | None = None
    drift: float | None = None
    division: float | None = None
    lag: Stated | None = None
    filter: Stated | None = None
    skew: Stated | None = None
    parts: tuple[str, str] | None = None
    height: Stated | None = None
    leg: str = "filled"
    signal: tuple[float, float] | None = None
    signal_unit: str = ""
    effects: Effects = NO_EFFECTS
    origin: str = ""

    @property
    def span(self) -> float:
        """Width of the range, SI."""
        return self.high - self.low


@dataclass(frozen=True, slots=True, kw_only=True)
class Tap:
    """Where a pressure is taken: height above datum [m], bore there [m], basis "static" or "total"."""

    id: str
    height: Stated
    bore: float
    basis: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterGiven:
    """A flow meter as bench.toml gives it: kind is a key of `bench.meters.METERS`.

    values: the fields that this kind declares, by name. instruments: the tags it is read by, by role
    ("dp" for a differential-pressure meter, "signal" for a meter with its own output, "p_up" upstream pressure).
    in_place: what runs of the campaign say of it, once they were looked at.
    """

    id: str
    kind: str
    values: Mapping[str, Stated]
    instruments: Mapping[str, str]
    certificate: str | None = None
    edition: str = ""
    in_place: InPlace | None = None
    origin: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One supply line: its meter, its thermometer (None: the run's typed temperature), its pipe bore [m]."""

    id: str
    meter: str | None
    temperature: str | None = None
    bore: float | None = None
    inertance: float = 0.0  # sum of L/A between the tap and the face, 1/m...
    inertance_u: float = 0.0  # ... and its standard uncertainty
    vessel: str | None = None  # the water vessel that feeds it
    trapped_gas: Stated | None = None  # gas between meter and article at ambient pressure [m3]; corrected for


@dataclass(frozen=True, slots=True, kw_only=True)
class Vessel:
    """A pressure vessel of the bench: volume [m3], rating and relief [Pa gauge], cross-section for its tube [m2].

    below: water in it when its sight tube stands at zero [m3]. gauge: tag of what reads the pressure of its gas.
    pushed_by: the air vessel that stands behind a water vessel.
    """

    id: str
    content: str
    volume: Stated
    rating: float | None = None
    relief: float | None = None
    section: Stated | None = None
    below: float = 0.0
    gauge: str | None = None
    pushed_by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Valve:
    """A valve of the bench: the two vessels or lines that it joins, "" where one side is open air or a supply."""

    id: str
    between: tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """The bench as it is built."""

    instruments: Mapping[str, Instrument]
    meters: Mapping[str, MeterGiven]
    lines: Mapping[str, Line]
    taps: Mapping[str, Tap]
    vessels: Mapping[str, Vessel]
    valves: Mapping[str, Valve] = field(default_factory=dict)
    loggers: Mapping[str, Logger] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """One injector circuit of the article, or a part of a feed (a line, a valve) between two taps.

    element: key of `bench.elements.ELEMENTS`. bore: orifice bore of one element [m], for Reynolds number.
    area: geometric area of all orifices [m2], for Cd only; None when not known. tap: where its pressure is taken on
    the bench and on the stand. outlet_height [m]. alloy: key of the contraction registry. down_tap: of a part, the tap
    behind it (outlet_height is then its height), bore that of its pipe; None of a circuit, which ends in its outlets.
    """

    id: str
    element: str
    count: int
    bore: Stated
    area: Stated | None
    tap: str
    outlet_height: Stated
    alloy: str
    down_tap: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Article:
    """The injector under test."""

    serial: str
    circuits: Mapping[str, Circuit]


@dataclass(frozen=True, slots=True, kw_only=True)
class SideCircuit:
    """A circuit as the engine uses it: which characteristic ("alone", "together" or None: our choice), its step.

    step: relative standard uncertainty of the step from water to propellant, None for the default by element kind and
    cavitation regime; shared_step: a name that makes circuits share one step source. film: is it film cooling.
    """

    id: str
    characteristic: str | None = None
    step: float | None = None
    step_ratio: Stated | None = None
    shared_step: str | None = None
    film: bool = False
    origin: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """What lies between tank and tap: effective area [m2] as stated, the tap where it ends and on which basis.

    friction: share of the loss that is pipe friction (falls with Reynolds number), 0 to 1. re_stated: Reynolds
    number in the pipe (bore `bore`) at which the area holds. head: liquid surface above the tap [m]. None area: no
    feed loss, unless `parts` of the article make it up: in series, each one part or several side by side.
    """

    area_eff: Stated | None
    tap: str
    basis: str
    friction: float
    bore: float | None
    re_stated: float | None
    head: Stated
    parts: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Tank:
    """A propellant tank: rating and relief [Pa gauge], its gauge, droop and lock-up of its regulator [Pa]."""

    rating: float | None
    relief: float | None
    gauge: str | None
    droop: Stated
    lockup: Stated
    setting: float  # half-width within which the crew sets it [Pa]


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One propellant side of the engine."""

    id: str  # "ox" or "fuel"
    propellant: str
    temperature: Stated
    density: Stated | None  # a measured batch overrides the table
    circuits: tuple[SideCircuit, ...]
    feed: Feed
    tank: Tank


@dataclass(frozen=True, slots=True, kw_only=True)
class CStarGiven:
    """c* as constant or table: rows over O/F (and columns over chamber pressure [Pa]); relative doubt; efficiency."""

    of_ratio: tuple[float, ...]
    p_chamber: tuple[float, ...]
    c_star: tuple[tuple[float, ...], ...]
    u_rel: float
    efficiency: Stated
    origin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """The wanted point: p_chamber [Pa abs] or total flow [kg/s] (the other None), and O/F."""

    p_chamber: float | None
    m_dot: float | None
    of_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """The engine and its stand."""

    d_throat: Stated
    c_throat: Stated
    c_star: CStarGiven
    design: Design
    sides: Mapping[str, Side]
    film_counts: bool
    ambient: Stated
    instruments: Mapping[str, Instrument]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Limits that the owner set (or left at our defaults): relative unless said."""

    injector_drop: float = 0.15  # least drop over chamber pressure
    vapour_margin: float = 2e5  # least manifold pressure above vapour pressure [Pa]
    cavitation_doubt: float = 2.0
    cavitation_stop: float = 1.5
    tare_shift: float = 1e-3  # of span
    closure: float = 2.0  # in combined expanded uncertainties... of the two witnesses
    window: float = 2.0  # shortest window [s]
    re_span: float = 2.0  # greatest over least Re below which no slope of E is carried


@dataclass(frozen=True, slots=True, kw_only=True)
class Defaults:
    """Doubts that hold until the campaign itself knows better; the owner sees and owns them. Relative, k = 1."""

    run_to_run: float = 0.003
    day_to_day: float = 0.003
    re_distance: float = 0.005  # per unit of ln(Re) outside the tested span
    water_density: float = 2e-4  # tap water against pure water
    lag: float = 0.2  # of a stated lag or filter delay that has no doubt of its own
    polytropic: tuple[float, float] = (1.2, 0.1)  # exponent of a manual run and its standard uncertainty
    coverage: float = 0.95
    draws: int = 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """The bytes a number was read from: file relative to the folder, sha256, first and last line (0, 0: whole file).

    also: likewise in the other raw files that were joined to it.
    """

    file: str
    sha256: str
    lines: tuple[int, int] = (0, 0)
    also: tuple["Origin", ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeShift:
    """How wrong the times of a channel may be: name of the source, standard uncertainty [s], and who says so."""

    name: str
    u: float
    dist: str
    origin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """Another raw file of a run. lines: for each row of the trace the line there that it was taken from, 0 for none."""

    origin: Origin
    lines: NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """What the logger stored, in SI: time [s] and one array per instrument tag, all of one length; NaN where missing.

    lines: the line of the raw file that each row came from. bad: number of refused lines. shifts: errors of the time of
    channels that another logger stored, by tag. others: the other files of the run. filmed: gauges read off film, by
    tag. skews: how much later than its row a channel was sampled in this run [s], by tag.
    """

    time: Array
    channels: Mapping[str, Array]
    lines: NDArray[np.int64]
    origin: Origin
    bad: int = 0
    segments: tuple[int, ...] = ()  # row index where a new segment starts
    shifts: Mapping[str, tuple[TimeShift, ...]] = field(default_factory=dict)
    others: tuple[Joined, ...] = ()
    pulses: frozenset[str] = frozenset()  # tags whose column counts pulses from row to row
    filmed: Mapping[str, Filmed] = field(default_factory=dict)
    skews: Mapping[str, Stated] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandReading:
    """A value read by a person: instrument tag, moment ("before", "start", "end", "after" or None), time [s], reader.

    value: SI, of the kind that the instrument measures; division: None for the instrument's own.
    """

    instrument: str
    moment: str
    value: float
    time: float | None = None
    u_time: float = 0.0
    division: float | None = None
    reader: str = ""
    origin: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """One metered stream of a run: into which circuits (more than one: only their sum is known) by which lines."""

    circuits: tuple[str, ...]
    lines: tuple[str, ...]
    p_tap: str  # tag of the instrument that reads the circuit's tap
    p_back: str | None = None  # tag of the back-pressure instrument; None: open air


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowGiven:
    """A window set by a person, with the reason."""

    start: float
    end: float
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """Water of a whole run by scale or level: mass [kg] or volume [m3], over which duration [s] if by stopwatch.

    By sight tube: `vessel` and `section_u_rel`, the relative standard uncertainty of its section, which all
    runs on that vessel share; the u of `volume` is then of the two level readings alone.
    """

    mass: Stated | None = None
    volume: Stated | None = None
    duration: Stated | None = None
    line: str | None = None
    instrument: str | None = None  # the scale, whose own error is shared by all runs weighed on it
    vessel: str | None = None  # the vessel whose level was read...
    section_u_rel: float = (
        0.0  # ... and the relative standard uncertainty of its cross-section, shared likewise
    )
    origin: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Catches:
    """Catch-and-weigh points of one set-up, a row each.

    mass: net, as the scale shows it [kg]. duration [s]. indicated: pressure as the tap's instrument shows it [Pa].
    temp: of the water [K], None where it is typed for the run. group: number of the row's group of repeats. lines:
    where each row stands in its file. scale, thermometer: tags, None where none is named. u_timing: standard
    uncertainty of one timing [s]; u_timing_shared: of what all timings have in common [s].
    """

    mass: Array
    duration: Array
    indicated: Array
    temp: Array | None
    group: NDArray[np.int64]
    lines: NDArray[np.int64]
    scale: str | None
    thermometer: str | None
    u_timing: float
    u_timing_shared: float


class Stored(Protocol):
    """A trace that is read again when it is wanted, so that a campaign need not hold all of them at once."""

    def load(self) -> Trace:
        """The trace."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class RunGiven:
    """One run as run.toml gives it. method: key of `jobs.reduce.methods.METHODS`.

    trace: what the logger stored; of a large campaign `stored` stands in its place, and `loaded` fetches it.
    """

    id: str
    kind: str  # "water" or "hot"
    method: str
    date: datetime.date
    flows: tuple[Flow, ...]
    trace: Trace | None
    stored: Stored | None = None
    ambient: Stated
    water_temperature: Stated | None
    air_temperature: Stated | None = None  # around the instruments
    hand: tuple[HandReading, ...] = ()
    total: Total | None = None
    catches: Catches | None = None
    calibrates: str | None = None  # the meter that its total calibrates
    minus: str | None = None  # the short run of a long-minus-short pair
    tare_before: tuple[float, float] | None = None
    tare_after: tuple[float, float] | None = None
    tare_at_pressure: tuple[float, float] | None = None  # at rest, valve shut, under line pressure
    window: WindowGiven | None = None
    excluded: str | None = None  # the reason, when the run is left out
    origin: Origin
    notices: tuple[Notice, ...] = ()

    def loaded(self) -> "RunGiven":
        """The same run with its trace at hand."""
        return self if self.stored is None else replace(self, trace=self.stored.load(), stored=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Campaign:
    """A whole campaign folder, read and converted."""

    name: str
    date: datetime.date
    invented: bool
    signers: tuple[str, ...]
    limits: Limits
    defaults: Defaults
    bench: Bench
    references: Mapping[str, Reference]
    certificates: Mapping[str, Certificate]
    article: Article
    engine: Engine | None
    runs: Mapping[str, RunGiven]
    ledger: "Ledger | None" = None
    inputs: Mapping[str, str] = field(default_factory=dict)  # relative path -> sha256 of every input file
    notices: tuple[Notice, ...] = ()
