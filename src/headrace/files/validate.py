"""One document against its schema: every fault as a `Problem` with line, key and what to write; open questions apart.

A value of "?" is an open question: it is told as a question, and what follows from it is not told again as a fault.
Start at `validate`.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar, get_args

from pydantic import ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from headrace.errors import Problem, QuantityError
from headrace.files.document import Document
from headrace.files.hints import of_date
from headrace.files.locate import Path
from headrace.files.schema.fields import Inside, Table, meant, shown

T = TypeVar("T", bound=Table)

WORDS: Mapping[str, str] = {
    "string": "text in double quotes",
    "int": "a whole number",
    "float": "a number",
    "bool": "true or false",
    "date": "a date such as 2026-03-14, without quotes",
    "model": "a table",
    "model_attributes": "a table",
    "dict": "a table",
    "list": "an array in brackets",
}
"""What is wanted, by the first word of pydantic's type errors."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Validated(Generic[T]):
    """A document with what its schema made of it: the table (None where something is wrong or open)."""

    document: Document
    table: T | None
    problems: tuple[Problem, ...] = ()
    questions: tuple[Problem, ...] = field(default=())


def validate(document: Document, model: type[T]) -> Validated[T]:
    """Check one document; never raises for what a file may contain."""
    open_paths = set(questions_in(document.data))
    questions = tuple(_question(document, model, path) for path in questions_in(document.data))
    try:
        table = model.model_validate(dict(document.data))
    except ValidationError as error:
        problems: list[Problem] = []
        for details in error.errors(include_url=False):
            problems += _problems(document, model, details, open_paths)
        return Validated(document=document, table=None, problems=tuple(problems), questions=questions)
    except RecursionError:
        fault = document.problem((), "tables inside tables without end", "the tables of the manual")
        return Validated(document=document, table=None, problems=(fault,), questions=questions)
    return Validated(document=document, table=None if questions else table, questions=questions)


def questions_in(value: Any, path: Path = ()) -> Iterator[Path]:
    """Paths of all values that are "?"."""
    if isinstance(value, str) and value.strip() == "?":
        yield path
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from questions_in(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from questions_in(inner, (*path, index))


def _question(document: Document, model: type[Table], path: Path) -> Problem:
    info = field_at(model, document.data, path)
    expected, try_ = _wanted(path, info)
    return document.problem(path, '"?", an open question', expected, try_)


def _wanted(path: Path, info: FieldInfo | None) -> tuple[str, str]:
    """What a key is for, and an example line."""
    name = next((part for part in reversed(path) if isinstance(part, str)), "")
    if info is None:
        return f"{name or 'a value'}", ""
    example = info.examples[0] if info.examples else None
    said = f"{name}: {info.description}" if info.description else name
    return said, f"for example {name} = {shown(example)}" if example not in (None, {}, []) else ""


def _problems(
    document: Document, model: type[Table], details: ErrorDetails, open_paths: set[Path]
) -> Iterator[Problem]:
    path = _plain_path(
        document.data, details["loc"], of_key=details["type"] in ("missing", "extra_forbidden")
    )
    kind, context = details["type"], details.get("ctx", {})
    if any(path[: len(one)] == one or one[: len(path)] == path for one in open_paths):
        return
    error = context.get("error")
    if kind == "value_error" and isinstance(error, Inside):
        for key, fault in error.faults:
            place = (*path, *key.split("."))
            example = (
                _wanted(place, field_at(model, document.data, place))[1] if fault.found == "nothing" else ""
            )
            yield quantity_problem(document, place, fault, fault.try_ or example)
        return
    yield _problem(document, model, details, path, error)


def _problem(
    document: Document, model: type[Table], details: ErrorDetails, path: Path, error: object
) -> Problem:
    kind, value = details["type"], details["input"]
    info = field_at(model, document.data, path)
    if isinstance(error, QuantityError):
        return quantity_problem(document, path, error)
    if kind == "missing":
        expected, try_ = _wanted(path, info)
        return document.problem(path, "nothing", expected, try_)
    if kind == "extra_forbidden":
        known = keys_at(model, document.data, path[:-1])
        free = [key for key in known if key not in _at(document.data, path[:-1])]
        name = str(path[-1])
        expected = f"a key of this table: {', '.join(known)}"
        return document.problem(path, f'key "{name}"', expected, meant(name, free or known))
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        return _tag(document, details, path)
    expected, try_ = _wanted(path, info)
    word = (
        kind.split("_")[0]
        if kind.endswith(("_type", "_parsing")) or kind == "date_from_datetime_inexact"
        else ""
    )
    wanted = WORDS.get(kind.removesuffix("_type"), WORDS.get(word, ""))
    if not wanted:
        wanted = "a value " + details["msg"].removeprefix("Input should be ").removeprefix("Value error, ")
    if wanted == WORDS["date"] and isinstance(value, str) and (dates := of_date(value)):
        try_ = f"{path[-1]} = {dates}"
    return document.problem(path, shown(value), wanted, try_ if wanted in WORDS.values() else "")


def quantity_problem(
    document: Document, path: Path, error: QuantityError, try_: str | None = None
) -> Problem:
    """A refused text, with its place. try_: in place of the error's own."""
    try_ = error.try_ if try_ is None else try_
    return document.problem(
        path, error.found, error.expected, f"write {try_}" if try_.startswith('"') else try_
    )


def _tag(document: Document, details: ErrorDetails, path: Path) -> Problem:
    context = details["ctx"]
    key = str(context["discriminator"]).strip("'")
    if details["type"] == "union_tag_not_found":
        table = details["input"]
        found = "nothing" if isinstance(table, dict) and key not in table else shown(table)
        return document.problem((*path, key), found, f"{key}, on which the other keys depend", "")
    names = [name.strip().strip("'") for name in str(context["expected_tags"]).split(",")]
    tag = str(context["tag"])
    return document.problem((*path, key), f'"{tag}"', f"one of {', '.join(names)}", meant(tag, names))


def _plain_path(data: Any, loc: tuple[int | str, ...], *, of_key: bool) -> Path:
    """pydantic's place without the tags that it puts in for tables chosen by a key.

    of_key: the last part is a key for certain, even if no such key is there.
    """
    path: list[str | int] = []
    at = data
    for index, part in enumerate(loc):
        if isinstance(part, str) and isinstance(at, Mapping):
            last = index == len(loc) - 1
            leaf = not isinstance(
                at.get(part), (Mapping, list)
            )  # nothing is inside it: not a step, but a tag
            if part in at.values() and leaf and not (last and (of_key or part in at)):
                continue
            path.append(part)
            at = at.get(part)
        elif isinstance(part, int) and isinstance(at, list) and part < len(at):
            path.append(part)
            at = at[part]
        elif part != "[key]":
            path.append(part)
            at = None
    return tuple(path)


def _at(data: Any, path: Path) -> Any:
    for part in path:
        data = data[part]
    return data


def model_at(model: type[Table], data: Any, path: Path) -> type[Table] | None:
    """The model of the table at a path, or None where there is none."""
    found: type[Table] | None = model
    at = data
    for part in path:
        if isinstance(at, (Mapping, list)):
            try:
                at = at[part]  # type: ignore[index]  # a list takes an int, a table a str; both come from the data
            except (KeyError, IndexError, TypeError):
                at = None
        if isinstance(part, str):
            info = found.model_fields.get(part) if found else None
            found = _inner(info, at) if info else found if found and part not in found.model_fields else None
        elif found is not None and isinstance(at, Mapping):
            found = _chosen(found, at)
    return found


def field_at(model: type[Table], data: Any, path: Path) -> FieldInfo | None:
    """The declaration of the key at a path (of the array, for an element of one)."""
    while path and isinstance(path[-1], int):
        path = path[:-1]
    if not path:
        return None
    table = model_at(model, data, path[:-1])
    return table.model_fields.get(str(path[-1])) if table else None


def keys_at(model: type[Table], data: Any, path: Path) -> list[str]:
    """The keys that the table at a path may have."""
    table = model_at(model, data, path)
    return list(table.model_fields) if table else []


def _inner(info: FieldInfo, at: Any) -> type[Table] | None:
    """The model inside a field's annotation: itself, or that of an array's or dict's elements."""
    found = _search(info.annotation)
    return _chosen(found, at) if found is not None and isinstance(at, Mapping) else found


def _chosen(found: type[Table], at: Mapping[str, Any]) -> type[Table]:
    choice = found.variants
    return choice.models.get(str(at.get(choice.key)), found) if choice else found


def _search(annotation: Any) -> type[Table] | None:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    return next((found for inner in get_args(annotation) if (found := _search(inner))), None)
