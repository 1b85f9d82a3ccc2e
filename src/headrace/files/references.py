"""What points to what between the files of a folder: each pointer is one line of `POINTERS`.

It works on the data as written, not on validated tables, so that a fault in one table hides no pointer of another.
Start at `dangling` and `doubled`.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import chain
from typing import Any

from headrace.bench.meters import METERS
from headrace.errors import Problem
from headrace.files.document import Document
from headrace.files.locate import Path
from headrace.files.schema.fields import a, meant, shown
from headrace.files.schema.instruments import MEASURES
from headrace.jobs.day.events import NAMED

PRESSURES = ("gauge", "abs")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pointer:
    """A key that names something elsewhere. where: its pattern, "*" for any index or key. to: a key of `IDS`.

    measures: what the instrument pointed at may measure; () for anything.
    """

    kind: str
    where: str
    to: str
    measures: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Ids:
    """Where ids are declared: file kinds, array, key; `where` as people say it."""

    files: tuple[str, ...]
    array: str
    key: str
    word: str
    place: str
    beside: str = ""  # another array whose ids count too


IDS: Mapping[str, Ids] = {
    "instrument": Ids(files=("bench",), array="instrument", key="tag", word="instrument", place="bench.toml"),
    "stand": Ids(
        files=("bench", "engine"), array="instrument", key="tag", word="instrument",
        place="bench.toml or engine.toml",
    ),
    "tap": Ids(files=("bench",), array="tap", key="id", word="tap", place="bench.toml"),
    "meter": Ids(files=("bench",), array="meter", key="id", word="meter", place="bench.toml"),
    "line": Ids(files=("bench",), array="line", key="id", word="line", place="bench.toml"),
    "vessel": Ids(files=("bench",), array="vessel", key="id", word="vessel", place="bench.toml"),
    "joined": Ids(
        files=("bench",), array="vessel", key="id", word="vessel or line", place="bench.toml", beside="line"
    ),
    "valve": Ids(files=("bench",), array="valve", key="id", word="valve", place="bench.toml"),
    "logger": Ids(files=("bench",), array="logger", key="id", word="logger", place="bench.toml"),
    "certificate": Ids(
        files=("certificates",), array="certificate", key="id", word="certificate", place="certificates.toml"
    ),
    "reference": Ids(
        files=("certificates",), array="reference", key="id", word="reference standard", place="certificates.toml"
    ),
    "circuit": Ids(files=("article",), array="circuit", key="id", word="circuit", place="article.toml"),
    "part": Ids(files=("article",), array="part", key="id", word="part", place="article.toml"),
    "flowing": Ids(
        files=("article",), array="circuit", key="id", word="circuit or part", place="article.toml", beside="part"
    ),
}  # fmt: skip

POINTERS = (
    Pointer(kind="bench", where="instrument.*.certificate", to="certificate"),
    Pointer(kind="bench", where="instrument.*.logger", to="logger"),
    Pointer(kind="bench", where="meter.*.certificate", to="certificate"),
    Pointer(kind="bench", where="meter.*.dp", to="instrument", measures=("drop",)),
    Pointer(
        kind="bench",
        where="meter.*.signal",
        to="instrument",
        measures=("volume_flow", "mass_flow", "frequency"),
    ),
    Pointer(kind="bench", where="meter.*.p_high", to="instrument", measures=PRESSURES),
    Pointer(kind="bench", where="meter.*.p_low", to="instrument", measures=PRESSURES),
    Pointer(kind="bench", where="meter.*.p_up", to="instrument", measures=PRESSURES),
    Pointer(kind="bench", where="line.*.meter", to="meter"),
    Pointer(kind="bench", where="line.*.temperature", to="instrument", measures=("temperature",)),
    Pointer(kind="bench", where="line.*.vessel", to="vessel"),
    Pointer(kind="bench", where="vessel.*.gauge", to="instrument", measures=PRESSURES),
    Pointer(kind="bench", where="vessel.*.pushed_by", to="vessel"),
    Pointer(kind="bench", where="valve.*.between.*", to="joined"),
    *(Pointer(kind="ledger", where=f"event.*.{key}", to=to) for key, to in NAMED.items()),
    Pointer(kind="certificates", where="certificate.*.reference", to="reference"),
    Pointer(kind="certificates", where="certificate.*.former", to="certificate"),
    Pointer(kind="article", where="circuit.*.tap", to="tap"),
    Pointer(kind="article", where="part.*.tap", to="tap"),
    Pointer(kind="article", where="part.*.down_tap", to="tap"),
    Pointer(kind="engine", where="instrument.*.certificate", to="certificate"),
    *(
        pointer
        for side in ("ox", "fuel")
        for pointer in (
            Pointer(kind="engine", where=f"{side}.circuit.*.id", to="circuit"),
            Pointer(kind="engine", where=f"{side}.feed.to_tap", to="tap"),
            Pointer(kind="engine", where=f"{side}.feed.parts.*", to="part"),
            Pointer(kind="engine", where=f"{side}.feed.parts.*.*", to="part"),
            Pointer(kind="engine", where=f"{side}.tank.gauge", to="stand", measures=PRESSURES),
        )
    ),
    Pointer(kind="run", where="flow.*.circuits.*", to="flowing"),
    Pointer(kind="run", where="flow.*.lines.*", to="line"),
    Pointer(kind="run", where="flow.*.p_tap", to="stand", measures=(*PRESSURES, "drop")),
    Pointer(kind="run", where="flow.*.p_back", to="stand", measures=PRESSURES),
    Pointer(kind="run", where="channels.*.instrument", to="stand"),
    Pointer(kind="run", where="also.*.channels.*.instrument", to="stand"),
    Pointer(kind="run", where="hand.*.instrument", to="stand"),
    Pointer(kind="run", where="calibrates", to="meter"),
    Pointer(kind="run", where="filmed.*.instrument", to="stand"),
    Pointer(kind="run", where="total.vessel", to="vessel"),
    Pointer(kind="run", where="total.line", to="line"),
    Pointer(kind="run", where="catch.scale", to="instrument", measures=("mass",)),
    Pointer(kind="run", where="catch.thermometer", to="instrument", measures=("temperature",)),
    Pointer(kind="run", where="total.instrument", to="instrument", measures=("mass", "volume", "length")),
)
"""Every key that points to something in another table; long-minus-short pairs are checked with the runs."""

UNIQUE = (
    ("bench", "instrument", "tag"), ("bench", "tap", "id"), ("bench", "meter", "id"), ("bench", "line", "id"),
    ("bench", "vessel", "id"), ("bench", "valve", "id"), ("bench", "logger", "id"),
    ("certificates", "certificate", "id"), ("certificates", "reference", "id"),
    ("engine", "instrument", "tag"),
)  # fmt: skip
"""Ids that may stand once only: file kind, array, key."""

Documents = Mapping[str, Document]
"""The documents of a folder by kind, without runs; a file that is missing or no TOML is absent."""


def found_at(data: Any, where: str) -> Iterator[tuple[Path, Any]]:
    """Paths and values that match a pattern of keys, "*" for any index or key."""
    spots: list[tuple[Path, Any]] = [((), data)]
    for part in where.split("."):
        inner: list[tuple[Path, Any]] = []
        for path, at in spots:
            if part == "*" and isinstance(at, list):
                inner += [((*path, index), one) for index, one in enumerate(at)]
            elif part == "*" and isinstance(at, Mapping):
                inner += [((*path, key), one) for key, one in at.items()]
            elif isinstance(at, Mapping) and part in at:
                inner.append(((*path, part), at[part]))
        spots = inner
    yield from spots


def declared(documents: Documents, ids: Ids) -> dict[str, Mapping[str, Any]] | None:
    """The tables declared under these ids, by id; None when one of the files could not be read or is missing."""
    tables: dict[str, Mapping[str, Any]] = {}
    for kind in ids.files:
        if kind == "engine" and kind not in documents:
            continue  # optional
        if kind not in documents:
            return None
        arrays = [one for name in (ids.array, ids.beside) if name
                  for one in found_at(documents[kind].data, f"{name}.*")]  # fmt: skip
        for _, table in arrays:
            if isinstance(table, Mapping) and isinstance(table.get(ids.key), str):
                tables.setdefault(table[ids.key], table)
    return tables


def dangling(kind: str, document: Document, documents: Documents) -> Iterator[Problem]:
    """Pointers of one document that point to nothing, or to an instrument of the wrong sort."""
    for pointer in POINTERS:
        if pointer.kind != kind:
            continue
        ids = IDS[pointer.to]
        if kind == "run" and document.data.get("kind") != "hot" and pointer.to == "stand":
            ids = IDS["instrument"]  # water runs on the bench, by the bench's instruments
        known = declared(documents, ids)
        if known is None:
            continue
        for path, name in found_at(document.data, pointer.where):
            if not isinstance(name, str) or name.strip() == "?":
                continue  # told by the schema
            if name not in known:
                declared_ = ", ".join(f'"{one}"' for one in known) or "none is declared"
                yield document.problem(path, f'"{name}"', f"{a(ids.word)} of {ids.place}: {declared_}",
                                       meant(name, known) or f"declare it in {ids.place}")  # fmt: skip
                continue
            measures = known[name].get("measures")
            allowed = _allowed(document, pointer, path)
            if allowed and measures in MEASURES and measures not in allowed:
                fit = [tag for tag, one in known.items() if one.get("measures") in allowed]
                yield document.problem(path, f'"{name}", which measures {measures}',
                                       f"an instrument that measures {' or '.join(allowed)}",
                                       meant(name, fit))  # fmt: skip


def _allowed(document: Document, pointer: Pointer, path: Path) -> tuple[str, ...]:
    """What may be measured there: the pointer's, or for a meter's signal its kind's."""
    if pointer.where == "meter.*.signal":
        kind = document.data["meter"][path[1]].get("kind")
        return METERS[kind].measures if kind in METERS else pointer.measures
    return pointer.measures


def doubled(kind: str, document: Document) -> Iterator[Problem]:
    """Ids that stand twice in one document."""
    if kind == "engine":
        uses = ("ox.circuit.*.id", "fuel.circuit.*.id")
        yield from repeats(document, uses, "each circuit once, on one side")
    if kind == "article":
        yield from repeats(document, ("circuit.*.id", "part.*.id"), "an id that no other circuit or part has")
    for file_kind, array, key in UNIQUE:
        if file_kind == kind:
            yield from repeats(document, (f"{array}.*.{key}",), f"a {key} that no other {array} has")


def repeats(document: Document, where: tuple[str, ...], expected: str) -> Iterator[Problem]:
    """Texts at these patterns that stand there more than once, told from the second one on."""
    seen: Counter[str] = Counter()
    first: dict[str, int] = {}
    for path, name in chain.from_iterable(found_at(document.data, one) for one in where):
        if not isinstance(name, str) or name.strip() == "?":
            continue
        if seen[name]:
            found = f"{shown(name)} a second time (first in line {first[name]})"
            yield document.problem(path, found, expected, "rename or leave out one of the two")
        seen[name] += 1
        first.setdefault(name, document.line(path))
