"""Python values as typst source: every word of a sheet travels as a string literal, so none can be read as markup.

Refuses what has no literal (ValueError). Start at `call`.
"""

import math
from collections.abc import Mapping, Sequence

Literal = str | int | float | bool | None | Sequence["Literal"] | Mapping[str, "Literal"]


def literal(value: Literal) -> str:
    """One value as a typst literal.

    >>> literal({"tag": 'say "no"', "share": 0.25, "rows": ["a"]})
    '("tag": "say \\\\"no\\\\"", "share": 0.25, "rows": ("a",))'
    """
    match value:
        case None:
            return "none"
        case bool():
            return "true" if value else "false"
        case str():
            return '"' + value.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'
        case int() | float():
            if not math.isfinite(value):
                raise ValueError(f"{value} cannot be drawn")
            return repr(float(value)) if isinstance(value, float) else str(int(value))
        case Mapping():
            inside = ", ".join(f"{literal(key)}: {literal(item)}" for key, item in value.items())
            return f"({inside})" if inside else "(:)"
        case Sequence():
            return "(" + "".join(literal(item) + ", " for item in value).rstrip(" ") + ")" if value else "()"
    raise ValueError(f"{type(value).__name__} has no typst literal")


def call(name: str, *args: Literal, **named: Literal) -> str:
    """A call of a function of the template base, as a line of typst source; `_` in argument names becomes `-`.

    >>> call("head", "Budget", level=1)
    '#head("Budget", level: 1)\\n'
    """
    parts = [literal(arg) for arg in args]
    parts += [f"{key.replace('_', '-')}: {literal(value)}" for key, value in named.items()]
    return f"#{name}({', '.join(parts)})\n"
