"""A move of air after which there is more or less of it than before, by p times V of both vessels."""

from headrace.findings.evidence import DayEvidence
from headrace.notices import Notice, Severity
from headrace.records.day import Step

CLEAR = 2.0
"""Standard uncertainties of the balance beyond which it does not close."""

HEAT = 0.02
"""Share of the total that heat from the walls may bring or take while air is moved. Common practice."""


def find(evidence: DayEvidence) -> tuple[Notice, ...]:
    """One notice for each move that does not balance; those with a reading or a gas volume missing are passed over."""
    return tuple(
        notice
        for step in evidence.day.steps
        if step.event.what == "move"
        for notice in (_backwards(step) or _balance(step))
    )


def _backwards(step: Step) -> tuple[Notice, ...]:
    """A giver that rose, or a taker that fell: no balance is needed to see it."""
    event = step.event
    for word, sign, verb in (("from", 1.0, "gave air and rose"), ("to", -1.0, "took air and fell")):
        name = event.words[word]
        old, new = step.before[name].p_gauge, event.p_gauge.get(name)
        if old is None or old.stale or old.how != "read" or new is None:
            continue
        change, u = new.value - old.value, (old.u**2 + new.u**2) ** 0.5
        heat = HEAT * (old.value + step.ambient.value)
        if sign * change <= CLEAR * u + heat:
            continue
        return (
            Notice(
                code="air-unbalanced",
                severity=Severity.DOUBT,
                text=(
                    f"ledger.toml, line {event.line}, {event.place}: {name} {verb}, from {old.value / 1e5:.4g} "
                    f"bar(g) (event {old.number}) to {new.value / 1e5:.4g} bar(g), where "
                    f"±{(CLEAR * u + heat) / 1e5:.3g} bar is what the readings and heat allow."
                ),
                facts=(("p_rise" if change > 0 else "p_fall", abs(change)), ("u", u)),
                limit=f"{CLEAR:g} standard uncertainties and {100 * HEAT:g} % for heat; air goes from high to low",
                try_=(
                    "likely in this order: a pressure mistyped; the two vessels of the move interchanged; a fill or "
                    "vent not written down"
                ),
                about=f"vessel {name}",
            ),
        )
    return ()


def _balance(step: Step) -> tuple[Notice, ...]:
    names = (step.event.words["from"], step.event.words["to"])
    if not step.event.p_gauge.keys() >= set(names):
        return ()
    content = [0.0, 0.0]
    u2 = 0.0
    for name in sorted(step.touched):  # what is joined to the two by an open valve takes part
        old, new, gas = step.before[name].p_gauge, step.after[name].p_gauge, step.before[name].gas
        if (
            gas is None
            or gas.stale
            or old is None
            or old.stale
            or new is None
            or new.number != step.event.number
        ):
            return ()
        if name in names and old.how != "read":
            return ()
        content[0] += (old.value + step.ambient.value) * gas.value
        content[1] += (new.value + step.ambient.value) * gas.value
        u2 += gas.value**2 * (old.u**2 + new.u**2) + (new.value - old.value) ** 2 * gas.u**2
    gained, u = content[1] - content[0], u2**0.5
    if abs(gained) <= CLEAR * u + HEAT * content[0]:
        return ()
    event = step.event
    likely = (
        "a fill not written down, or a supply valve that weeps; a pressure mistyped; the volume of a vessel"
        if gained > 0
        else "a vent or leak on the way; a third vessel that was open too; a pressure mistyped; the volume of a vessel"
    )
    return (
        Notice(
            code="air-unbalanced",
            severity=Severity.DOUBT,
            text=(
                f"ledger.toml, line {event.line}, {event.place}: {names[0]} and {names[1]} hold "
                f"{100 * gained / content[0]:+.3g} % of their air after the move, by p times V, where "
                f"±{100 * (CLEAR * u / content[0] + HEAT):.3g} % is what the readings allow."
            ),
            facts=(("gained", gained), ("u", u)),
            limit=f"{CLEAR:g} standard uncertainties and {100 * HEAT:g} % for heat; the sum of p V stays in a move",
            try_=f"likely in this order: {likely}",
            about=f"vessels {names[0]}, {names[1]}",
        ),
    )
