"""Decimal numbers as people type them, read exactly.

Refuses what can be read two ways: "1,234" (a decimal comma or a thousands separator?), a point and a comma
in one number, and every thousands separator. Start at `read_number`.
"""

from __future__ import annotations

import re
from fractions import Fraction

from headrace.errors import QuantityError

NUMBER = r"[+-]?(?:[0-9][0-9.,'’_]*|[.,][0-9][0-9.,'’_]*)(?:[eE][+-]?[0-9]+)?"
"""Pattern of what is tried as a number; `read_number` judges it."""

LARGEST_EXPONENT = 300

_WELL_FORMED = re.compile(r"[+-]?(?P<digits>[0-9]*[.,]?[0-9]*)(?:[eE](?P<exponent>[+-]?[0-9]+))?")
_BLANKS = str.maketrans({"\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u2007": " ", "\t": " "})
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺−", "0123456789-+-")
_POWER = re.compile(r"(?<=[0-9])\s*[×·⋅x*]\s*10(?:\^|\*\*)?\(?([⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺]+|(?<=[\^*])[+\-−]?[0-9]+)\)?")


def plain(text: str) -> str:
    """The text with typographic blanks, minus, plus-minus and powers of ten written plainly.

    >>> plain("−1,5×10⁻³ m² +/- 2 %")
    '-1,5e-3 m² ± 2 %'
    """
    text = text.translate(_BLANKS)
    text = _POWER.sub(lambda match: "e" + match[1].translate(_RAISED), text)
    text = text.replace("−", "-")
    return re.sub(r"\+/-|\+-", "±", text).strip()


def read_number(token: str, *, found: str) -> Fraction:
    """A decimal number with point or comma, exactly as written.

    token: the number alone. found: the whole text, for the message.
    Raises: QuantityError for anything that can be read two ways or not at all.

    >>> read_number("12,40", found="12,40 bar") == read_number("12.40", found="12.40 bar")
    True
    """
    quoted = f'"{found}"'
    points, commas = token.count("."), token.count(",")
    if re.search(r"['’_]", token) or points > 1 or commas > 1 or (points and commas):
        joined = re.sub(r"[.,'’_]", "", token)
        last = max(token.rfind("."), token.rfind(","))
        whole = re.sub(r"[.,'’_]", "", token[:last])
        instead = f"{whole}.{token[last + 1 :]}" if points and commas else joined
        raise QuantityError(
            f'{quoted}, where "{token}" has thousands separators or two decimal marks',
            "digits with at most one decimal mark",
            f'"{instead}", if that is meant',
        )
    if re.fullmatch(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}(?:[eE].*)?", token):
        raise QuantityError(
            f'{quoted}, where "{token}" may be a decimal comma or a thousands separator',
            "a number that can be read one way only",
            f'"{token.replace(",", ".")}" or "{token.replace(",", "")}"',
        )
    match = _WELL_FORMED.fullmatch(token)
    if match is None or not any(mark.isdigit() for mark in match["digits"]):
        raise QuantityError(
            f'{quoted}, where "{token}" is no number', "a decimal number", "digits, as in 12.40"
        )
    if abs(int(match["exponent"] or 0)) > LARGEST_EXPONENT or len(token) > LARGEST_EXPONENT:
        raise QuantityError(
            quoted, f"a number with an exponent within ±{LARGEST_EXPONENT}", "a larger or smaller unit"
        )
    mantissa, _, exponent = token.lower().replace(",", ".").partition("e")
    return Fraction(mantissa.rstrip(".")) * Fraction(10) ** int(exponent or 0)
