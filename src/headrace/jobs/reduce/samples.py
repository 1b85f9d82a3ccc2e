"""The nominal result at every sample of a metered stream: flow, drop, effective area, cavitation number.

Statistics are taken on these, never on each gauge apart. Start at `sampled`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from headrace.bench.meters import METERS
from headrace.bench.meters.base import Built, Working
from headrace.chain.streams import Drop
from headrace.jobs.reduce.context import Context, Water, stream_circuit
from headrace.jobs.reduce.pocket import push
from headrace.jobs.reduce.signals import Signals, rate
from headrace.physics.hydraulics.cavitation import cavitation_number, meter_throat_p_abs
from headrace.physics.hydraulics.injector import area_eff
from headrace.physics.pressure import absolute
from headrace.records.given import Circuit, Flow, Line, MeterGiven
from headrace.uncertainty.doubted import Doubted
from headrace.uncertainty.errors_map import Errors

Array = NDArray[np.float64]

UNDER_PRESSURE = 0.05
"""Share of span beyond which what a gauge shows at rest is pressure, not its zero."""

IN_SCOPE = (3e5, 3e5)
"""A pipe Reynolds number inside every standard's scope: at nominal the coefficient does not depend on it here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Metered:
    """The lines of a stream with their meters and the tags of their signals."""

    lines: tuple[Line, ...]
    meters: tuple[MeterGiven, ...]
    tags: tuple[str, ...]

    @classmethod
    def of(cls, context: Context, flow: Flow) -> "Metered":
        """The lines that feed this flow."""
        bench = context.campaign.bench
        lines = tuple(bench.lines[line] for line in flow.lines)
        meters = tuple(bench.meters[str(line.meter)] for line in lines)
        tags = tuple(meter.instruments[METERS[meter.kind].role] for meter in meters)
        return cls(lines=lines, meters=meters, tags=tags)

    def build(
        self,
        context: Context,
        re_pipe: Mapping[str, tuple[float, float]],
        working: Mapping[str, Working] = MappingProxyType({}),
    ) -> tuple[Built, ...]:
        """The meters frozen for these pipe Reynolds numbers and ways of working (by line)."""
        campaign = context.campaign
        return tuple(
            METERS[meter.kind].build(
                meter,
                certificates=campaign.certificates,
                references=campaign.references,
                re_pipe=re_pipe.get(line.id, IN_SCOPE),
                at=working.get(line.id, Working(run=context.run.id)),
            )
            for meter, line in zip(self.meters, self.lines, strict=True)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sampled:
    """Per-sample results, NaN where there is none; inertia [Pa] is the water column's (L/A) dm/dt.

    m_dot: by the meters. pushed: what gas of 1 m3 at ambient pressure would add behind them [kg/s per m3]; stated gas
    is in `area` already.
    """

    m_dot: Array
    m_dot_by_line: Mapping[str, Array]
    signed_by_line: Mapping[str, Array]
    p_tap: Array
    dp: Array
    area: Array
    cav: Array
    inertia: Array
    pushed: Array
    throat: Mapping[str, Array]
    p_out: float


def at_zero(names: tuple[str, ...]) -> Errors:
    """Every named error at zero: the nominal pass."""
    return Errors(dict.fromkeys(names, 0.0))


def sampled(context: Context, flow: Flow, metered: Metered, signals: Signals, water: Water) -> Sampled:
    """Every sample's result at nominal."""
    circuit = stream_circuit(context.campaign, flow)
    by_line: dict[str, Array] = {}
    signed: dict[str, Array] = {}
    for one, line, tag in zip(metered.build(context, {}), metered.lines, metered.tags, strict=True):
        zero = at_zero(tuple(source.name for source in one.sources))
        signal = signals.clean[tag][:, None]
        rho = np.full_like(signal, water.rho)
        with np.errstate(invalid="ignore"):
            by_line[line.id] = one.law.m_dot(zero, signal=signal, rho=rho, mu=water.mu)[:, 0]
            size = one.law.m_dot(zero, signal=np.abs(signal), rho=rho, mu=water.mu)[:, 0]
        signed[line.id] = np.sign(signal[:, 0]) * size
    m_dot = np.sum(list(by_line.values()), axis=0)
    inertance = sum(line.inertance for line in metered.lines) / len(metered.lines)
    inertia = inertance * rate(signals.time, m_dot)
    p_tap = tap_signal(context, signals, flow, circuit)
    whole = whole_drop(context, p_tap, inertia, water, circuit)
    with np.errstate(invalid="ignore", divide="ignore"):
        dp = whole.dp(at_zero(whole.names), m_dot[:, None])[:, 0]
        p_out = outlet(context, signals, flow)
        pushed = push(
            p_abs=np.where(p_out + p_tap > 0, p_out + p_tap, np.nan),
            p_abs_rate=rate(signals.time, p_tap),
            p_ambient=context.run.ambient.value,
            rho=water.rho,
        )
        gas = sum(line.trapped_gas.value for line in metered.lines if line.trapped_gas is not None)
        through = m_dot + gas * pushed if gas > 0 else m_dot
        area = np.asarray(
            area_eff(m_dot=through, dp=np.where(dp > 0, dp, np.nan), rho=np.full_like(dp, water.rho))
        )
        down = np.full_like(dp, p_out)
        cav = np.asarray(
            cavitation_number(p_abs_up=p_out + dp, p_abs_down=down, p_vapour=np.full_like(dp, water.p_vap))
        )
        throat = _throats(context, metered, signals)
    return Sampled(
        m_dot=m_dot,
        m_dot_by_line=by_line,
        signed_by_line=signed,
        p_tap=p_tap,
        dp=dp,
        area=area,
        cav=cav,
        inertia=inertia,
        pushed=pushed,
        throat=throat,
        p_out=p_out,
    )


def tap_signal(context: Context, signals: Signals, flow: Flow, circuit: Circuit) -> Array:
    """Tap minus outlet pressure per sample [Pa]: zero or column in the leg taken off, back-pressure taken off."""
    p_tap = signals.clean[flow.p_tap] + context.lift(flow, circuit, signals.zeros)
    return p_tap if flow.p_back is None else p_tap - signals.clean[flow.p_back]


def outlet(context: Context, signals: Signals, flow: Flow) -> float:
    """Absolute pressure behind the outlet while water flows [Pa]: ambient, or that of the back-pressure vessel."""
    p_out = context.run.ambient.value
    if flow.p_back is not None:
        inside = (signals.time >= signals.on[0]) & (signals.time <= signals.on[1])
        p_out += float(np.nanmedian(signals.clean[flow.p_back][inside]))
    return p_out


def whole_drop(context: Context, p_tap: Array, inertia: Array, water: Water, circuit: Circuit) -> Drop:
    """The drop over all samples, without the tap's own errors: for the nominal pass."""
    return context.drop(Doubted(base=p_tap), water, circuit, np.where(np.isfinite(inertia), inertia, 0.0))


def _throats(context: Context, metered: Metered, signals: Signals) -> dict[str, Array]:
    """Absolute pressure in each throat whose upstream pressure is logged [Pa]."""
    out: dict[str, Array] = {}
    for meter, line, tag in zip(metered.meters, metered.lines, metered.tags, strict=True):
        up = meter.instruments.get("p_up")
        if up is not None and up in signals.clean:
            p_up = absolute(p_gauge=_upstream(context, signals, up), p_ambient=context.run.ambient.value)
            out[line.id] = np.asarray(meter_throat_p_abs(p_abs_up=p_up, dp=signals.clean[tag]))
    return out


def _upstream(context: Context, signals: Signals, tag: str) -> Array:
    """Gauge pressure before a meter [Pa]. Before a shut valve it rests under pressure: no zero to take off."""
    instrument, zero = context.campaign.bench.instruments[tag], signals.zeros.get(tag)
    floor = context.run.ambient.value if instrument.measures == "abs" else 0.0
    if zero is not None and abs(zero.before - floor) > UNDER_PRESSURE * instrument.span:
        return signals.values[tag] - floor
    return signals.clean[tag]
