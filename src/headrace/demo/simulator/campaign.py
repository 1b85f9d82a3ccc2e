"""A whole invented campaign: every truth drawn once, every run flowed, every file written.

Start at `write_campaign`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import exp, log, pi
from pathlib import Path

from headrace.demo.simulator import day, folder, liquids
from headrace.demo.simulator.engine import TrueEngine, TrueSide, c_star_between
from headrace.demo.simulator.instruments import Device
from headrace.demo.simulator.onerun import Runner, TrueRun
from headrace.demo.simulator.plan import CircuitPlan, Plan, SidePlan
from headrace.demo.simulator.said import Draws


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """All that is true of an invented campaign.

    area_eff: effective area per circuit alone in water [m2], on the basis of its tap. area_total: the same on total
    pressure there. area_hot: with propellants, on total pressure. factor_hot: area_hot / area_total. drawn: every error
    by its name.
    """

    seed: int
    area_eff: Mapping[str, float]
    area_total: Mapping[str, float]
    area_hot: Mapping[str, float]
    factor_hot: Mapping[str, float]
    engine: TrueEngine
    p_chamber: float
    of_ratio: float
    runs: Mapping[str, TrueRun]
    drawn: Mapping[str, float]

    def setpoints(self, *, p_chamber: float | None = None, of_ratio: float | None = None) -> dict[str, float]:
        """True flowing tank pressures [Pa gauge] for a point, the design point by default."""
        return self.engine.tanks_for(
            p_chamber=p_chamber or self.p_chamber, of_ratio=of_ratio or self.of_ratio
        )

    def predicted(self, tanks: Mapping[str, float]) -> dict[str, float]:
        """True p_chamber [Pa abs], of_ratio and flows when the stand's gauges show `tanks` [Pa gauge]."""
        return self.engine.chamber_from(tanks)

    def as_json(self) -> dict[str, object]:
        """For truth.json."""
        return {
            "invented": True,
            "seed": self.seed,
            "area_eff": dict(self.area_eff),
            "area_total": dict(self.area_total),
            "area_hot": dict(self.area_hot),
            "factor_hot": dict(self.factor_hot),
            "design": {"p_chamber": self.p_chamber, "of_ratio": self.of_ratio},
            "setpoints": self.setpoints(),
            "gauge_error": {name: side.gauge_error for name, side in self.engine.sides.items()},
            "runs": {
                name: {
                    "area_eff": dict(run.area_eff),
                    "mass": dict(run.mass),
                    "drop": {k: list(v) for k, v in run.drop.items()},
                    "steady": list(run.steady),
                }
                for name, run in self.runs.items()
            },
            "drawn": dict(sorted(self.drawn.items())),
        }


def write_campaign(directory: Path, plan: Plan, seed: int) -> Truth:
    """Write a complete campaign folder and tell what is true of it.

    Args:
        directory: made when missing; files of the same names are overwritten.
        seed: same plan and seed, same bytes.
    """
    draws = Draws(seed, plan.factors)
    directory.mkdir(parents=True, exist_ok=True)
    texts = {
        "campaign.toml": folder.campaign(plan),
        "bench.toml": folder.bench(plan),
        "certificates.toml": folder.certificates(plan),
        "article.toml": folder.article(plan),
        "engine.toml": folder.engine(plan),
    }
    for name, text in texts.items():
        (directory / name).write_text(text, encoding="utf-8")
    area = {c.id: c.area_eff * exp(draws.within(f"{c.id}.area", c.spread)) for c in plan.circuits}
    runs = {run.id: Runner(plan, run, draws, area).write(directory / "runs" / run.id) for run in plan.runs}
    if plan.ledger:
        (directory / "ledger.toml").write_text(day.ledger(plan, runs), encoding="utf-8")
    return _truth(plan, seed, draws, area, runs)


def _truth(
    plan: Plan, seed: int, draws: Draws, area: Mapping[str, float], runs: Mapping[str, TrueRun]
) -> Truth:
    what = plan.engine
    circuits = {c.id: c for c in plan.circuits}
    efficiency = draws.true("c_star.efficiency", what.efficiency)
    stretch = efficiency * exp(draws.normal("c_star.table", what.c_star_doubt))
    base = c_star_between(what.of_ratio, what.c_star)
    d_throat = draws.true("throat.diameter", what.d_throat)
    hot: dict[str, float] = {}
    sides: dict[str, TrueSide] = {}
    found: dict[str, float] = {}
    for name, side in what.sides.items():
        circuit = circuits[side.circuit]
        hot[circuit.id] = _hot_factor(plan, side, circuit, draws, runs)
        tap_area = pi / 4 * circuit.tap_bore.si**2
        velocity = tap_area**-2 if circuit.basis == "static" else 0.0
        found[circuit.id] = (area[circuit.id] ** -2 - velocity) ** -0.5
        sides[name] = TrueSide(
            area=area[circuit.id] * hot[circuit.id],
            tap_area=tap_area,
            feed_area=draws.true(f"{name}.feed", side.feed_area) if side.feed_area else None,
            feed_to_total=circuit.basis == "total",
            head=draws.true(f"{name}.head", side.head),
            lift=draws.true(f"{circuit.tap}.height", circuit.tap_height) - circuit.outlet_height.si,
            density=_density(name, side, draws),
            mu=side.mu,
            gauge_error=_gauge_error(side.gauge, draws),
            friction=side.friction.si if side.friction else 0.0,
            feed_re=side.feed_re or 1.0,
            feed_bore=side.feed_bore.si if side.feed_bore else 0.04,
        )
    engine = TrueEngine(
        sides=sides,
        c_star=lambda ratio: stretch * base(ratio),
        area_throat=pi / 4 * d_throat**2 * draws.true("throat.discharge", what.c_throat),
        p_ambient=draws.true("stand.barometer", what.ambient),
    )
    return Truth(
        seed=seed,
        area_eff=found,
        area_total=dict(area),
        area_hot={c: area[c] * f for c, f in hot.items()},
        factor_hot=hot,
        engine=engine,
        p_chamber=what.p_chamber.si,
        of_ratio=what.design_of,
        runs=dict(runs),
        drawn=dict(draws.made),
    )


COLD_SHRINKAGE = {"austenitic-steel": 0.0028, "aluminium": 0.0038, "copper": 0.0030, "none": 0.0}
"""Length lost from room temperature to 90 K, as a share (from memory of cryogenic tables); areas lose twice that."""


TABLE_DOUBT = {"lox": 5e-4, "kerosene": 0.0125}
"""How well a table knows the density without a batch of one's own (k = 1, relative)."""


def _hot_factor(
    plan: Plan,
    side: SidePlan,
    circuit: CircuitPlan,
    draws: Draws,
    runs: Mapping[str, TrueRun],
) -> float:
    """Effective area with propellant over effective area in water."""
    step = plan.usual_step[circuit.element] if side.step is None else side.step
    kept = [runs[run.id] for run in plan.runs if run.exclude is None]
    spans = [run.re[circuit.id] for run in kept if circuit.id in run.re]
    total = (
        plan.engine.p_chamber.si
        * pi
        / 4
        * plan.engine.d_throat.si**2
        / (plan.engine.c_star[0] * plan.engine.efficiency.si)
    )
    share = plan.engine.design_of if side.propellant == "lox" else 1.0
    flow = total * share / (1 + plan.engine.design_of)
    re = 4 * flow / (pi * side.mu * circuit.count * circuit.bore.si)
    low, high = min(span[0] for span in spans), max(span[1] for span in spans)
    distance = max(log(re / high), log(low / re), 0.0)
    doubt = draws.normal(f"{circuit.id}.re_distance", plan.doubts.re_distance) * distance
    slope = 1.0
    if circuit.slope:
        mid = (low * high) ** 0.5
        slope = 1 + circuit.slope * log(re / mid)
    cold = side.temperature.si < 200
    lost = COLD_SHRINKAGE[circuit.alloy] if cold else 0.0
    shrunk = (1 - lost * (1 + draws.normal(f"{circuit.id}.contraction", 1 / 3))) ** 2 if lost else 1.0
    return exp(draws.normal(f"{circuit.id}.step", step) + doubt) * slope * shrunk


def _gauge_error(gauge: Device, draws: Draws) -> float:
    """True minus indicated when a tank is set by this gauge: its class, and the eye that reads it."""
    eye = draws.within(f"{gauge.tag}.reading", (gauge.division or 0.0) / 4)
    return draws.within(f"{gauge.tag}.class", gauge.limits * gauge.span) + eye


def _density(name: str, side: SidePlan, draws: Draws) -> Callable[[float], float]:
    """Density at the propellant's true temperature, over pressure; a batch was weighed in open air as stated."""
    temp, law = draws.true(f"{name}.temperature", side.temperature), liquids.LIQUIDS[side.propellant]
    if side.density is None:
        stretch = 1 + draws.normal(f"{name}.density", TABLE_DOUBT[side.propellant])
    else:
        weighed = law(temp=side.temperature.si, p_abs=101325.0)
        stretch = draws.true(f"{name}.density", side.density) / weighed
    return lambda p_abs: stretch * law(temp=temp, p_abs=p_abs)
