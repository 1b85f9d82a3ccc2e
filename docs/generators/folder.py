"""docs/folder.md: every key of every file of a campaign folder, from the schema and the registries."""

import types
import typing
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic_core import PydanticUndefined

from generators.markdown import code, made, table
from headrace.bench.elements import ELEMENTS
from headrace.bench.meters import METERS
from headrace.files.loggers import LOGGERS
from headrace.files.schema import FILES
from headrace.files.schema.fields import (
    ByKey,
    DoubtOf,
    Id,
    Key,
    Number,
    Promise,
    Rising,
    Said,
    Table,
    _toml,
)
from headrace.files.schema.instruments import MEASURES, SIGNALS, Filter, Signal
from headrace.files.schema.ledger import Clock
from headrace.files.schema.run import METHODS
from headrace.jobs.day.events import EVENTS
from headrace.physics.contraction import ALLOYS
from headrace.physics.fluids.registry import PROPELLANTS
from headrace.records.given import Stated
from headrace.units import DISPLAY, UNITS

PLACES = {kind: f"{kind}.toml" for kind in FILES} | {"run": "runs/&lt;id&gt;/run.toml"}
WORDS = {str: "text", int: "whole number", float: "number", bool: "true or false"}

INTRO = """\
A campaign is one folder of plain files, made to be written by hand and kept under version control. `headrace new DIR`
writes a starter with every key as a comment; this page lists them all. Editors that know JSON Schema find one per file
in [schema/](schema/).

- Every quantity is **text with a unit**: `"26.02 mm"`. A bare number stands only where a ratio or a count is meant.
- A pressure says its **kind**: `"12.4 bar(g)"` against open air, `"1013 mbar(a)"` absolute, `"0.4 bar"` a difference. A
  key takes one kind and refuses the others.
- A doubt follows: `"1.20 mm ± 0.01 mm"` are limits (u = limits/√3), `"0.985 ± 0.6 % (k=2)"` is an expanded uncertainty
  (u = U/k). Where the table says *exact*, the doubt has a key of its own or counts for nothing.
- A key that is not listed here is a fault, and so is a missing key without a default. `"?"` is an open question: the
  run is set aside, and `check` says so, until it is answered.
- `headrace check DIR` tells every fault at once, with file, line, key, what was found, what was expected.

| file | what | needed |
| --- | --- | --- |
| `campaign.toml` | whose campaign, limits and default doubts | always |
| `bench.toml`, `article.toml` | the water bench; the injector | as soon as there is a run |
| `certificates.toml` | calibrations | when an instrument or meter names one |
| `engine.toml` | engine and stand | for `predict`, `setpoints`, `sheet` |
| `ledger.toml` | the bench day: what stands where, what was done | for `day`; runs take from it what they do not say |
| `runs/<id>/run.toml` | one run, beside it the raw file and `<raw file>.sha256` | one folder per run |
| `results/` | what headrace derived; may be deleted | written by `reduce`, `predict`, `setpoints`, `sheet` |
| `signed/` | sheets as signed, with the hashes of all they rest on | written by `sheet --sign` |
"""


@dataclass(frozen=True, slots=True)
class Row:
    """One key: its place in the file, what is written there, what it means."""

    key: str
    written: str
    meaning: str
    default: str
    example: str

    def cells(self) -> tuple[str, ...]:
        """The row of the table."""
        return code(self.key), self.written, self.meaning, self.default, code(self.example)


def page(_: Path) -> str:
    """The page."""
    parts = [INTRO]
    for kind, model in FILES.items():
        parts.append(f"## {PLACES[kind]}")
        parts.append(_keys(_rows(model, "", kind)))
        if kind == "bench":
            parts += [*_by_measure(), *_by_meter()]
        if kind == "article":
            parts += [*_elements(), *_alloys()]
        if kind == "engine":
            parts += _propellants()
        if kind == "ledger":
            parts += _events()
        if kind == "run":
            parts += [*_methods(), *_loggers()]
    return made("The campaign folder, key by key", *parts, *_units())


def _keys(rows: Iterator[Row]) -> str:
    return table(("key", "what is written", "meaning", "default", "example"), (row.cells() for row in rows))


def _rows(model: type[Table], prefix: str, kind: str) -> Iterator[Row]:
    """Rows of a table and of the tables in it; what depends on the kind of a meter or instrument comes later."""
    for name, field in model.model_fields.items():
        inner, marks, many = _unwrap(field.annotation, field.metadata)
        key = f"{prefix}{name}"
        if isinstance(inner, type) and issubclass(inner, Table):
            if kind == "engine" and prefix == "" and name in ("ox", "fuel"):
                if name == "fuel":
                    continue  # the same keys as the oxidiser side
                key = "<side>"
            if many == "dict":
                key += ".<column>"
            yield Row(
                f"[[{key}]]" if many == "list" else f"[{key}]", "table" + (", any number" if many else ""),
                field.description or "", "**required**" if field.is_required() else "none", "",
            )  # fmt: skip
            if not (kind == "engine" and name == "instrument"):
                yield from _rows(inner, f"{key}.", kind)
            continue
        if field.annotation is Any:
            continue
        example = (field.examples or [""])[0]
        yield Row(
            key, _written(inner, marks, many), field.description or "", _default(field, marks), _text(example)
        )


def _unwrap(annotation: Any, metadata: list[Any]) -> tuple[Any, list[Any], str]:
    """The innermost type of a field, its marks, and whether it stands in a "list" or a "dict"."""
    marks, many = list(metadata), ""
    while True:
        origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
        if origin is typing.Annotated:
            annotation, marks = arguments[0], [*arguments[1:], *marks]
        elif origin in (typing.Union, types.UnionType):
            kept = [one for one in arguments if one is not type(None)]
            if len(kept) > 1:
                return tuple(kept), marks, many
            annotation = kept[0]
        elif origin in (list, dict):
            many, annotation = many or origin.__name__, arguments[-1]
        else:
            return annotation, marks, many


def _written(inner: Any, marks: list[Any], many: str) -> str:
    said = next((text for mark in marks if (text := _mark(mark))), "")
    if not said:
        kinds = inner if isinstance(inner, tuple) else (inner,)
        said = " or ".join(WORDS.get(one, "date") for one in kinds)
    return {"list": f"list of: {said}", "dict": f"table by id of: {said}"}.get(many, said)


def _mark(mark: Any) -> str:
    """What one annotation says about the text."""
    match mark:
        case Filter():
            return "kind, order and corner frequency"
        case Number():
            kind = {"gauge": ", gauge", "abs": ", absolute", "drop": ", a difference"}.get(
                mark.kind or "", ""
            )
            name = mark.dimension.replace("_", " ")
            bounds = mark.wanted().partition(name)[2].strip()
            return ", ".join(filter(None, (f"{name}{kind}", bounds, "exact" if mark.exact else "may have ±")))
        case Key():
            return "one of " + ", ".join(f"`{name}`" for name in mark.names)
        case Rising():
            return f"two of: {mark.each.dimension.replace('_', ' ')}, rising"
        case Promise():
            return "accuracy"
        case DoubtOf():
            return "relative doubt" + (f", k={mark.k:g} unless said" if mark.k else "")
        case Id():
            return "name"
        case Said():
            return "text, not empty"
        case Clock():
            return "time of day"
        case Signal():
            return f"two raw values ({', '.join(name.replace('_', ' ') for name in SIGNALS)})"
        case _:
            return "propellant" if type(mark).__name__ == "Propellant" else ""


def _default(field: Any, marks: list[Any]) -> str:
    if field.is_required():
        return "**required**"
    value = field.default
    if value is PydanticUndefined or value is None:
        return "none"
    example = (field.examples or [""])[0]
    number = next((mark for mark in marks if isinstance(mark, Number)), None)
    if isinstance(value, Stated):
        return code(value.text if value.text == "0" else f'"{value.text}"')
    if number is not None:
        read = number.read(example)
        return code(_text(example) if read == value else number.shown(value))
    return code(_toml(value)) if value != "" else "none"


def _text(example: object) -> str:
    if isinstance(example, dict) and example:
        return "{ " + ", ".join(f"{key} = {_toml(value)}" for key, value in example.items()) + " }"
    return _toml(example) if example not in ("", [], {}) else ""


def _by_measure() -> Iterator[str]:
    yield "### Instruments, by what they measure"
    yield (
        "`range` is two readings, the lower first; `division` is a difference. An **accuracy** adds its parts: "
        "`0.1 % FS` (of the span), `0.25 % of reading`, `1 mbar`, `class 1.0`; with `k=2` it is an expanded "
        "uncertainty, else limits. `engine.toml` has the same keys for the stand's gauges."
    )
    models = typing.cast(ByKey, _variants(FILES["bench"], "instrument")).models
    rows: list[tuple[str, ...]] = []
    for name, measure in MEASURES.items():
        low, high, step = measure.example
        rows.append(
            (code(name), measure.dimension.replace("_", " "), code(f'["{low}", "{high}"]'), code(f'"{step}"'))
        )
    yield table(("measures", "quantity", "range, for example", "division, for example"), rows)
    one = models["gauge"].model_fields
    yield _keys(
        Row(f"[[instrument]].{name}".replace("[[instrument]]", "instrument"), written, one[name].description or "",
            "**required**" if one[name].is_required() else "none", _text((one[name].examples or [""])[0]))
        for name, written in (("range", "two readings, rising"), ("accuracy", "accuracy"),
                              ("drift", "accuracy"), ("division", "a difference of readings"))
    )  # fmt: skip


def _by_meter() -> Iterator[str]:
    yield "### Meters, by kind"
    models = typing.cast(ByKey, _variants(FILES["bench"], "meter")).models
    rows: list[tuple[str, ...]] = []
    for name, kind in METERS.items():
        fields = models[name].model_fields
        own = [f"`{kind.role}` (tag of an instrument that measures {' or '.join(kind.measures)})"]
        for one in kind.fields:
            default = "" if fields[one.name].is_required() else ", optional"
            own.append(f"`{one.name}` ({one.dimension.replace('_', ' ')}{default}): {one.help}")
        rows.append((code(name), kind.title, "; ".join(own)))
    yield table(("kind", "what it is", "its own keys"), rows)


def _events() -> Iterator[str]:
    yield "### Events, by kind"
    yield (
        "Events stand in the order of the day. A reading without a ± has that of `p_doubt` or `level_doubt`, else one "
        "step of its last digit. A run whose run.toml does not say barometer, water temperature or levels takes them "
        "from the events nearest to its own; what both say counts by run.toml, and a contradiction is a doubt."
    )
    rows: list[tuple[str, ...]] = []
    for name, kind in EVENTS.items():
        own = []
        for one in kind.fields:
            what = (
                one.dimension.replace("_", " ")
                or " or ".join(one.names)
                or ("true or false" if one.flag else "name")
            )
            said = f"reading of `{one.reads}`" if one.reads else what
            own.append(f"`{one.name}` ({said}{'' if one.required else ', optional'}): {one.help}")
        rows.append((code(name), kind.title, "; ".join(own) or "none of its own"))
    yield table(("what", "what it is", "its own keys"), rows)


def _variants(model: type[Table], name: str) -> ByKey | None:
    inner, _, _ = _unwrap(model.model_fields[name].annotation, [])
    return typing.cast("ByKey | None", inner.variants)


def _elements() -> Iterator[str]:
    yield "### Element kinds"
    yield (
        "The step from water to propellant is a doubt of its own (k = 1) when neither `step` nor `step_ratio` is "
        "given; common practice, and yours to replace."
    )
    rows = []
    for name, kind in ELEMENTS.items():
        steps = (f"{100 * kind.step[regime]:g} %" + (" (*stop*: state your own)" if regime in kind.stop else "")
                 for regime in ("clear", "doubtful", "cavitating"))  # fmt: skip
        rows.append((code(name), kind.title, *steps))
    yield table(("element", "what it is", "clear", "cavitation doubtful", "cavitating"), rows)


def _alloys() -> Iterator[str]:
    yield "### Alloys"
    yield table(
        ("alloy", "what it is", "source"),
        ((code(name), alloy.title, alloy.source) for name, alloy in ALLOYS.items()),
    )


def _propellants() -> Iterator[str]:
    yield "### Propellants"
    yield "`<side>` is `ox` or `fuel`; both are needed and have the same keys."
    yield table(
        ("propellant", "what it is", "note"),
        (
            (code(f"{one.mixture}-75") + f" (75 % by mass), {code(f'{one.mixture}-95vol')} (by volume)"
             if one.mixture else code(name), one.title, one.note)
            for name, one in PROPELLANTS.items()
        ),
    )  # fmt: skip


def _methods() -> Iterator[str]:
    yield "### Methods"
    yield "How a run is reduced, and what run.toml must say for it."
    yield table(
        ("method", "needs"),
        ((code(name), ", ".join(code(key) for key in needs)) for name, needs in METHODS.items()),
    )
    yield (
        "`bucket` is for a bench of bucket, scale and stopwatch: one row is one catch, E = m/(t·√(2ρΔp)). The rows "
        "come from the columns of `file` (text, or a sheet of a workbook) or are typed as `[[catch.row]]`; either "
        "`mass` (net) or `full` and `empty`. The pressures are those that the instrument `p_tap` showed. Repeats are "
        "known by `group` (the same in all of them), by `number` (which starts again), or else by pressures within 5 % "
        "of each other. A unit that neither the heading nor `unit` says is asked."
    )


def _loggers() -> Iterator[str]:
    yield "### Logger files"
    yield (
        "Families of raw file that are read, in the order in which they are asked whether a file is theirs. What a "
        "file leaves open is asked, never guessed; `[logger]` holds the answers."
    )
    yield table(
        ("family", "what it is", "usual endings"),
        (
            (code(name), one.title, "any" if "" in one.suffixes else ", ".join(map(code, one.suffixes)))
            for name, one in LOGGERS.items()
        ),
    )


def _units() -> Iterator[str]:
    yield "## Units"
    yield (
        "What may be written for each quantity; other usual spellings are understood as well. The first column is how "
        "the tables above call it."
    )
    rows: Mapping[str, tuple[str, ...]] = {
        str(dimension): (str(dimension).replace("_", " "), code(DISPLAY[dimension]),
                         ", ".join(code(unit.name) for unit in units))
        for dimension, units in UNITS.items()
    }  # fmt: skip
    yield table(("quantity", "printed in", "units"), rows.values())
