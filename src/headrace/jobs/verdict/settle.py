"""To what pressure the vessels behind a run settle. Start at `settled`.

Cold after its expansion, the air warms up at constant volume: p (V/V0)^(n - 1) of the pressure at the end. Where nobody
read that, what stood before the run is spread over the larger volume, at the temperature it had.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot

import numpy as np

from headrace.physics.gas.settling import settled_p_abs
from headrace.physics.pressure import absolute, gauge
from headrace.records.answers import Estimate
from headrace.records.day import Day, Known, Standing, Step
from headrace.records.given import Campaign, Instrument, RunGiven, Vessel
from headrace.records.readings import RunResult
from headrace.uncertainty.errors_map import Errors, Values
from headrace.uncertainty.gum import gum
from headrace.uncertainty.source import Source

RHO = 998.0
"""Water of a bench, to a third of a percent [kg/m3]."""

LAST = 0.3
"""Stretch before the flow ends over which the pressure at the end is taken [s]."""

OUT = "p_gauge"


@dataclass(frozen=True, slots=True, kw_only=True)
class Settling:
    """Gauge pressure once settled, under errors. cold: the pressure is that of the cold gas at the end of the run."""

    p_gauge: float
    ambient: float
    gas: float
    drawn: float
    n: float
    cold: bool

    def __call__(self, errors: Errors) -> dict[str, Values]:
        """The one output."""
        start = self.gas + errors["gas"]
        ratio = 1 + (self.drawn + errors["drawn"]) / start
        ambient = self.ambient + errors["ambient"]
        p_abs = absolute(p_gauge=self.p_gauge + errors["pressure"], p_ambient=ambient)
        n = self.n + errors["polytropic"] if self.cold else 0.0
        out = settled_p_abs(p_abs_end=p_abs, volume_ratio=ratio, n=n) if self.cold else p_abs / ratio
        return {OUT: gauge(p_abs=out, p_ambient=ambient)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A pressure with its standard uncertainty [Pa gauge], and where it was read. cold: as the run ended."""

    p_gauge: float
    u: float
    where: str
    cold: bool


def settled(
    campaign: Campaign, run: RunGiven, result: RunResult | None, day: Day, water: tuple[float, float] | None
) -> tuple[dict[str, Estimate], dict[str, str], tuple[str, ...]]:
    """Pressures by vessel, what each rests on, and what was lacking.

    Args:
        water: metered in the run, and the standard uncertainty of that [kg]; the levels of the ledger come first.
    """
    vessels = campaign.bench.vessels
    feeding = {campaign.bench.lines[line].vessel for flow in run.flows for line in flow.lines}
    names = [name for name in vessels if name in feeding]
    if not names:
        return (
            {},
            {},
            (
                "to what the vessels settle is not known: bench.toml does not say which `vessel` feeds the line",
            ),
        )
    at = next((at for at in range(len(day.steps) - 1, -1, -1) if _is(day.steps[at], run.id)), None)
    if at is None:
        return {}, {}, ("to what the vessels settle is not known: the run does not stand in ledger.toml",)
    step = day.steps[at]
    found: dict[str, Estimate] = {}
    basis: dict[str, str] = {}
    lacking: list[str] = []
    for name in names:
        group = [one for one in (name, vessels[name].pushed_by) if one is not None]
        gas = _gas(step.before, group)
        drawn = _drawn(vessels[name], step, day.steps[at:], water if len(names) == 1 else None)
        seen = _seen(campaign, run, result, step, group)
        told = [word for word, there in (("its gas volume before the run (level, section, volume)", gas),
                                         ("the water drawn", drawn), ("a pressure before or at the end", seen))
                if there is None]  # fmt: skip
        if gas is None or drawn is None or seen is None:
            lacking.append(f"to what {name} settles is not known: {', '.join(told)}")
            continue
        estimate = _estimate(campaign, step, gas, drawn, seen)
        for one in group:
            found[one], basis[one] = estimate, seen.where
    return found, basis, tuple(lacking)


def _is(step: Step, run: str) -> bool:
    return step.event.what == "run" and step.event.words["run"] == run


def _estimate(
    campaign: Campaign, step: Step, gas: tuple[float, float], drawn: tuple[float, float], seen: Seen
) -> Estimate:
    n, u_n = campaign.defaults.polytropic
    given = (
        ("pressure", seen.u, seen.where),
        ("ambient", step.ambient.u, step.ambient.origin or "barometer"),
        ("gas", gas[1], "volume of the vessels less their water"),
        ("drawn", drawn[1], "water drawn in the run"),
        ("polytropic", u_n, "campaign.toml, defaults, polytropic"),
    )
    sources = [Source(name=name, u=u, scope="run", origin=origin) for name, u, origin in given]
    model = Settling(
        p_gauge=seen.p_gauge, ambient=step.ambient.value, gas=gas[0], drawn=drawn[0], n=n, cold=seen.cold
    )
    known, coverage = gum(model, sources), campaign.defaults.coverage
    low, high = known.interval(OUT, coverage)
    return Estimate(value=known.nominal[OUT], u=known.u[OUT], low=low, high=high, unit="Pa", kind="gauge",
                    coverage=coverage, dof=known.dof[OUT])  # fmt: skip


def _gas(before: Mapping[str, Standing], group: list[str]) -> tuple[float, float] | None:
    total, u = 0.0, 0.0
    for name in group:
        gas = before[name].gas
        if gas is None or gas.stale:
            return None
        total, u = total + gas.value, hypot(u, gas.u)
    return total, u


def _drawn(
    vessel: Vessel, step: Step, later: tuple[Step, ...], water: tuple[float, float] | None
) -> tuple[float, float] | None:
    """Volume of water that left [m3], by levels, else by the meter."""
    old, new = step.before[vessel.id].level, _level(step.after[vessel.id].level, step, later, vessel.id)
    if (
        vessel.section is not None
        and old is not None
        and new is not None
        and not old.stale
        and old.value > new.value
    ):
        drawn = vessel.section.value * (old.value - new.value)
        return drawn, hypot(
            vessel.section.value * hypot(old.u, new.u), vessel.section.u * (old.value - new.value)
        )
    return None if water is None else (water[0] / RHO, water[1] / RHO)


def _level(at_once: Known | None, step: Step, later: tuple[Step, ...], vessel: str) -> Known | None:
    if at_once is not None and at_once.number == step.event.number:
        return at_once
    for one in later[1:]:
        if vessel in one.touched:
            return None
        if vessel in one.event.level:
            return one.after[vessel].level
    return None


def _seen(
    campaign: Campaign, run: RunGiven, result: RunResult | None, step: Step, group: list[str]
) -> Seen | None:
    """The pressure at the end, by the trace or by the ledger; else the one before the run."""
    for name in group:
        tag = campaign.bench.vessels[name].gauge
        traced = _traced(campaign.bench.instruments[tag], run, result) if tag is not None else None
        if traced is not None:
            return Seen(p_gauge=traced[0], u=traced[1], where=f"{tag} {traced[2]}", cold=True)
    for name in group:
        if name in step.event.p_gauge:
            read = step.event.p_gauge[name]
            return Seen(
                p_gauge=read.value, u=read.u, where=f"{step.event.origin}, {name} as the run ended", cold=True
            )
    for name in group:
        before = step.before[name].p_gauge
        if before is not None and not before.stale:
            where = f"ledger.toml, event {before.number}, {name} before the run"
            return Seen(p_gauge=before.value, u=before.u, where=where, cold=False)
    return None


def _traced(
    instrument: Instrument, run: RunGiven, result: RunResult | None
) -> tuple[float, float, str] | None:
    """What an instrument read just before the flow ended, its u [Pa gauge], and when that was; where no reading
    counts, nobody knows when the flow ended, and the last of the record is what stands.
    """
    if instrument.measures not in ("gauge", "abs"):
        return None
    trace = run.loaded().trace
    if trace is None or instrument.tag not in trace.channels:
        return None
    end, when = float(trace.time[-1]), "at the end of the record"
    if result is not None and result.windows and any(one.used for one in result.readings):
        end, when = max(window.end for window in result.windows.values()), "as the run ended"
    near = (trace.time > end - LAST) & (trace.time <= end)
    values = trace.channels[instrument.tag][near]
    values = values[np.isfinite(values)]
    if not values.size:
        return None
    value = float(values.mean())
    if instrument.signal is not None:
        low, high = instrument.signal
        value = instrument.low + (value - low) / (high - low) * instrument.span
    promise = instrument.accuracy
    u = hypot(promise.of_reading * value, promise.of_span * instrument.span, promise.absolute)
    return (value - run.ambient.value if instrument.measures == "abs" else value), u, when
