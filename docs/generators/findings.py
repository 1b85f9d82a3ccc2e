"""docs/findings.md: every code that a doubt can have, read from the source: `Notice(code=...)` and who makes it."""

import ast
import importlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from generators.markdown import code, made, table
from headrace.findings import CAMPAIGN_FINDINGS, DAY_FINDINGS, RUN_FINDINGS

INTRO = """\
A doubt (*notice*) has a code, a severity, the numbers behind it, the limit and whose limit it is, and what to try. It
travels with every result it touches, and no report drops one.

- **info**: worth knowing. **doubt**: the number may be off by more than it says. **stop**: do not use it; the command
  ends with exit code 1.
- What is found in a run that is left out (`[exclude]`) is told as info.
"""
WEIGHTS = ("stop", "doubt", "info")


@dataclass(frozen=True, slots=True, order=True)
class Seen:
    """One place in the source that makes a notice. says: its text, with an ellipsis for what is filled in."""

    code: str
    severities: tuple[str, ...]
    says: str
    module: str


def page(root: Path) -> str:
    """The page."""
    seen = sorted(notices(root / "src" / "headrace"))
    known = RUN_FINDINGS | CAMPAIGN_FINDINGS | DAY_FINDINGS
    by_code = {name: list(group) for name, group in groupby(seen, key=lambda one: one.code)}
    return made(
        "Doubts, by code",
        INTRO,
        "## Findings in one run",
        "Sought in every run by `reduce`; the same order as they are looked for.",
        table(("code", "severity", "what is looked for"), (_finding(name, by_code) for name in RUN_FINDINGS)),
        "## Findings in a campaign",
        table(("code", "severity", "what is looked for"), (_finding(name, by_code) for name in CAMPAIGN_FINDINGS)),
        "## Findings in the ledger of the day",
        "Sought by `day` and `verdict`; those that speak of one run go with that run everywhere.",
        table(("code", "severity", "what is looked for"), (_finding(name, by_code) for name in DAY_FINDINGS)),
        "## Other doubts",
        "Raised where they arise: while the folder is read, in the reduction, in the balance.",
        table(
            ("code", "severity", "what it says", "raised in"),
            (
                (code(name), _weights(group), " / ".join(dict.fromkeys(one.says for one in group if one.says)),
                 ", ".join(dict.fromkeys(code(one.module) for one in group)))
                for name, group in by_code.items() if name not in known
            ),
        ),
    )  # fmt: skip


def _finding(name: str, by_code: dict[str, list[Seen]]) -> tuple[str, ...]:
    module = importlib.import_module(f"headrace.findings.{name.replace('-', '_')}")
    said = " ".join((module.__doc__ or "").split("\n\n")[0].split())
    return code(name), _weights(by_code[name]), said


def _weights(group: list[Seen]) -> str:
    found = {severity for one in group for severity in one.severities}
    return ", ".join(name for name in WEIGHTS if name in found)


def notices(source: Path) -> Iterator[Seen]:
    """Every notice that the source can make.

    A function that hands one of its own arguments on as the code (a helper) is followed to its callers in the module.
    """
    for path in sorted(source.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        module = path.relative_to(source).with_suffix("").as_posix()
        functions = [one for one in ast.walk(tree) if isinstance(one, ast.FunctionDef)]
        helpers: dict[str, tuple[ast.FunctionDef, ast.Call]] = {}
        for function in functions:
            for call in _calls(function, "Notice"):
                named = _argument(call, "code")
                if isinstance(named, ast.Name) and named.id in _parameters(function):
                    helpers[function.name] = function, call
                elif named is not None:
                    yield from _seen(named, call, function, module)
        for function in functions:
            for name, (helper, inner) in helpers.items():
                for call in _calls(function, name):
                    named = _handed(call, helper, _argument(inner, "code"))
                    says = _handed(call, helper, _argument(inner, "text"))
                    weights = _severities(_argument(inner, "severity"), helper)
                    for each in _codes(named, function):
                        yield Seen(each, weights, _says(says, function), module)


def _seen(named: ast.expr, call: ast.Call, function: ast.FunctionDef, module: str) -> Iterator[Seen]:
    weights = _severities(_argument(call, "severity"), function)
    for each in _codes(named, function):
        yield Seen(each, weights, _says(_argument(call, "text"), function), module)


def _calls(function: ast.AST, name: str) -> Iterator[ast.Call]:
    for node in ast.walk(function):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name:
            yield node


def _argument(call: ast.Call, name: str) -> ast.expr | None:
    return next((word.value for word in call.keywords if word.arg == name), None)


def _parameters(function: ast.FunctionDef) -> list[str]:
    return [one.arg for one in (*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs)]


def _handed(call: ast.Call, helper: ast.FunctionDef, inner: ast.expr | None) -> ast.expr | None:
    """What a caller gives for the parameter that the helper hands on; a text that is not a parameter as it is."""
    if not isinstance(inner, ast.Name) or inner.id not in _parameters(helper):
        return inner
    given = _argument(call, inner.id)
    place = _parameters(helper).index(inner.id)
    return given or (call.args[place] if place < len(call.args) else None)


def _codes(node: ast.expr | None, function: ast.FunctionDef) -> Iterator[str]:
    """The codes an expression can give; a name in braces is filled in from the loop over literals around it."""
    if isinstance(node, ast.Constant):
        yield str(node.value)
    elif isinstance(node, ast.IfExp):
        yield from _codes(node.body, function)
        yield from _codes(node.orelse, function)
    elif isinstance(node, ast.JoinedStr):
        text = ast.unparse(node)[2:-1]
        names = re.findall(r"\{(\w+)\}", text)
        if len(names) != 1:
            raise ValueError(f"a code with {names} in it: teach this page to read it")
        for value in _literals(names[0], function):
            yield text.replace(f"{{{names[0]}}}", value)
    # anything else hands on the code of another notice, which is seen where that one is made


def _literals(name: str, function: ast.FunctionDef) -> Iterator[str]:
    """The words a loop variable takes, when the loop runs over a literal."""
    for loop in ast.walk(function):
        if isinstance(loop, ast.For) and isinstance(loop.iter, ast.Tuple | ast.List):
            targets = loop.target.elts if isinstance(loop.target, ast.Tuple) else [loop.target]
            places = [
                place for place, one in enumerate(targets) if isinstance(one, ast.Name) and one.id == name
            ]
            for place in places:
                for row in loop.iter.elts:
                    cell = row.elts[place] if isinstance(row, ast.Tuple) else row
                    if isinstance(cell, ast.Constant):
                        yield str(cell.value)


def _severities(node: ast.expr | None, function: ast.FunctionDef) -> tuple[str, ...]:
    """Every severity that an expression, or what its names were set to, can give."""
    found: set[str] = set()
    nodes = [] if node is None else [node]
    names = {one.id for one in ast.walk(node) if isinstance(one, ast.Name)} if node is not None else set()
    nodes += [
        one.value
        for one in ast.walk(function)
        if isinstance(one, ast.Assign)
        and names & {n.id for t in one.targets for n in ast.walk(t) if isinstance(n, ast.Name)}
    ]
    for one in nodes:
        for part in ast.walk(one):
            if isinstance(part, ast.Attribute) and ast.unparse(part).startswith("Severity."):
                found.add(part.attr.lower())
    return tuple(sorted(found))


def _says(node: ast.expr | None, function: ast.FunctionDef) -> str:
    """A text with an ellipsis where something is filled in."""
    if isinstance(node, ast.Constant):
        return str(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(str(one.value) if isinstance(one, ast.Constant) else "…" for one in node.values)
    if isinstance(node, ast.Name):
        texts = [one.value for one in ast.walk(function) if isinstance(one, ast.Assign)
                 and any(isinstance(target, ast.Name) and target.id == node.id for target in one.targets)]  # fmt: skip
        return " / ".join(_says(one, function) for one in texts if not isinstance(one, ast.Name))
    if isinstance(node, ast.IfExp):
        return f"{_says(node.body, function)} / {_says(node.orelse, function)}"
    return ""
