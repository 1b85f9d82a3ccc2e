"""Numbers as loggers write them, and the two readings that one text may have.

`read_number` knows three answers: a number, a word (missing), or damage. Which mark is the decimal one is settled
by the tokens of the whole sample or asked, never by one field. Start at `NumberForm`.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import nan

PLAIN = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
LOOSE = re.compile(
    r"[+-]?(?:[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]*)?|[0-9]{1,3}(?:\.[0-9]{3})+(?:,[0-9]*)?"
    r"|[0-9]+[.,]?[0-9]*|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?"
)
GROUPED = {
    ",": re.compile(r"[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+"),
    ".": re.compile(r"[+-]?[1-9][0-9]{0,2}(?:\.[0-9]{3})+"),
}
WORD = re.compile(
    r"[^\W\d_][^\x00-\x1f\ufffd]*|<[^<>\x00-\x1f]*>|#[A-Z/0!?]+|\([A-Za-z ]*\)|[-–—*.?]+|[+-]?[Ii]nf"
)
APART = "some numbers have a comma and others a point, and none shows which of them separates thousands"
BLOCK = {".": re.compile(r"[0-9+\-eE. ]*"), ",": re.compile(r"[0-9+\-eE, ]*")}


@lru_cache(maxsize=65536)
def is_loose_number(text: str) -> bool:
    """True when the text is a number under some reading of point and comma.

    >>> is_loose_number("-7,600000E-3"), is_loose_number("STANDBY")
    (True, False)
    """
    return LOOSE.fullmatch(text) is not None


def is_word(text: str) -> bool:
    """True when the text says that there is no number: nothing, a dash, a word, "<no data>"; letters come first.

    >>> is_word("STANDBY"), is_word("<no data>"), is_word(""), is_word("12x4")
    (True, True, True, False)
    """
    return not text or WORD.fullmatch(text) is not None


@dataclass(frozen=True, slots=True)
class NumberForm:
    """The decimal mark ("." or ",") and the mark between thousands ("" when there is none)."""

    mark: str = "."
    thousands: str = ""

    def read(self, text: str) -> float | None:
        """The number; NaN when the text is a word or empty (missing); None when it is a damaged number.

        >>> NumberForm(",").read(" 1,5 "), NumberForm(".").read("1.2.3")
        (1.5, None)
        """
        text = text.strip(" \t")
        plain = text
        if self.thousands and self.thousands in text:
            whole, mark, rest = text.partition(self.mark)
            if not GROUPED[self.thousands].fullmatch(whole):
                return None
            plain = whole.replace(self.thousands, "") + mark + rest
        if self.mark == ",":
            if "." in plain:
                return nan if is_word(text) else None
            plain = plain.replace(",", ".")
        if PLAIN.fullmatch(plain):
            value = float(plain)
            return value if abs(value) != float("inf") else None
        return nan if is_word(text) else None

    def read_column(self, texts: list[str]) -> list[float | None]:
        """`read` of every text, quickly when all are plain numbers."""
        if BLOCK[self.mark].fullmatch("".join(texts)):
            plain = texts if self.mark == "." else "\n".join(texts).replace(",", ".").split("\n")
            try:
                values: list[float | None] = list(map(float, plain))
            except ValueError:
                pass
            else:
                if float("inf") not in values and float("-inf") not in values:
                    return values
        return [self.read(text) for text in texts]


@dataclass(frozen=True, slots=True)
class MarkVerdict:
    """The decimal mark and thousands mark, and whether the tokens settled them."""

    decimal: str
    thousands: str
    settled: bool
    why: str


def judge_marks(tokens: Iterable[str], *, comma_free: bool, local: bool) -> MarkVerdict:
    """Which mark is the decimal one, by all number texts of the sample.

    A mark with other than three digits after it, or after a leading 0, is the decimal mark; a mark that occurs twice
    in one number, or before the other mark, separates thousands. When every number can be read both ways, or some
    numbers hold one mark and others the other (thousands, or two places wrote one file), it is not settled.

    Args:
        tokens: Number texts that `is_loose_number` accepts.
        comma_free: A comma inside a field is possible (the delimiter is not a comma, or fields are quoted).
        local: The file comes from a comma-writing place (semicolon delimiter), so a point may separate thousands.

    >>> judge_marks(["0,000", "1,234"], comma_free=True, local=True).decimal
    'comma'
    >>> judge_marks(["1,234", "5,678"], comma_free=True, local=True).settled
    False
    >>> judge_marks(["0,5", "2.000"], comma_free=True, local=True).settled
    False
    """
    tokens = list(tokens)
    both = [token for token in tokens if "," in token and "." in token]
    comma = [token for token in tokens if "," in token and "." not in token]
    point = [token for token in tokens if "." in token and "," not in token]
    if both:
        last = {"," if token.rfind(",") > token.rfind(".") else "." for token in both}
        if last == {","} and not any(_decimal(token, ".") for token in point):
            return MarkVerdict("comma", "point", True, "points stand before commas within numbers")
        if last == {"."} and not any(_decimal(token, ",") for token in comma):
            return MarkVerdict("point", "comma", True, "commas stand before points within numbers")
        return MarkVerdict("point", "comma", False, "both marks occur in both roles")
    if not comma_free or not comma:
        if local and point and not any(_decimal(token, ".") for token in point):
            if any(token.count(".") > 1 for token in point):
                return MarkVerdict("comma", "point", True, "a point occurs twice in one number")
            return MarkVerdict("point", "", False, "every number has exactly three digits after its point")
        return MarkVerdict("point", "", True, "points only" if point else "whole numbers only")
    comma_decimal = any(_decimal(token, ",") for token in comma)
    point_decimal = any(_decimal(token, ".") for token in point)
    if comma_decimal and not point_decimal:
        if point and not any(token.count(".") > 1 for token in point):
            return MarkVerdict("comma", "", False, APART)
        return MarkVerdict("comma", "point" if point else "", True, "commas that cannot separate thousands")
    if point_decimal and not comma_decimal:
        if not any(token.count(",") > 1 for token in comma):
            return MarkVerdict("point", "", False, APART)
        return MarkVerdict("point", "comma", True, "points that cannot separate thousands")
    if any(token.count(",") > 1 for token in comma) and not comma_decimal and not point:
        return MarkVerdict("point", "comma", True, "a comma occurs twice in one number")
    if comma_decimal:
        return MarkVerdict("comma", "", False, "some numbers have a decimal comma and others a decimal point")
    return MarkVerdict("comma", "", False, "every number has exactly three digits after its comma")


def _decimal(token: str, mark: str) -> bool:
    """True when `mark` in this text can only be the decimal mark."""
    return token.count(mark) == 1 and not GROUPED[mark].fullmatch(token)


def tail_shape(text: str) -> str | None:
    """What follows the mark, digits as 0 and signs as +: two texts of one printed format share it.

    >>> tail_shape("-7,600000E-3"), tail_shape("12")
    ('000000E+0', None)
    """
    found = re.search(r"[.,]([^.,]*)$", text)
    return re.sub(r"[+-]", "+", re.sub(r"[0-9]", "0", found[1])) if found else None
