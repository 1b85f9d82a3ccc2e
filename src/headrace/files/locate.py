"""Where each key of a TOML text stands: dotted path, with indices of arrays, to line number.

`tomllib` is the judge of syntax and gives no lines for values, so this walks the text a second time and only counts.
It refuses nothing: give it text that `tomllib` has accepted. Start at `key_lines`.
"""

from collections.abc import Mapping
from typing import TypeAlias

Path: TypeAlias = tuple[str | int, ...]
"""Keys and array indices from the top of the file: ("meter", 0, "d_throat")."""

_BARE_END = "=.]}, \t\r\n#"
_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", "e": "\x1b", '"': '"', "\\": "\\"}


def key_lines(text: str) -> Mapping[Path, int]:
    """Line (from 1) of every table, key and array element of a valid TOML text.

    >>> key_lines('a = 1\\n[[b]]\\nc = [2,\\n 3]')[("b", 0, "c", 1)]
    4
    """
    walker = _Walker(text.replace("\r\n", "\n"))
    walker.document()
    return walker.lines


def line_of(lines: Mapping[Path, int], path: Path) -> int | None:
    """Line of a path, or of the nearest table around it that has one; None at the top of the file."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return None


class _Walker:
    """One pass over the text; `at` is the next character, `line` its line."""

    def __init__(self, text: str) -> None:
        self.text, self.at, self.line = text, 0, 1
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}

    def peek(self, length: int = 1) -> str:
        return self.text[self.at : self.at + length]

    def step(self, length: int = 1) -> str:
        taken = self.peek(length)
        self.at += length
        self.line += taken.count("\n")
        return taken

    def skip(self, blanks: str) -> None:
        """Pass blanks and comments."""
        while self.at < len(self.text):
            if self.peek() == "#":
                while self.at < len(self.text) and self.peek() != "\n":
                    self.step()
            elif self.peek() in blanks:
                self.step()
            else:
                return

    def document(self) -> None:
        table: Path = ()
        while True:
            self.skip(" \t\r\n")
            if self.at >= len(self.text):
                return
            if self.peek() == "[":
                table = self.header()
            else:
                self.pair(table)

    def header(self) -> Path:
        line, double = self.line, self.peek(2) == "[["
        self.step(2 if double else 1)
        keys = self.keys()
        self.step(2 if double else 1)
        path = self.resolved(keys[:-1]) if double else self.resolved(keys)
        if double:
            path = (*path, keys[-1])
            self.lines.setdefault(path, line)
            index = self.counts.get(path, 0)
            self.counts[path] = index + 1
            path = (*path, index)
        self.lines.setdefault(path, line)
        return path

    def resolved(self, keys: list[str]) -> Path:
        """The path that a header names: each array of tables on the way stands for its latest element."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        return path

    def pair(self, table: Path) -> None:
        line = self.line
        path = table
        for key in self.keys():
            path = (*path, key)
            self.lines.setdefault(path, line)
        self.step()  # the equals sign
        self.value(path)

    def keys(self) -> list[str]:
        """A dotted key, up to what ends it."""
        found = []
        while True:
            self.skip(" \t")
            found.append(self.string() if self.peek() in ("'", '"') else self.bare())
            self.skip(" \t")
            if self.peek() != ".":
                return found
            self.step()

    def bare(self) -> str:
        start = self.at
        while self.at < len(self.text) and self.peek() not in _BARE_END:
            self.step()
        return self.text[start : self.at]

    def value(self, path: Path) -> None:
        self.skip(" \t\r\n")
        self.lines.setdefault(path, self.line)
        first = self.peek()
        if first in ("'", '"'):
            self.string()
        elif first == "[":
            self.array(path)
        elif first == "{":
            self.inline(path)
        else:
            while self.at < len(self.text) and self.peek() not in ",]}\n#":
                self.step()

    def array(self, path: Path) -> None:
        self.step()
        index = 0
        while True:
            self.skip(" \t\r\n,")
            if self.peek() in ("]", ""):
                self.step()
                return
            self.value((*path, index))
            index += 1

    def inline(self, path: Path) -> None:
        self.step()
        while True:
            self.skip(" \t\r\n,")
            if self.peek() in ("}", ""):
                self.step()
                return
            self.pair(path)

    def string(self) -> str:
        quote = self.peek()
        mark = quote * 3 if self.peek(3) == quote * 3 else quote
        self.step(len(mark))
        out: list[str] = []
        while self.at < len(self.text) and self.peek(len(mark)) != mark:
            out.append(self.escape() if quote == '"' and self.peek() == "\\" else self.step())
        self.step(len(mark))
        while len(mark) == 3 and self.peek() == quote:  # up to two quotes may stand before the closing three
            out.append(self.step())
        return "".join(out)

    def escape(self) -> str:
        self.step()
        kind = self.step()
        digits = {"x": 2, "u": 4, "U": 8}.get(kind)
        return chr(int(self.step(digits), 16)) if digits else _ESCAPES.get(kind, kind)
