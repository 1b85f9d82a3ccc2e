"""The one JSON codec: results as plain values, the same for every command, twin and file under results/.

Numbers are SI floats; what is no number (NaN, infinity) is null. A number with doubt is a quantity object (`quantity`).
Every document carries "headrace" (the version that made it), "schema" (of its shape) and "job". Keys are only ever
added within one schema number. Written down in docs/json.md. Start at `reduce` or `answer`; `text` makes the JSON text.
"""

import json
from collections.abc import Iterable, Mapping
from math import isfinite
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

from headrace import __version__
from headrace.errors import Problem
from headrace.jobs.day.events import EVENTS
from headrace.notices import Notice, Severity, merged
from headrace.records.answers import Answer, BudgetLine, Estimate
from headrace.records.compared import Compared, Difference
from headrace.records.day import Day, Known, Standing
from headrace.records.explained import Node
from headrace.records.given import Campaign, Stated
from headrace.records.ledger import Event
from headrace.records.readings import (
    Cause,
    Characteristic,
    Comparison,
    Crossover,
    ModelSeen,
    Reading,
    RunResult,
    characteristic_key,
)
from headrace.records.verdict import Verdict

if TYPE_CHECKING:
    from headrace.chain.water import Reduced

SCHEMA = 1
"""Of the shapes below: goes up when a key changes its meaning or goes."""

TWICE = "as_set."
"""The balance gives what is expected of set points under this prefix too; JSON tells each number once."""

SET_POINTS = ("tanks", "static")

Plain = dict[str, Any]


def text(document: Mapping[str, Any]) -> str:
    """JSON text of a document, in ASCII so that no terminal or pipe can spoil it."""
    return json.dumps(document, indent=1, allow_nan=False)


def head(job: str) -> Plain:
    """What every document begins with."""
    return {"headrace": __version__, "schema": SCHEMA, "job": job}


def number(value: float | None) -> float | None:
    """A float that JSON can hold, or None."""
    return float(value) if value is not None and isfinite(value) else None


def quantity(estimate: Estimate | None) -> Plain | None:
    """A number with its doubt: SI value, unit, kind of pressure, the GUM's u, interval, coverage, method, dof."""
    if estimate is None or not isfinite(estimate.value):
        return None
    return {
        "value": number(estimate.value),
        "unit": estimate.unit,
        "kind": estimate.kind,
        "u": number(estimate.u),
        "low": number(estimate.low),
        "high": number(estimate.high),
        "coverage": number(estimate.coverage),
        "method": estimate.method,
        "dof": number(estimate.dof),
    }


def notice(one: Notice) -> Plain:
    """A doubt; facts are SI numbers by name."""
    return {
        "code": one.code,
        "severity": one.severity.value,
        "text": one.text,
        "run": one.run,
        "about": one.about,
        "limit": one.limit,
        "try": one.try_,
        "facts": {name: number(value) for name, value in one.facts},
    }


def notices(many: Iterable[Notice]) -> list[Plain]:
    """Doubts, gravest first."""
    return [notice(one) for one in merged(many)]


def problem(one: Problem) -> Plain:
    """One fault of what was given."""
    return {
        "file": one.file,
        "line": one.line,
        "key": one.key,
        "found": one.found,
        "expected": one.expected,
        "try": one.try_,
    }


def problems(job: str, many: Iterable[Problem]) -> Plain:
    """What a command says, instead of its result, when something given must be mended."""
    return head(job) | {"problems": [problem(one) for one in many], "notices": []}


def no_answer(job: str, why: str) -> Plain:
    """What a command says where the equations have no answer at all."""
    stop = Notice(code="no-answer", severity=Severity.STOP, text=f"There is no answer: {why}.")
    return head(job) | {"problems": [], "notices": [notice(stop)]}


def check(*, problems: Iterable[Problem], questions: Iterable[Problem], notices: Iterable[Notice]) -> Plain:
    """What `check` found: must be mended; asked and not answered yet; doubts."""
    return head("check") | {
        "problems": [problem(one) for one in problems],
        "questions": [problem(one) for one in questions],
        "notices": [notice(one) for one in merged(notices)],
    }


def new(files: Iterable[str]) -> Plain:
    """Files that `new` wrote."""
    return head("new") | {"files": list(files), "problems": [], "notices": []}


def look(report: Mapping[str, Any], *, notes: Iterable[str]) -> Plain:
    """What a logger file holds. report: the reader's own, in plain values."""
    return head("bring") | dict(report) | {"notes": list(notes)}


def bring(
    report: Mapping[str, Any],
    *,
    notes: Iterable[str],
    run: str,
    file: str,
    sha256: str,
    mapped: Mapping[str, str],
    unmapped: Iterable[str],
    draft_open: Iterable[str],
) -> Plain:
    """As `look`, and what was made of it. draft_open: keys of the drafted run.toml that still hold a "?"."""
    return look(report, notes=notes) | {
        "run": run,
        "file": file,
        "sha256": sha256,
        "mapped": dict(mapped),
        "unmapped": list(unmapped),
        "draft_open": list(draft_open),
    }


def reduce(campaign: Campaign, reduced: "Reduced") -> Plain:
    """Circuits with their readings and characteristics, runs with windows and closure, doubts."""
    readings: dict[str, list[Reading]] = {}
    for run in reduced.runs.values():
        for reading in run.readings:
            readings.setdefault(characteristic_key(reading.stream, reading.state), []).append(reading)
    keys = dict.fromkeys((*campaign.article.circuits, *reduced.characteristics, *readings))
    circuits = {
        key: _circuit(key, reduced.characteristics.get(key), readings.get(key, []), readings)
        for key in keys
        if key in reduced.characteristics or key in readings or _elsewhere(key, readings)
    }
    return head("reduce") | {
        "campaign": _campaign(campaign),
        "circuits": circuits,
        "runs": {key: _run(run, campaign) for key, run in reduced.runs.items()},
        "comparisons": [_comparison(one) for one in reduced.comparisons],
        "crossovers": [_crossover(one) for one in reduced.crossovers],
        "notices": notices(reduced.notices),
    }


def answer(job: str, campaign: Campaign, found: Answer, *, request: Mapping[str, float | None]) -> Plain:
    """What `predict` or `setpoints` says: a quantity at each dotted path, its budget under the same path.

    An answer that does not exist leaves out its quantities; of set points nothing at all is told then.
    """
    paths = [path for path in found.values if not path.startswith(TWICE)]
    method = next((found.values[path].method for path in paths), None)
    out = head(job) | {"campaign": _campaign(campaign), "request": {k: number(v) for k, v in request.items()}}
    if job == "setpoints":
        out |= {name: {} for name in SET_POINTS}
    return (
        out
        | _nested({path: quantity(found.values[path]) for path in paths})
        | {
            "correlation": number(found.correlation),
            "budget": {path: _budget(found.budgets.get(path, ())) for path in paths},
            "parts": {
                path: {group: number(u) for group, u in found.parts.get(path, {}).items()} for path in paths
            },
            "facts": {name: number(value) for name, value in found.facts.items()},
            "assumptions": [
                {"what": what, "value": value, "whose": whose} for what, value, whose in found.assumptions
            ],
            "draws": found.draws,
            "lost": found.lost,
            "method": method,
            "notices": notices(found.notices),
        }
    )


def day(campaign: Campaign, walked: Day, found: Iterable[Notice]) -> Plain:
    """What stands where, the events behind it, and what contradicts itself."""
    coverage = campaign.defaults.coverage
    last = walked.steps[-1].event if walked.steps else None
    return head("day") | {
        "campaign": _campaign(campaign),
        "at": last.moment.isoformat() if last is not None else None,
        "state": {name: _standing(one, campaign, coverage) for name, one in walked.vessels.items()},
        "valves": dict(walked.valves),
        "ambient": _stated(walked.ambient, "Pa", "abs", coverage),
        "water_temperature": _stated(walked.water_temperature, "K", None, coverage),
        "air": {
            "added": _known(walked.air_added, "kg", None, coverage),
            "vented": _known(walked.air_vented, "kg", None, coverage),
        },
        "since_run": _since_run(walked, coverage),
        "events": [_event(step.event, coverage) for step in walked.steps],
        "notices": notices(found),
    }


def _since_run(walked: Day, coverage: float) -> Plain | None:
    """What changed since the last run; null where there was none."""
    step = walked.last_run
    if step is None:
        return None
    changed = {name: (step.after[name], now) for name, now in walked.vessels.items()}
    return {
        "run": step.event.words["run"],
        "events": sum(one.event.number > step.event.number for one in walked.steps),
        "pressure": {name: _change(old.p_gauge, now.p_gauge, "Pa", "drop", coverage)
                     for name, (old, now) in changed.items()},
        "level": {name: _change(old.level, now.level, "m", None, coverage) for name, (old, now) in changed.items()},
    }  # fmt: skip


def _change(
    old: Known | None, now: Known | None, unit: str, kind: str | None, coverage: float
) -> Plain | None:
    if old is None or now is None or old.stale or now.stale or old.number == now.number:
        return None
    return _interval(now.value - old.value, (old.u**2 + now.u**2) ** 0.5, unit, kind, coverage)


def _standing(one: Standing, campaign: Campaign, coverage: float) -> Plain:
    return {
        "content": campaign.bench.vessels[one.vessel].content,
        "pressure": _known(one.p_gauge, "Pa", "gauge", coverage),
        "level": _known(one.level, "m", None, coverage),
        "water": _known(one.water, "m3", None, coverage),
        "gas": _known(one.gas, "m3", None, coverage),
        "air": _known(one.air, "kg", None, coverage),
        "temperature": _known(one.temp, "K", None, coverage),
        "soak": number(one.soak),
        "stale": {name: known.stale for name, known in (("pressure", one.p_gauge), ("level", one.level))
                  if known is not None and known.stale},
        "read": {name: known.number for name, known in (("pressure", one.p_gauge), ("level", one.level))
                 if known is not None and known.how == "read"},
    }  # fmt: skip


def _event(event: Event, coverage: float) -> Plain:
    return {
        "number": event.number,
        "line": event.line,
        "time": event.moment.isoformat(),
        "by": event.by,
        "what": event.what,
        "text": EVENTS[event.what].tell(event),
        "note": event.note,
        "pressure": {name: _stated(one, "Pa", "gauge", coverage) for name, one in event.p_gauge.items()},
        "level": {name: _stated(one, "m", None, coverage) for name, one in event.level.items()},
        "valves": dict(event.valves),
        "run": event.words.get("run"),
    }


def _known(one: Known | None, unit: str, kind: str | None, coverage: float) -> Plain | None:
    return None if one is None else _interval(one.value, one.u, unit, kind, coverage)


def _stated(one: Stated | None, unit: str, kind: str | None, coverage: float) -> Plain | None:
    return None if one is None else _interval(one.value, one.u, unit, kind, coverage)


def _interval(value: float, u: float, unit: str, kind: str | None, coverage: float) -> Plain | None:
    half = NormalDist().inv_cdf(0.5 + coverage / 2) * u
    return quantity(
        Estimate(
            value=value, u=u, low=value - half, high=value + half, unit=unit, kind=kind, coverage=coverage
        )
    )


def verdict(campaign: Campaign, said: Verdict) -> Plain:
    """What is said of one run right after it."""
    return head("verdict") | {
        "campaign": _campaign(campaign),
        "run": said.run,
        "good": said.good,
        "next": said.next,
        "what": said.what,
        "reasons": list(said.reasons),
        "settled": {name: quantity(one) for name, one in said.settled.items()},
        "basis": dict(said.basis),
        "notices": notices(said.notices),
    }


def compare(before: Campaign, after: Campaign, found: Compared, notes: Iterable[Notice]) -> Plain:
    """What changed from one campaign, or one date of it, to another."""
    return head("compare") | {
        "before": _campaign(before),
        "after": _campaign(after),
        "files": [{"file": one.file, "before": one.before, "after": one.after} for one in found.files],
        "keys": [
            {"file": one.file, "key": one.key, "before": one.before, "after": one.after} for one in found.keys
        ],
        "runs": [
            {"run": one.run, "what": one.what, "before": one.before, "after": one.after, "why": one.why}
            for one in found.runs
        ],
        "areas": {one.path.partition(".")[2]: _difference(one) for one in found.areas},
        "points": {one.path: _difference(one) for one in found.points},
        "notices_new": notices(found.notices_new),
        "notices_gone": notices(found.notices_gone),
        "assumed": list(found.assumed),
        "notices": notices(notes),
    }


def _difference(one: Difference) -> Plain:
    return {
        "before": quantity(one.before),
        "after": quantity(one.after),
        "change": number(one.change),
        "u": number(one.u),
        "shared": list(one.shared),
    }


def explain(what: str, node: Node) -> Plain:
    """Where a number comes from, as a tree."""
    return head("explain") | {"what": what, "tree": _node(node), "notices": []}


def _node(one: Node) -> Plain:
    return {
        "kind": one.kind,
        "title": one.title,
        "text": one.text,
        "quantity": quantity(one.quantity),
        "value": number(one.value),
        "unit": one.unit,
        "share": number(one.share),
        "contribution": number(one.contribution),
        "file": one.file,
        "sha256": one.sha256,
        "lines": list(one.lines),
        "key": one.key,
        "whose": one.whose,
        "children": [_node(child) for child in one.children],
    }


def report(path: str, found: Iterable[Notice]) -> Plain:
    """Where the report is."""
    return head("report") | {"report": path, "notices": notices(found)}


def sheet(path: str, signed: str | None, found: Iterable[Notice]) -> Plain:
    """Where the sheet is, and its signed copy if one was kept."""
    return head("sheet") | {"sheet": path, "signed": signed, "notices": notices(found)}


def _campaign(campaign: Campaign) -> Plain:
    return {
        "name": campaign.name,
        "date": campaign.date.isoformat(),
        "serial": campaign.article.serial,
        "invented": campaign.invented,
    }


def _nested(flat: Mapping[str, Any]) -> Plain:
    """Dotted paths as objects in objects."""
    out: Plain = {}
    for path, value in flat.items():
        *above, last = path.split(".")
        place = out
        for name in above:
            place = place.setdefault(name, {})
        place[last] = value
    return out


def _elsewhere(key: str, readings: Mapping[str, list[Reading]]) -> list[str]:
    """Keys of other characteristics in which this circuit was measured."""
    return [other for other, some in readings.items() if key in some[0].stream.split("+")]


def _circuit(
    key: str, known: Characteristic | None, own: list[Reading], readings: Mapping[str, list[Reading]]
) -> Plain:
    listed = [_reading(one) for one in own]
    if known is None:
        others = [other for other in _elsewhere(key, readings) if other != key]
        why = "no run of it counts" if own else f"not measured alone; see {', '.join(others)}"
        return {
            "area_eff": None, "cd": None, "model": None, "why": why, "re_ref": None, "re_span": None, "cav_least": None,
            "slope_seen": None, "u_slope": None, "choice": None, "models": [], "cause": None, "runs": [], "weights": {},
            "days": 0, "budget": [], "readings": listed,
        }  # fmt: skip
    return {
        "area_eff": quantity(known.area_eff),
        "cd": quantity(known.cd),
        "model": known.model,
        "why": known.why,
        "re_ref": number(known.re_ref),
        "re_span": [number(one) for one in known.re_span],
        "cav_least": number(known.cav_least),
        "slope_seen": number(known.slope_seen),
        "u_slope": number(known.u_slope),
        "choice": known.choice,
        "models": [_model(one) for one in known.models],
        "cause": _cause(known.cause),
        "runs": list(known.runs),
        "weights": {run: number(weight) for run, weight in known.weights.items()},
        "days": known.days,
        "budget": _budget(known.budget),
        "readings": listed,
    }


def _model(one: ModelSeen) -> Plain:
    return {
        "name": one.name,
        "coefficient": number(one.coefficient),
        "u": number(one.u),
        "re_ref": number(one.re_ref),
        "score": number(one.score),
        "rival": one.rival,
    }


def _cause(one: Cause | None) -> Plain | None:
    if one is None:
        return None
    return {
        "verdict": one.verdict,
        "why": one.why,
        "among": list(one.among),
        "scores": {name: number(score) for name, score in one.scores.items()},
        "readings": one.readings,
        **{
            name: number(getattr(one, name))
            for name in ("slope", "u_slope", "zero", "u_zero", "onset", "jump", "u_jump")
        },
    }


def _comparison(one: Comparison) -> Plain:
    return {
        "kind": one.kind,
        "circuit": one.stream,
        "a": one.a,
        "b": one.b,
        "ratio": quantity(one.ratio),
        "carried": one.carried,
        "why": one.why,
    }


def _crossover(one: Crossover) -> Plain:
    return {
        "circuits": list(one.circuits),
        "lines": list(one.lines),
        "line_bias": quantity(one.line_bias),
        "circuit_ratio": quantity(one.circuit_ratio),
        "unexplained": quantity(one.unexplained),
        "runs": list(one.runs),
    }


def _reading(one: Reading) -> Plain:
    return {
        "run": one.run,
        "t": number(one.t),
        "re": number(one.re),
        "cav": number(one.cav),
        "dp": number(one.dp),
        "m_dot": number(one.m_dot),
        "area_eff": number(one.area_eff),
        "u": number(one.u),
        "cd": number(one.cd),
        "used": one.used,
        "why": one.why,
        "lines": list(one.lines),
        "rows": list(one.origin.lines),
        "file": one.origin.file,
        "also": [
            {"file": other.file, "sha256": other.sha256, "rows": list(other.lines)}
            for other in one.origin.also
        ],
    }


def _run(run: RunResult, campaign: Campaign) -> Plain:
    closure = run.closure
    return {
        "date": campaign.runs[run.run].date.isoformat(),
        "method": run.method,
        "excluded": run.excluded,
        "circuits": list(run.windows),
        "windows": {
            stream: {
                "start": number(window.start),
                "end": number(window.end),
                "chosen": window.chosen,
                "phases": [
                    {"name": name, "start": number(start), "end": number(end)}
                    for name, start, end in window.phases
                ],
            }
            for stream, window in run.windows.items()
        },
        "closure": quantity(closure.ratio) if closure is not None else None,
        "closure_of": None
        if closure is None
        else {
            "metered": number(closure.metered),
            "witnessed": number(closure.witnessed),
            "witness": closure.witness,
        },
        "tares": {
            tag: {
                "before": number(zero.before),
                "after": number(zero.after),
                "at_pressure": number(zero.at_pressure),
            }
            for tag, zero in run.tares.items()
        },
    }


def _budget(lines: Iterable[BudgetLine]) -> list[Plain]:
    """Largest first; the squares of the contributions add up to u squared."""
    return [
        {
            "source": line.source,
            "contribution": number(line.contribution),
            "share": number(line.share),
            "scope": line.scope,
            "group": line.group,
            "origin": line.origin,
        }
        for line in sorted(lines, key=lambda line: (-abs(line.share), line.source))
    ]
