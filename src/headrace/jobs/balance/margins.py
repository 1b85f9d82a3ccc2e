"""What the owner's limits say of a balance at nominal: *stop* when one is passed. Start at `judge`."""

from collections.abc import Mapping

from headrace.bench.elements import ELEMENTS
from headrace.notices import Notice, Severity
from headrace.physics.fluids import fluid
from headrace.physics.pressure import absolute
from headrace.records.given import Campaign, Instrument, Side

BAR = 1e5

CHOKED = 1.9
"""Chamber over ambient pressure below which the throat may not choke; common practice (1.7 to 1.9 for hot gases)."""

NEAR = 0.2
"""How far O/F may be from the design's, relative, for one value of c* to serve; common practice."""


def judge(
    campaign: Campaign, side: Side, nominal: Mapping[str, float], *, p_ambient: float
) -> tuple[Notice, ...]:
    """Injector drop, distance to the vapour pressure, cavitation in the engine.

    Args:
        nominal: "p_chamber", "drop.<side>", "manifold_lit.<side>" (gauge) of the answer. [Pa]
    """
    name, limits = side.id, campaign.limits
    p_chamber, drop = nominal["p_chamber"], nominal[f"drop.{name}"]
    manifold = float(absolute(p_gauge=nominal[f"manifold_lit.{name}"], p_ambient=p_ambient))
    p_vap = float(fluid(side.propellant).p_vap(side.temperature.value))
    out: list[Notice] = []
    if drop < limits.injector_drop * p_chamber:
        out.append(
            _stop(
                "injector-drop-low",
                f"The {name} injector drop is {100 * drop / p_chamber:.1f} % of chamber pressure "
                f"({drop / BAR:.2f} bar of {p_chamber / BAR:.2f} bar(a)).",
                f"at least {100 * limits.injector_drop:g} %, owner's limit",
                "smaller elements, or more flow: feed-coupled oscillation threatens below this",
                name,
                (("drop", drop), ("p_chamber", p_chamber)),
            )
        )
    margin = manifold - p_vap
    if margin < limits.vapour_margin:
        out.append(
            _stop(
                "manifold-near-boiling",
                f"The {name} manifold at {manifold / BAR:.2f} bar(a) is only {margin / BAR:.2f} bar above the vapour "
                f"pressure of {side.propellant} at {side.temperature.value:.1f} K ({p_vap / BAR:.2f} bar(a)).",
                f"at least {limits.vapour_margin / BAR:g} bar, owner's limit",
                "colder propellant or more manifold pressure; water areas do not hold for a boiling liquid",
                name,
                (("margin", margin), ("p_vap", p_vap)),
            )
        )
    plain = [c.id for c in side.circuits if not ELEMENTS[campaign.article.circuits[c.id].element].gas_cored]
    cav = (manifold - p_vap) / drop
    if plain and cav < limits.cavitation_doubt:
        hard = cav < limits.cavitation_stop
        out.append(
            Notice(
                code="cavitates-hot",
                severity=Severity.STOP if hard else Severity.DOUBT,
                text=f"Circuit {', '.join(plain)}: K = {cav:.2f} in the engine; {side.propellant} "
                f"{'cavitates' if hard else 'may cavitate'} in the holes.",
                facts=(("cav", cav),),
                limit=f"K > {limits.cavitation_doubt:g}, stop below {limits.cavitation_stop:g}; owner's limits",
                try_="less drop at the same chamber pressure, or colder propellant",
                about=f"{name} side",
            )
        )
    return tuple(out)


def choked(*, p_chamber: float, p_ambient: float) -> tuple[Notice, ...]:
    """Characteristic velocity gives the flow of a choked throat only. [Pa abs]"""
    if p_chamber > CHOKED * p_ambient:
        return ()
    return (
        _stop(
            "throat-not-choked",
            f"Chamber pressure {p_chamber / BAR:.2f} bar(a) is {p_chamber / p_ambient:.2f} times ambient: the throat "
            "may not choke, and c* says nothing of its flow then.",
            f"above {CHOKED:g} times ambient, common practice",
            "a higher chamber pressure",
            "chamber",
            (("p_chamber", p_chamber), ("p_ambient", p_ambient)),
        ),
    )


def one_c_star(*, of_ratio: float, design: float) -> tuple[Notice, ...]:
    """A single value of c* holds near one mixture ratio only; taken to be the design point's."""
    if abs(of_ratio / design - 1) <= NEAR:
        return ()
    return (
        Notice(
            code="c-star-one-value",
            severity=Severity.DOUBT,
            text=f"One value of c* holds near one O/F; none is stated, and O/F {of_ratio:.3g} is "
            f"{100 * abs(of_ratio / design - 1):.0f} % away from the design's {design:g}.",
            facts=(("of_ratio", of_ratio), ("low", design * (1 - NEAR)), ("high", design * (1 + NEAR))),
            limit=f"within {100 * NEAR:g} % of the design O/F, common practice",
            try_="give c_star as a table over O/F in engine.toml",
            about="c*",
        ),
    )


def tank_limits(side: Side, *, flowing: float, static: float, high: float) -> tuple[Notice, ...]:
    """Set points against the tank's rating and relief: *stop* when passed, *doubt* when their interval reaches it.

    Args:
        flowing, static: nominal set points; high: upper end of the higher one's interval. [Pa gauge]
    """
    tank, name = side.tank, side.id
    top = max(flowing, static) + tank.setting
    doubt = high - max(flowing, static)
    spread = f", up to {(top + doubt) / BAR:.2f} bar(g) with its doubt" if doubt > 0 else ""
    out: list[Notice] = []
    for what, limit in (("relief", tank.relief), ("rating", tank.rating)):
        if limit is None:
            out.append(
                Notice(
                    code=f"tank-{what}-not-given",
                    severity=Severity.DOUBT,
                    text=f"The {name} tank has no {what} in engine.toml; the set point was not held against it.",
                    limit="common practice: working pressure < relief < rating",
                    try_=f'write {name}.tank.{what} = "... bar(g)"',
                    about=f"{name} tank",
                )
            )
            continue
        if top > limit:
            out.append(
                _stop(
                    f"tank-{what}-passed",
                    f"The {name} tank would have to stand at {top / BAR:.2f} bar(g) (static "
                    "or flowing, with its setting "
                    f"tolerance{spread}); its {what} is {limit / BAR:.2f} bar(g): "
                    f"{(top - limit) / BAR:.2f} bar too much.",
                    f"{what} of the {name} tank, {limit / BAR:g} bar(g), engine.toml",
                    "less chamber pressure, less feed loss, or larger elements on this side",
                    f"{name} tank",
                    (("needed", top), ("limit", limit)),
                )
            )
        elif high + tank.setting > limit:
            out.append(
                Notice(
                    code=f"tank-{what}-near",
                    severity=Severity.DOUBT,
                    text=f"The upper end of the {name} set point's interval, {high / BAR:.2f} bar(g), reaches the "
                    f"{what} of {limit / BAR:.2f} bar(g).",
                    facts=(("high", high), ("limit", limit)),
                    limit=f"{what}, engine.toml",
                    try_="keep in hand what the engine may turn out to need",
                    about=f"{name} tank",
                )
            )
    return tuple(out)


def off_gauge(
    side: Side, dial: Instrument | None, *, flowing: float, static: float, high: float, p_ambient: float
) -> tuple[Notice, ...]:
    """Set points against the range of the gauge by which they are set: *stop* outside it, *doubt* close to its top.

    Args:
        dial: the tank's gauge; None when it has none, which is told elsewhere.
        flowing, static, high: as `tank_limits`. [Pa gauge]
    """
    if dial is None:
        return ()
    zero = p_ambient if dial.measures == "abs" else 0.0
    tag, name, low, top = dial.tag, side.id, dial.low - zero, dial.high - zero
    span = f"{low / BAR:.4g} to {top / BAR:.4g} bar(g)"
    limit = f"range of {tag}, {span}"
    try_ = f"another gauge on the {name} tank, described in engine.toml, or another set point"
    off = [(words, p) for words, p in (("flowing", flowing), ("static", static)) if not low <= p <= top]
    if off:
        words, p = off[-1]
        text = f"The {name} tank {words} at {p / BAR:.2f} bar(g) is off the gauge: {tag} shows {span}."
        facts = (("p_gauge", p), ("low", low), ("high", top))
        return (_stop("tank-off-gauge", text, limit, try_, f"{name} tank", facts),)
    reach = max(high, max(flowing, static) + side.tank.setting)
    if reach <= top:
        return ()
    return (
        Notice(
            code="tank-near-end-of-gauge",
            severity=Severity.DOUBT,
            text=f"The {name} tank may come to stand at {reach / BAR:.2f} bar(g), off the gauge: {tag} shows {span}.",
            facts=(("p_gauge", reach), ("low", low), ("high", top)),
            limit=limit,
            try_=try_,
            about=f"{name} tank",
        ),
    )


def _stop(
    code: str, text: str, limit: str, try_: str, about: str, facts: tuple[tuple[str, float], ...]
) -> Notice:
    return Notice(
        code=code, severity=Severity.STOP, text=text, facts=facts, limit=limit, try_=try_, about=about
    )
