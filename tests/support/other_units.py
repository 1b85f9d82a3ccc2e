"""A campaign folder written again in other units: every quantity the same, every number another."""

import hashlib
import re
from collections.abc import Mapping
from decimal import Decimal, getcontext
from pathlib import Path

UNITS: Mapping[str, tuple[str, Decimal]] = {
    "mbar": ("kPa", Decimal("0.1")),
    "bar": ("psi", Decimal(100000) / (Decimal("0.45359237") * Decimal("9.80665") / Decimal("0.0254") ** 2)),
    "mm": ("in", 1 / Decimal("25.4")),
    "m": ("ft", 1 / Decimal("0.3048")),
    "m2": ("mm2", Decimal(1000000)),
    "m3": ("L", Decimal(1000)),
    "kg/m3": ("g/cm3", Decimal("0.001")),
    "m/s": ("ft/s", 1 / Decimal("0.3048")),
}
"""Unit, the other unit, and how many of it make one."""

QUANTITY = re.compile(r"(?<![\w.])(-?\d+(?:\.\d+)?(?:e-?\d+)?) (mbar|bar|mm|m2|m3|m/s|m|kg/m3)(?![\w/])")
HEADING = re.compile(r"\[(mbar|bar)\]")


def _quantity(found: re.Match[str]) -> str:
    unit, factor = UNITS[found[2]]
    return f"{Decimal(found[1]) * factor:.20g} {unit}"


def rewritten(text: str) -> str:
    """A toml file with every quantity in its other unit; channels too."""
    text = QUANTITY.sub(_quantity, text)
    return re.sub(r'(unit = ")(mbar|bar)', lambda found: found[1] + UNITS[found[2]][0], text)


def _columns(text: str) -> str:
    lines = text.splitlines()
    heads = lines[0].split(",")
    factors = [UNITS[hit[1]][1] if (hit := HEADING.search(head)) else None for head in heads]
    out = [HEADING.sub(lambda hit: f"[{UNITS[hit[1]][0]}]", lines[0])]
    for line in lines[1:]:
        cells = [
            cell if factor is None else f"{Decimal(cell) * factor:.20f}"
            for cell, factor in zip(line.split(","), factors, strict=True)
        ]
        out.append(",".join(cells))
    return "\n".join(out) + "\n"


def rewrite(folder: Path) -> int:
    """Rewrite every file of a small campaign in place; how many quantities changed in its toml files."""
    getcontext().prec = 40
    count = 0
    for file in folder.rglob("*.toml"):
        text = file.read_text(encoding="utf-8")
        count += len(QUANTITY.findall(text))
        file.write_text(rewritten(text), encoding="utf-8")
    for file in folder.rglob("*.csv"):
        file.write_text(_columns(file.read_text(encoding="utf-8")), encoding="utf-8")
        digest = hashlib.sha256(file.read_bytes()).hexdigest()
        file.with_name(f"{file.name}.sha256").write_text(f"{digest}  {file.name}\n", encoding="utf-8")
    return count
