"""What the code calls physical quantities: arguments of physics, fields of records, facts of notices."""

import ast
import re
from collections.abc import Callable, Iterator
from pathlib import Path

Collector = Callable[[Path], Iterator[tuple[str, str]]]
PHYSICAL = re.compile(r"\b(float|Array|NDArray|Values|Stated|Accuracy|Estimate)\b")


def arguments(root: Path) -> Iterator[tuple[str, str | None, str]]:
    """Physical keyword arguments of public functions in physics: name, unit in the docstring or None, place."""
    for path in sorted((root / "src/headrace/physics").rglob("*.py")):
        for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(function, ast.FunctionDef) or function.name.startswith("_"):
                continue
            units = dict(_documented(ast.get_docstring(function) or ""))
            for one in function.args.kwonlyargs:
                if one.annotation is not None and PHYSICAL.search(ast.unparse(one.annotation)):
                    yield one.arg, units.get(one.arg), f"{path.name}, {function.name}"


def _documented(doc: str) -> Iterator[tuple[str, str]]:
    """Name and unit of each entry of an Args section: "dp: what it is; range. [Pa]"."""
    block = re.search(r"^Args:\n(.*?)(?=^\S|\Z)", doc, re.MULTILINE | re.DOTALL)
    for entry in re.split(r"\n(?=    \w)", "\n" + block[1]) if block else ():
        names, _, text = entry.strip().partition(":")
        found = re.findall(r"\[([^\]\[]+)\]", text)
        for name in names.split(","):
            if found:
                yield name.strip(), found[-1]


def fields(root: Path) -> Iterator[tuple[str, str]]:
    """Fields of records that hold a number: name, place."""
    for path in sorted((root / "src/headrace/records").glob("*.py")):
        for record in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(record, ast.ClassDef):
                for one in record.body:
                    if isinstance(one, ast.AnnAssign) and PHYSICAL.search(ast.unparse(one.annotation)):
                        yield ast.unparse(one.target), f"{path.name}, {record.name}"


def facts(root: Path) -> Iterator[tuple[str, str]]:
    """Names of the facts that notices carry: name, place; what is named at run time is left out."""
    for path in sorted((root / "src/headrace").rglob("*.py")):
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(call, ast.keyword) and call.arg == "facts" and isinstance(call.value, ast.Tuple):
                for pair in call.value.elts:
                    if isinstance(pair, ast.Tuple) and isinstance(pair.elts[0], ast.Constant):
                        yield str(pair.elts[0].value), f"{path.name}"
