"""One invented run: its true hardware, its signals, its files. Start at `Runner.write`."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, pi, sqrt
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from headrace.demo.simulator import bench, folder, instruments, liquids, logger
from headrace.demo.simulator.plan import CircuitPlan, LinePlan, MeterPlan, Plan, RunPlan, Stream
from headrace.demo.simulator.said import SIZE, Draws, Said

Array = NDArray[np.float64]

SETTLED = 0.5  # after the valve stands open, before a run counts as steady [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueRun:
    """What truly flowed in a run.

    area_eff: per circuit, this run's own (set-up and day included), on total pressure [m2]. mass: through each line,
    opening to shut [kg]. fall: of the level in each vessel [m]. p_end: of the air as the flow ends [Pa gauge]. re,
    drop: per circuit, least and largest while steady (Reynolds number on the bore; Pa).
    """

    area_eff: Mapping[str, float]
    mass: Mapping[str, float]
    re: Mapping[str, tuple[float, float]]
    drop: Mapping[str, tuple[float, float]]
    fall: Mapping[str, float]
    p_end: float
    steady: tuple[float, float]


class Runner:
    """One run: its true hardware, its signals, its files."""

    def __init__(self, plan: Plan, run: RunPlan, draws: Draws, area: Mapping[str, float]) -> None:
        self.plan, self.run, self.draws, self.area = plan, run, draws, area
        self.devices = {d.tag: d for d in plan.devices}
        self.circuits = {c.id: c for c in plan.circuits}
        self.used = [line for line in plan.lines if any(line.id in s.lines for s in run.streams)]
        self.ambient = draws.true(f"{run.id}.ambient", run.ambient)
        self.temp = draws.true(f"{run.id}.water_temperature", run.water)
        pure = liquids.water_density(temp=self.temp, p_gauge=0.5 * run.p_start)
        self.water = bench.Water(
            rho=pure * (1 + draws.normal("water.density", plan.doubts.water_density)),
            mu=liquids.water_viscosity(temp=self.temp),
            p_vap=liquids.water_vapour_pressure(temp=self.temp),
        )
        self.valve = bench.Valve(opens=run.before, closes=run.before + run.flowing)
        count = round((run.before + run.flowing + self.valve.travel + run.after) * run.rate)
        self.time = np.arange(count) / run.rate

    def write(self, directory: Path) -> TrueRun:
        directory.mkdir(parents=True, exist_ok=True)
        signals = self._signals()
        run, by_hand = self.run, self.run.method == "by-hand"
        water = run.water.text() if by_hand or not all(line.thermometer for line in self.used) else None
        hand = list(self._hand(signals)) if by_hand else []
        stored, channels = (None, {}) if by_hand else self._stored(signals)
        file = None if stored is None else f"{run.id}.csv"
        if stored is not None and file is not None:
            folder.store(directory, file, stored.data)
        text = folder.run(
            run,
            streams=[self._flow(stream) for stream in run.streams],
            answers=stored.answers if stored else {},
            channels=channels,
            file=file,
            water=water,
            total=self._total(signals),
            hand=hand,
        )
        (directory / "run.toml").write_text(text, encoding="utf-8")
        return self._true(signals)

    def _flow(self, stream: Stream) -> dict[str, object]:
        gauge = "PG-HAND" if self.run.method == "by-hand" else self.circuits[stream.circuit].gauge
        return {"circuits": [stream.circuit], "lines": list(stream.lines), "p_tap": gauge}

    def _signals(self) -> bench.Signals:
        run, draws = self.run, self.draws
        supplies = [self._supply(line) for line in self.used]
        outlets = [self._outlet(stream) for stream in run.streams]
        ripple = instruments.ripple(draws, run.id, self.time.size, self.plan.ripple)
        signals = bench.run(
            time=self.time,
            air=bench.Air(
                volume=self.plan.air_volume + 0.05 * len(supplies),
                p_abs=run.p_start + self.ambient,
                temp=self.temp,
                conductance=150.0,
            ),
            supplies=supplies,
            outlets=outlets,
            valve=self.valve,
            water=self.water,
            p_ambient=self.ambient,
            ripple=ripple,
        )
        late = run.faults.breakthrough
        return signals if late is None else _with_gas(signals, run.before + late, draws.dice(f"{run.id}.gas"))

    def _supply(self, line: LinePlan) -> bench.Supply:
        vessel = next(v for v in self.plan.vessels if v.id == line.vessel)
        return bench.Supply(
            id=line.id,
            level=vessel.level,
            section=self.draws.true(f"{vessel.id}.section", vessel.section) if vessel.section else 0.28,
            area_valve=line.area_valve,
            area_line=line.area_line,
            venturi=self._venturi(line.meter) if line.meter else None,
        )

    def _venturi(self, meter: MeterPlan) -> bench.Venturi:
        true = self.draws.true
        return bench.Venturi(
            d_pipe=true(f"{meter.id}.d_pipe", meter.d_pipe),
            d_throat=true(f"{meter.id}.d_throat", meter.d_throat),
            c=true(f"{meter.id}.c", meter.c),
        )

    def _outlet(self, stream: Stream) -> bench.Outlet:
        circuit, run, draws, doubts = self.circuits[stream.circuit], self.run, self.draws, self.plan.doubts
        setup = draws.normal(f"{run.id}.{circuit.id}.setup", doubts.run_to_run)
        day = draws.normal(f"{run.date}.{circuit.id}.day", doubts.day_to_day)
        area = self.area[circuit.id] * exp(setup + day)
        if len(run.streams) > 1:
            area *= circuit.together
        neighbours = [c for c in self.area if c != circuit.id]
        return bench.Outlet(
            id=circuit.id,
            supplies=tuple(self.used.index(line) for line in self.used if line.id in stream.lines),
            area=area,
            tap_area=pi / 4 * circuit.tap_bore.si**2,
            tap_height=draws.true(f"{circuit.tap}.height", circuit.tap_height),
            outlet_height=circuit.outlet_height.si,
            re_mid=self._re_mid(circuit),
            slope=circuit.slope,
            bores=circuit.count * circuit.bore.si,
            choke=circuit.choke,
            inertance=next(line.inertance for line in self.used if line.id in stream.lines),
            leak=run.faults.leak,
            area_neighbour=self.area[neighbours[0]] if neighbours else 1.0,
        )

    def _re_mid(self, circuit: CircuitPlan) -> float:
        """Reynolds number in water at a drop of 4 bar."""
        flow = self.area[circuit.id] * sqrt(2 * self.water.rho * 4e5)
        return 4 * flow / (pi * self.water.mu * circuit.count * circuit.bore.si)

    def _logged(self, signals: bench.Signals) -> dict[str, Array]:
        """True values by tag, for all that this run's logger stores."""
        true: dict[str, Array] = {}
        still = np.zeros(self.time.size)
        streams = {stream.circuit: k for k, stream in enumerate(self.run.streams)}
        for line in self.plan.lines:
            j = self.used.index(line) if line in self.used else None
            if j is None and not self.plan.log_all:
                continue
            if line.meter is not None:
                true[line.meter.dp] = still if j is None else signals.dp_meter[j]
                if line.meter.p_up is not None:
                    true[line.meter.p_up] = still if j is None else signals.p_up[j]
            if line.thermometer is not None:
                true[line.thermometer] = np.full(self.time.size, self.temp)
        for circuit in self.plan.circuits:
            if circuit.id in streams:
                true[circuit.gauge] = signals.p_tap[streams[circuit.id]]
            elif self.plan.log_all:
                true[circuit.gauge] = signals.p_neighbour.sum(axis=0)
        return true

    def _stored(self, signals: bench.Signals) -> tuple[logger.Stored, dict[str, tuple[str, str]]]:
        run, draws, faults = self.run, self.draws, self.run.faults
        loaded = signals.opening > 0
        columns, channels = [], {}
        for tag, true in self._logged(signals).items():
            device = self.devices[tag]
            shift, sluggish = None, 0.0
            if faults.air_leg is not None and faults.air_leg[0] == tag:
                shift, sluggish = self._air_leg(signals, faults.air_leg[1], loaded), 0.35
            value = device.stored(
                true,
                draws=draws,
                run=run.id,
                on=run.date,
                step=1 / run.rate,
                loaded=loaded,
                tared=device.measures != "temperature",
                extra_shift=shift,
                sluggish=sluggish,
            )
            name = self.plan.columns.get(tag, tag)
            unit = "mA" if device.signal else device.unit
            warm = device.measures == "temperature"
            values = value - 273.15 if warm else device.scaled(value) / SIZE[unit]
            columns.append(logger.Column(name=name, unit=unit, values=values))
            mark = "(g)" if device.measures == "gauge" and not device.signal else ""
            channels[name] = (tag, f"{unit}{mark}")
        start = datetime.datetime(run.date.year, run.date.month, run.date.day, run.hour, 12)
        clock = self.time
        if faults.clock_jump is not None:
            clock = logger.jumped(clock, at=run.before + faults.clock_jump[0], by=faults.clock_jump[1])
        stored = logger.write(run.dialect, time=clock, columns=columns, start=start)
        if faults.spoilt_lines:
            data = logger.spoilt(
                stored.data, count=faults.spoilt_lines, dice=draws.dice(f"{run.id}.spoilt_lines")
            )
            stored = replace(stored, data=data)
        if run.dialect == "spaces":
            channels = {name.replace(" ", "_"): value for name, value in channels.items()}
        return stored, channels

    def _air_leg(self, signals: bench.Signals, length: float, loaded: NDArray[np.bool_]) -> Array:
        """Water climbs into the leg as its air is squeezed; part of the air has gone when the pressure is off again."""
        weight = self.water.rho * bench.GRAVITY * length
        squeezed = 1 - self.ambient / (self.ambient + np.maximum(signals.p_tap.max(axis=0), 0.0))
        after = np.cumsum(loaded) > 0
        return weight * np.where(loaded, squeezed, np.where(after, 0.4, 0.0))

    def _steady(self, signals: bench.Signals) -> NDArray[np.bool_]:
        start, end = self._limits()
        return (signals.time >= start) & (signals.time <= end)

    def _limits(self) -> tuple[float, float]:
        end = self.valve.closes
        if self.run.faults.breakthrough is not None:
            end = self.run.before + self.run.faults.breakthrough
        return self.valve.opens + self.valve.travel + SETTLED, end

    def _true(self, signals: bench.Signals) -> TrueRun:
        steady = self._steady(signals)
        area, re, drop = {}, {}, {}
        for k, stream in enumerate(self.run.streams):
            circuit = self.circuits[stream.circuit]
            flow = signals.flow[k][steady]
            reynolds = 4 * flow / (pi * self.water.mu * circuit.count * circuit.bore.si)
            area[circuit.id] = float(signals.area[k][steady].mean())
            re[circuit.id] = (float(reynolds.min()), float(reynolds.max()))
            drop[circuit.id] = (float(signals.drop[k][steady].min()), float(signals.drop[k][steady].max()))
        mass = {line.id: float(signals.spent[j, -1]) for j, line in enumerate(self.used)}
        fall: dict[str, float] = {}
        for line in self.used:
            vessel = next(one for one in self.plan.vessels if one.id == line.vessel)
            section = self.draws.true(f"{vessel.id}.section", vessel.section) if vessel.section else 0.28
            fall[vessel.id] = fall.get(vessel.id, 0.0) + mass[line.id] / self.water.rho / section
        closed = int(np.searchsorted(self.time, self.valve.closes + self.valve.travel)) - 1
        p_end = float(signals.p_air[closed]) - self.ambient
        return TrueRun(
            area_eff=area, mass=mass, re=re, drop=drop, fall=fall, p_end=p_end, steady=self._limits()
        )

    def _total(self, signals: bench.Signals) -> list[tuple[str, object]]:
        run, draws = self.run, self.draws
        line, pairs = self.used[0], []
        if run.scale is not None:
            shown = self.devices[run.scale].weighed(float(signals.spent[:, -1].sum()), draws)
            seen = shown - draws.within(f"{run.id}.total", run.scale_doubt)
            mass = Said(value=round(seen, 3), unit="kg", half=run.scale_doubt)
            pairs += [("mass", mass), ("instrument", run.scale), ("line", line.id)]
        if run.level:
            vessel = next(v for v in self.plan.vessels if v.id == line.vessel)
            assert vessel.section is not None
            fall = (
                float(signals.spent[0, -1])
                / self.water.rho
                / draws.true(f"{vessel.id}.section", vessel.section)
            )
            read = []
            for moment, level in (("before", vessel.level), ("after", vessel.level - fall)):
                seen = level - draws.within(f"{run.id}.level_{moment}", 1e-3)
                read.append(Said(value=round(seen, 4), unit="m", half=1.0, doubt_unit="mm"))
            pairs += [("vessel", vessel.id), ("level_before", read[0]), ("level_after", read[1])]
            pairs += [] if run.scale else [("line", line.id)]
        if run.method == "by-hand":
            begin, end = self._stopwatch(signals)
            seen = end - begin - draws.within(f"{run.id}.duration", run.stopwatch)
            pairs.append(("duration", Said(value=round(seen, 2), unit="s", half=run.stopwatch)))
        return pairs

    def _stopwatch(self, signals: bench.Signals) -> tuple[float, float]:
        """When somebody who watches the jets would press: the flow that the ramps lack or add balances out."""
        flow, time = signals.flow[0], signals.time
        full = (time > self.valve.opens + self.valve.travel) & (time < self.valve.closes)
        first, last = float(flow[full][0]), float(flow[full][-1])
        early, late = time <= time[full][0], time >= time[full][-1]
        begin = float(time[full][0] - np.trapezoid(flow[early], time[early]) / first)
        end = float(time[full][-1] + np.trapezoid(flow[late], time[late]) / last)
        return begin, end

    def _hand(self, signals: bench.Signals) -> Sequence[list[tuple[str, object]]]:
        """A dial at the tap, read soon after opening and just before closing, by the stopwatch."""
        device, draws, run = self.devices["PG-HAND"], self.draws, self.run.id
        begin, end = self._stopwatch(signals)
        readings = []
        for moment, said in (("start", 0.5), ("end", round(end - begin - 0.5, 1))):
            at = begin + said + draws.within(f"{run}.{device.tag}.{moment}.time", 0.3)
            true = float(np.interp(at, signals.time, signals.p_tap[0]))
            seen = device.by_eye(true, draws=draws, run=run, moment=moment)
            readings.append(
                [
                    ("instrument", device.tag),
                    ("moment", moment),
                    ("value", Said(value=round(seen / 1e5, 2), unit="bar", mark="(g)")),
                    ("time", Said(value=said, unit="s", half=0.3)),
                    ("reader", self.run.reader),
                ]
            )
        return readings


def _with_gas(signals: bench.Signals, at: float, dice: np.random.Generator) -> bench.Signals:
    """From `at` on gas comes with the water: both drops sink and tremble, each in its own way."""
    since = np.clip((signals.time - at) / 0.3, 0.0, 1.0) * (signals.m_dot.sum(axis=0) > 0)
    meter = 1 - since * (0.35 + 0.25 * dice.uniform(-1, 1, signals.time.size))
    head = 1 - since * (0.20 + 0.15 * dice.uniform(-1, 1, signals.time.size))
    return replace(signals, dp_meter=signals.dp_meter * meter, p_tap=signals.p_tap * head)
