"""Clean lines of plain numbers, many at once: certified byte by byte first, then read by a fast library.

A line is clean when nothing is left of it but its separators once the bytes of numbers are taken away: that
one comparison settles its field count and that no foreign byte stands in it. Only such lines reach the library, which
pads, casts or skips nothing in them; every other line, and every line in which the library finds no finite number, is
read alone by the careful reader. Start at `Quick.of`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from headrace.files.loggers.base import DELIMITERS, MARKS, Dialect, Floats, Ints, Item
from headrace.files.loggers.lines import LineReader

DIGITS = b"0123456789+-eE "
ODD_SHARE = 0.02
"""Share of odd lines from which a block is read line by line: the way round would cost more than it saves."""

ASCII_LIKE = frozenset({"utf-8", "utf-8-sig", "ascii", "latin-1", "iso-8859-1", "cp1252"})
"""Encodings in which every byte of a number stands for itself, so that a certified line needs no decoding."""


def lines_are_bytes(dialect: Dialect) -> bool:
    """Whether a line end is one byte that is never part of another character."""
    return dialect.encoding.lower() in ASCII_LIKE and dialect.line_end == "\n"


@dataclass(frozen=True, slots=True)
class Quick:
    """Reads blocks of whole lines of one dialect. skeleton: what is left of a clean line, without its line end."""

    reader: LineReader
    delimiter: bytes
    number: bytes
    skeleton: bytes
    decimal_comma: bool
    filler: int

    @classmethod
    def of(cls, reader: LineReader) -> "Quick | None":
        """A quick reader beside the careful one; None where the dialect holds more than numbers."""
        dialect = reader.dialect
        mark, delimiter = MARKS[dialect.decimal].encode(), DELIMITERS[dialect.delimiter].encode()
        plain = (
            reader.fast and lines_are_bytes(dialect) and not dialect.pairs and not dialect.strip_nul
            and not dialect.thousands and len(delimiter) == 1 and delimiter not in (b" ", mark)
            and all(kind == "number" for kind in dialect.kinds) and reader.time_text is None
        )  # fmt: skip
        if not plain:
            return None
        return cls(reader, delimiter, DIGITS + mark, delimiter * (dialect.width - 1), mark == b",",
                   dialect.width - len(dialect.names))  # fmt: skip

    def items(self, block: bytes, first: int) -> tuple[int, Iterator[Item]] | None:
        """Number of lines and items of a block of whole lines, `first` being the number of the first.

        None: it is to be read line by line.
        """
        rest = block.translate(None, self.number)
        end = b"\r\n" if block[: block.index(b"\n")].endswith(b"\r") else b"\n"
        clean = self.skeleton + end
        total = len(rest) // len(clean)
        if rest == clean * total:
            return self._read(block, block, first, total, [])
        lines = rest.split(b"\n")[:-1]
        total = len(lines)
        odd = [place for place, text in enumerate(lines) if text != clean[:-1]]
        if not odd or len(odd) > ODD_SHARE * total:
            return None
        starts = _starts(block)
        edges = pairwise([-1, *odd, total])
        good = b"".join(block[starts[before + 1] : starts[after]] for before, after in edges)
        return self._read(block, good, first, total, odd)

    def _read(
        self, block: bytes, clean: bytes, first: int, total: int, odd: list[int]
    ) -> tuple[int, Iterator[Item]] | None:
        """The clean lines together; the odd ones, and those that hold no finite number somewhere, alone."""
        numbers = np.arange(first, first + total)
        numbers = np.delete(numbers, odd) if odd else numbers
        values = self._numbers(clean, len(numbers))
        if values is None:
            return None
        holes = numbers[~_finite(values)]
        if len(holes) > ODD_SHARE * total:
            return None
        alone = sorted([*(first + place for place in odd), *holes.tolist()])
        return total, self._dealt(block, first, values, numbers, alone)

    def _numbers(self, block: bytes, total: int) -> Floats | None:
        """The numbers of clean lines, NaN where a field is empty; None where the library objects."""
        import polars as pl

        count = len(self.reader.dialect.names)
        if not total:
            return np.empty((0, count))
        schema: dict[str, type[pl.DataType]] = {f"n{place}": pl.Float64 for place in range(count)}
        schema |= {f"s{place}": pl.String for place in range(self.filler)}
        try:
            frame = pl.read_csv(block, has_header=False, schema=schema, separator=self.delimiter.decode(),
                                quote_char=None, decimal_comma=self.decimal_comma)  # fmt: skip
        except pl.exceptions.PolarsError:
            return None
        if frame.height != total or any(
            frame[f"s{place}"].null_count() < total for place in range(self.filler)
        ):
            return None
        if self.filler:
            frame = frame.select(pl.col(pl.Float64))
        return frame.to_numpy(order="fortran", writable=True)

    def _dealt(
        self, block: bytes, first: int, values: Floats, lines: Ints, alone: list[int]
    ) -> Iterator[Item]:
        """Rows, and between them the lines that are read alone, in the order of the file."""
        reader = self.reader
        axis = reader.axis
        time = values[:, axis.columns[0]] * axis.scale if axis.columns else np.full(len(values), np.nan)
        starts = _starts(block) if alone else []
        place = 0
        for number in alone:
            end = int(np.searchsorted(lines, number))
            if end > place:
                yield reader.rows(lines[place:end], time[place:end], values[place:end])
            place = end + (1 if end < len(lines) and lines[end] == number else 0)
            text = block[starts[number - first] : starts[number - first + 1]].rstrip(b"\r\n")
            yield reader.one(text.decode(reader.dialect.encoding, "replace"), number)
        if place < len(lines):
            yield reader.rows(lines[place:], time[place:], values[place:])


def _finite(values: Floats) -> NDArray[np.bool_]:
    good = np.ones(len(values), dtype=bool)
    for column in values.T:
        good &= np.isfinite(column)
    return good


def _starts(block: bytes) -> list[int]:
    """Where each line begins, and the end of the last."""
    ends = np.flatnonzero(np.frombuffer(block, dtype=np.uint8) == 10) + 1
    return [0, *ends.tolist()]
