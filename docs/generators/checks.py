"""docs/checks.md: what is held against published values, from tests/sources/catalogue.toml and the tests' marks."""

import ast
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from generators.markdown import code, made, table

GROUPS = {
    "W": "Water", "V": "Venturi and orifice meters", "P": "Pipes and losses", "O": "Orifice elements",
    "S": "Swirl elements", "L": "Propellants", "N": "Two-phase nitrous oxide", "U": "Uncertainty", "R": "Statistics",
    "G": "Gas side", "T": "Transients", "A": "Safety arithmetic", "E": "Engine", "D": "Instruments and units",
}  # fmt: skip
INTRO = """\
Each row is a test against something outside this project. *Kind* says how its expected value is known: **seen** (read
in the source named, or in a public copy of it), **computed** (worked out apart from this code; *with* names the
library), **identity** (a closed form), **memory** (recalled from the source, not read: a lead, not a proof). Tests that
recompute with a library at run time say so in their module.
"""
LEFT = """\
Known checks of the trade that nothing here is held to yet, and why.
"""


def page(root: Path) -> str:
    """The page."""
    known, marks = catalogue(root), marked(root)
    parts = [INTRO]
    for letter, title in GROUPS.items():
        rows = [
            (code(name), row["what"], known["source"].get(row["source"], row["source"]), _kind(row),
             ", ".join(code(test) for test in marks.get(name, ())))
            for name, row in sorted(known["check"].items(), key=lambda one: order(one[0]))
            if name.startswith(f"{letter}-")
        ]  # fmt: skip
        if rows:
            parts += [f"## {title}", table(("id", "what", "source", "kind", "test"), rows)]
    parts += ["## Left out", LEFT, table(("ids", "why"), known["left_out"].items())]
    return made("Checks against published values", *parts)


def _kind(row: Mapping[str, str]) -> str:
    return row["kind"] + (f", with {row['with']}" if "with" in row else "")


def order(name: str) -> tuple[str, int]:
    """Sorting key of an id: V-2 before V-12."""
    letter, _, number = name.partition("-")
    return letter, int(number)


def catalogue(root: Path) -> Mapping[str, Any]:
    """The catalogue as it is written."""
    return tomllib.loads((root / "tests" / "sources" / "catalogue.toml").read_text(encoding="utf-8"))


def marked(root: Path) -> Mapping[str, tuple[str, ...]]:
    """Tests by the id they are marked with: "file::function", each once, in order."""
    found: dict[str, dict[str, None]] = {}
    for path in sorted((root / "tests").rglob("test_*.py")):
        for name, test in _marks(ast.parse(path.read_text(encoding="utf-8"))):
            found.setdefault(name, {})[f"{path.name}::{test}"] = None
    return {name: tuple(tests) for name, tests in found.items()}


def _marks(tree: ast.Module) -> Iterator[tuple[str, str]]:
    for test in ast.walk(tree):
        if not (isinstance(test, ast.FunctionDef) and test.name.startswith("test")):
            continue
        for call in (
            node for one in test.decorator_list for node in ast.walk(one) if isinstance(node, ast.Call)
        ):
            if re.fullmatch(r"pytest\.mark\.check", ast.unparse(call.func)):
                for argument in call.args:
                    yield ast.literal_eval(argument), test.name
