"""The shapes of docs/json.md as JSON Schema, written by hand from that page: no key more, no key less."""

from typing import Any

from headrace.files.loggers import LOGGERS

Shape = dict[str, Any]

NUMBER: Shape = {"type": ["number", "null"]}
SI: Shape = {"type": "number"}
TEXT: Shape = {"type": "string"}
COUNT: Shape = {"type": "integer", "minimum": 0}


def exactly(**keys: Any) -> Shape:
    """An object with these keys and no other."""
    return {
        "type": "object", "properties": keys, "required": list(keys), "additionalProperties": False,
    }  # fmt: skip


def each(of: Shape) -> Shape:
    """An object with any keys, all of one shape."""
    return {"type": "object", "additionalProperties": of}


def many(of: Shape) -> Shape:
    """A list of one shape."""
    return {"type": "array", "items": of}


def maybe(of: Shape) -> Shape:
    """Of this shape, or null."""
    return {"anyOf": [of, {"type": "null"}]}


def measured(unit: str, kind: str | None = None) -> Shape:
    """A quantity of one unit and kind."""
    return exactly(
        value=SI,
        unit={"const": unit},
        kind={"const": kind},
        u=SI,
        low=SI,
        high=SI,
        coverage={"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1},
        method={"enum": ["gum", "monte-carlo"]},
        dof=NUMBER,
    )


PROBLEM = exactly(file=TEXT, line=maybe(COUNT), key=TEXT, found=TEXT, expected=TEXT, **{"try": TEXT})
NOTICE = exactly(
    code={"type": "string", "pattern": "^[a-z0-9-]+$"},
    severity={"enum": ["info", "doubt", "stop"]},
    text={"type": "string", "minLength": 1},
    run=maybe(TEXT),
    about=TEXT,
    limit=TEXT,
    facts=each(NUMBER),
    **{"try": TEXT},
)
LINE = exactly(source=TEXT, contribution=SI, share=SI, scope=TEXT, group=TEXT, origin=TEXT)
CAMPAIGN = exactly(name=TEXT, date=TEXT, serial=TEXT, invented={"type": "boolean"})
NOTICES = many(NOTICE)


def document(job: str, **keys: Any) -> Shape:
    """A whole document of a job."""
    return exactly(headrace=TEXT, schema={"const": 1}, job={"const": job}, **keys)


def refused(job: str) -> Shape:
    """What stands in place of a result while something must be mended."""
    return document(job, problems={**many(PROBLEM), "minItems": 1}, notices={"const": []})


READING = exactly(
    run=TEXT, t=SI, re=SI, cav=SI, dp=SI, m_dot=SI, area_eff=SI, u=SI, cd=NUMBER, used={"type": "boolean"}, why=TEXT,
    lines=many(TEXT), rows=many(COUNT), file=TEXT, also=many(exactly(file=TEXT, sha256=TEXT, rows=many(COUNT))),
)  # fmt: skip
MODEL = exactly(
    name={"enum": ["constant", "slope", "inverse-root"]}, coefficient=SI, u=SI, re_ref=SI, score=NUMBER,
    rival={"type": "boolean"},
)  # fmt: skip
CAUSE = exactly(
    verdict={"enum": ["flat", "reynolds", "zero error", "cavitation", "flip", "not separated"]}, why=TEXT,
    among=many(TEXT), scores=each(NUMBER), readings=COUNT, slope=NUMBER, u_slope=NUMBER, zero=NUMBER, u_zero=NUMBER,
    onset=NUMBER, jump=NUMBER, u_jump=NUMBER,
)  # fmt: skip
COMPARISON = exactly(
    kind={"enum": ["neighbour", "sum"]}, circuit=TEXT, a=TEXT, b=TEXT, ratio=measured("1"),
    carried={"enum": ["alone", "together", None]}, why=TEXT,
)  # fmt: skip
PAIR = {**many(TEXT), "minItems": 2, "maxItems": 2}
CROSSOVER = exactly(
    circuits=PAIR,
    lines=PAIR,
    line_bias=measured("1"),
    circuit_ratio=measured("1"),
    unexplained=measured("1"),
    runs=many(TEXT),
)
CIRCUIT = exactly(
    area_eff=maybe(measured("m2")), cd=maybe(measured("1")),
    model={"enum": ["constant", "slope", "inverse-root", None]}, why=TEXT,
    re_ref=NUMBER, re_span=maybe({**many(SI), "minItems": 2, "maxItems": 2}), cav_least=NUMBER, slope_seen=NUMBER,
    u_slope=NUMBER, choice={"enum": ["decided", "undecided", "not separated", None]}, models=many(MODEL),
    cause=maybe(CAUSE), runs=many(TEXT), weights=each(SI), days=COUNT, budget=many(LINE), readings=many(READING),
)  # fmt: skip
WINDOW = exactly(start=SI, end=SI, chosen=TEXT, phases=many(exactly(name=TEXT, start=SI, end=SI)))
RUN = exactly(
    date=TEXT, method=TEXT, excluded=maybe(TEXT), circuits=many(TEXT), windows=each(WINDOW),
    closure=maybe(measured("1")), closure_of=maybe(exactly(metered=SI, witnessed=SI, witness=TEXT)),
    tares=each(exactly(before=SI, after=NUMBER, at_pressure=NUMBER)),
)  # fmt: skip
REDUCE = document(
    "reduce", campaign=CAMPAIGN, circuits=each(CIRCUIT), runs=each(RUN), comparisons=many(COMPARISON),
    crossovers=many(CROSSOVER), notices=NOTICES,
)  # fmt: skip

DROP, GAUGE, ABS = measured("Pa", "drop"), measured("Pa", "gauge"), measured("Pa", "abs")
FLOW = measured("kg/s")


def sides(of: Shape) -> Shape:
    """The same for both sides."""
    return exactly(ox=of, fuel=of)


EXPECTED = {
    "p_chamber": ABS, "of_ratio": measured("1"), "m_dot": exactly(ox=FLOW, fuel=FLOW, total=FLOW), "drop": sides(DROP),
    "manifold_lit": sides(GAUGE), "manifold_unlit": sides(GAUGE),
}  # fmt: skip
AROUND = {
    "campaign": CAMPAIGN, "request": each(NUMBER), "correlation": NUMBER, "budget": each(many(LINE)),
    "parts": each(each(SI)), "facts": each(NUMBER), "assumptions": many(exactly(what=TEXT, value=TEXT, whose=TEXT)),
    "draws": COUNT, "lost": COUNT, "method": maybe(TEXT), "notices": NOTICES,
}  # fmt: skip
NOTHING: Shape = {"const": {}}
PREDICT = document("predict", **AROUND, **EXPECTED)
SETPOINTS = document("setpoints", **AROUND, **EXPECTED, tanks=sides(GAUGE), static=sides(GAUGE))
NO_PREDICTION = document("predict", **AROUND)
NO_SETPOINTS = document("setpoints", **AROUND, tanks=NOTHING, static=NOTHING)

LENGTH, KELVIN = measured("m"), measured("K")
STANDING = exactly(
    content={"enum": ["water", "air"]}, pressure=maybe(GAUGE), level=maybe(LENGTH), water=maybe(measured("m3")),
    gas=maybe(measured("m3")), air=maybe(measured("kg")), temperature=maybe(KELVIN), soak=NUMBER, stale=each(TEXT),
    read=each(COUNT),
)  # fmt: skip
EVENT = exactly(
    number=COUNT, line=COUNT, time=TEXT, by=TEXT, what=TEXT, text=TEXT, note=TEXT, pressure=each(GAUGE),
    level=each(LENGTH), valves=each({"enum": ["open", "shut"]}), run=maybe(TEXT),
)  # fmt: skip
SINCE = exactly(run=TEXT, events=COUNT, pressure=each(maybe(DROP)), level=each(maybe(LENGTH)))
DAY = document(
    "day", campaign=CAMPAIGN, at=TEXT, state=each(STANDING), valves=each({"enum": ["open", "shut"]}), ambient=ABS,
    water_temperature=maybe(KELVIN), air=exactly(added=maybe(measured("kg")), vented=maybe(measured("kg"))),
    since_run=maybe(SINCE), events=many(EVENT), notices=NOTICES,
)  # fmt: skip
VERDICT = document(
    "verdict", campaign=CAMPAIGN, run=TEXT, good={"type": "boolean"}, next={"enum": ["repeat", "change", "go on"]},
    what=TEXT, reasons=many(TEXT), settled=each(GAUGE), basis=each(TEXT), notices=NOTICES,
)  # fmt: skip

CHECK = document("check", problems=many(PROBLEM), questions=many(PROBLEM), notices=NOTICES)
NEW = document("new", files=many(TEXT), problems={"const": []}, notices={"const": []})
ANY_QUANTITY = exactly(
    value=SI, unit=TEXT, kind=maybe(TEXT), u=SI, low=SI, high=SI, coverage=SI, method=TEXT, dof=NUMBER
)
NODE = {
    "kind": TEXT, "title": TEXT, "text": TEXT, "quantity": maybe(ANY_QUANTITY), "value": maybe(NUMBER), "unit": TEXT,
    "share": maybe(NUMBER), "contribution": maybe(NUMBER), "file": TEXT, "sha256": TEXT, "lines": many(COUNT),
    "key": TEXT, "whose": TEXT, "children": many({"$ref": "#/$defs/node"}),
}  # fmt: skip
EXPLAIN = document("explain", what=TEXT, tree={"$ref": "#/$defs/node"}, notices={"const": []}) | {
    "$defs": {"node": exactly(**NODE)}
}
CHANGED = exactly(
    before=maybe(ANY_QUANTITY), after=maybe(ANY_QUANTITY), change=NUMBER, u=NUMBER, shared=many(TEXT)
)
HEAD = exactly(name=TEXT, date=TEXT, serial=TEXT, invented={"type": "boolean"})
COMPARE = document(
    "compare", before=HEAD, after=HEAD, files=many(exactly(file=TEXT, before=maybe(TEXT), after=maybe(TEXT))),
    keys=many(exactly(file=TEXT, key=TEXT, before=maybe(TEXT), after=maybe(TEXT))),
    runs=many(exactly(run=TEXT, what=TEXT, before=COUNT, after=COUNT, why=TEXT)),
    areas=each(CHANGED), points=each(CHANGED), notices_new=NOTICES, notices_gone=NOTICES, assumed=many(TEXT),
    notices=NOTICES,
)  # fmt: skip
REPORT = document("report", report=TEXT, notices=NOTICES)
SHEET = document("sheet", sheet=TEXT, signed=maybe(TEXT), notices=NOTICES)

UNDERSTOOD = {
    "family": {"enum": list(LOGGERS)},
    "rows": COUNT,
    "segments": many(
        exactly(first_line=COUNT, last_line=COUNT, rows=COUNT, first=NUMBER, last=NUMBER, why=TEXT)
    ),
    "bad_lines": many(exactly(line=COUNT, reason=TEXT)),
    "bad_counts": each(COUNT),
    "aside_lines": many(exactly(line=COUNT, what=TEXT)),
    "aside_counts": each(COUNT),
    "wild": many(exactly(column=TEXT, line=COUNT, value=NUMBER, before=maybe(NUMBER), after=maybe(NUMBER))),
    "wild_counts": each(COUNT),
    "lines": exactly(total=COUNT, header=COUNT, rows=COUNT, bad=COUNT, blank=COUNT, headings=COUNT, aside=COUNT),
    "dropped": many(exactly(name=TEXT, why=TEXT)),
    "above": many(TEXT),
    "columns": many(
        exactly(name=TEXT, unit=maybe(TEXT), first=NUMBER, last=NUMBER, min=NUMBER, max=NUMBER, missing=COUNT,
                used={"type": "boolean"})
    ),
    "time": exactly(column=maybe(TEXT), unit=maybe(TEXT), first=NUMBER, last=NUMBER, rate=NUMBER, gaps=COUNT,
                    repeats=COUNT, backward_steps=COUNT),
    "dialect": exactly(encoding=TEXT, delimiter=TEXT, decimal=TEXT, thousands=maybe(TEXT), header_lines=COUNT),
    "questions": many(exactly(code=TEXT, text=TEXT, candidates=many(TEXT), key=TEXT)),
    "notes": many(TEXT),
}  # fmt: skip
LOOK = document("bring", **UNDERSTOOD)
BRING = document(
    "bring", **UNDERSTOOD, run=TEXT, file=TEXT, sha256={"type": "string", "pattern": "^[0-9a-f]{64}$"},
    mapped=each(TEXT), unmapped=many(TEXT), draft_open=many(TEXT),
)  # fmt: skip
HELD = exactly(
    truth=SI, inside={"type": "boolean"}, printed=exactly(**{k: {} for k in measured("1")["required"]})
)
DEMO = document(
    "demo", folder=TEXT, sheet=TEXT, report=TEXT, invented={"const": True}, truth=each(HELD), reduce=REDUCE,
    setpoints=SETPOINTS, notices=NOTICES,
)  # fmt: skip
