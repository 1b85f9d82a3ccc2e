"""An engine balance in words: set points, what to expect, where the doubt comes from; or why there are none."""

from headrace.app import Balanced
from headrace.doors.spoken.common import WORDS
from headrace.doors.terminal import heading, indented, line, table
from headrace.notices import Severity
from headrace.paper.numbers import bounds, half, part_of, pieces
from headrace.records.answers import Estimate
from headrace.records.given import Tank
from headrace.units import format_value, printed

MOST = 5
EXPECTED = {
    "p_chamber": "chamber pressure",
    "of_ratio": "mixture ratio O/F",
    "m_dot.ox": "oxidiser flow",
    "m_dot.fuel": "fuel flow",
    "m_dot.total": "total flow",
    "drop.ox": "oxidiser injector drop",
    "drop.fuel": "fuel injector drop",
}
MANIFOLDS = {"manifold_unlit": "primed, unlit", "manifold_lit": "lit"}
SHOWN = {"tanks.ox": "oxidiser tank", "tanks.fuel": "fuel tank"} | dict(list(EXPECTED.items())[:2])


def asked(done: Balanced) -> None:
    """What the balance was asked."""
    request = done.request
    told = []
    for side, words in WORDS.items():
        if (p := request.get(f"tanks.{side}")) is not None:
            told.append(f"{words} tank {_plain(p, 'Pa', 'gauge')} flowing")
    if (p := request.get("p_chamber")) is not None:
        told.append(f"chamber pressure {_plain(p, 'Pa', 'abs')}")
    if (m_dot := request.get("m_dot")) is not None:
        told.append(f"total flow {_plain(m_dot, 'kg/s', None)}")
    if (ratio := request.get("of_ratio")) is not None:
        told.append(f"O/F {ratio:.4g}")
    line(f"Asked: {', '.join(told)}.")


def set_points(done: Balanced) -> bool:
    """Tank pressures, or why there are none; whether there are any."""
    values = done.answer.values
    if not all(f"tanks.{side}" in values for side in WORDS):
        heading("No set points")
        _why_none(done)
        return False
    coverage = values["tanks.ox"].coverage
    heading(f"Set points, ± and interval at {100 * coverage:.3g} %")
    if done.stopped:
        line("A stop stands, see below: do not set these pressures.")
    engine = done.campaign.engine
    rows = [
        (
            WORDS[side],
            str(pieces(values[f"tanks.{side}"])),
            bounds(values[f"tanks.{side}"]),
            str(pieces(values[f"static.{side}"])),
            _limits(engine.sides[side].tank) if engine is not None else "",
        )
        for side in WORDS
    ]
    table(("tank", "flowing", "interval", "static", "limits given"), rows)
    if engine is not None:
        barometer = format_value(engine.ambient.value, dimension="pressure", kind="abs", unit="mbar")
        line(f"Gauge pressures, at a barometer of {barometer}.")
    return True


def expected(done: Balanced, title: str) -> bool:
    """What the engine should do; whether there is an answer."""
    values = done.answer.values
    if "p_chamber" not in values:
        heading("No answer")
        _why_none(done)
        return False
    heading(f"{title}, ± and interval at {100 * values['p_chamber'].coverage:.3g} %")
    rows = [(words, *_told(values[path])) for path, words in EXPECTED.items() if path in values]
    rows += [
        (f"{WORDS[side]} manifold, {words}", *_told(values[f"{path}.{side}"]))
        for side in WORDS
        for path, words in MANIFOLDS.items()
        if f"{path}.{side}" in values
    ]
    table(("quantity", "value", "interval"), rows)
    correlation = done.answer.correlation
    if correlation is not None:
        line(f"Chamber pressure and mixture ratio go together with a correlation of {correlation:+.2f}.")
    return True


def spreads(done: Balanced) -> None:
    """The scatter on these gauges and the setting tolerance, apart from the doubt of the pressures."""
    facts = done.answer.facts
    if "setting.p_chamber" not in facts:
        return
    heading("Two other spreads, not to be added to the doubt of the set points by hand")
    rows = [
        (
            words,
            half(2 * facts[f"{what}.p_chamber"], "Pa")
            if what == "gauge"
            else half(facts[f"{what}.p_chamber"], "Pa"),
            half(2 * facts[f"{what}.of_ratio"], "1")
            if what == "gauge"
            else half(facts[f"{what}.of_ratio"], "1"),
        )
        for what, words in (
            ("gauge", "scatter when set on these gauges (k = 2)"),
            ("setting", "setting tolerance of the crew (limits)"),
        )
    ]
    table(("spread", "chamber pressure", "O/F"), rows)


def budgets(done: Balanced) -> None:
    """The largest sources of what is asked most."""
    heading("Where the doubt comes from: parts at k = 1, and their share of u²")
    rows = []
    for path, words in SHOWN.items():
        total, lines = done.answer.values.get(path), done.answer.budgets.get(path, ())
        if total is None or not total.u > 0:
            continue
        ranked = sorted(lines, key=lambda one: (-abs(one.share), one.source))
        for at, one in enumerate(ranked[:MOST]):
            part = part_of(abs(one.contribution), total.u, total.unit)
            rows.append((words if at == 0 else "", f"{100 * one.share:.0f} %", part, one.source, one.origin))
    table(("of", "share", "part", "source", "by whose word"), rows, right=(1, 2))


def assumptions(done: Balanced) -> None:
    """What was taken for granted, and on whose word."""
    if not done.answer.assumptions:
        return
    heading("Taken for granted")
    for what, value, whose in done.answer.assumptions:
        indented("  ", f"{what}: {value}" + (f"; {whose}" if whose else ""))


def _why_none(done: Balanced) -> None:
    for notice in done.answer.notices:
        if notice.severity is Severity.STOP:
            line(notice.text if notice.text.endswith(".") else notice.text + ".")


def _told(value: Estimate) -> tuple[str, str]:
    return str(pieces(value)), bounds(value)


def _limits(tank: Tank) -> str:
    named = [(name, p) for name, p in (("relief", tank.relief), ("rating", tank.rating)) if p is not None]
    told = [(name, printed(p, dimension="pressure", kind="gauge", digits=3)) for name, p in named]
    return ", ".join(f"{name} {one.number}" for name, one in told) + (f" {told[0][1].unit}" if told else "")


def _plain(value: float, unit: str, kind: str | None) -> str:
    dimension = {"Pa": "pressure", "kg/s": "mass_flow"}[unit]
    return format_value(value, dimension=dimension, kind=kind)
