"""One TOML file of a folder: its bytes, its data, and the line of each key. Start at `read_document`."""

import hashlib
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import Any

from headrace.errors import InputError, Problem
from headrace.files.hints import of_line
from headrace.files.locate import Path, key_lines, line_of
from headrace.files.plain import plain

LARGEST = 4_000_000  # bytes; a hand-written file is a thousandth of this


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A TOML file as read. file: relative to the folder, with forward slashes. under: path of the part meant."""

    file: str
    data: Mapping[str, Any]
    lines: Mapping[Path, int]
    sha256: str
    under: Path = ()

    def part(self, path: Path) -> "Document":
        """One table of it, by whose keys faults are told from here on."""
        return replace(self, under=(*self.under, *path))

    def line(self, path: Path) -> int:
        """Line of a key, or of the nearest table around it; the first for what is missing at the top."""
        return line_of(self.lines, (*self.under, *path)) or 1

    def problem(self, path: Path, found: str, expected: str, try_: str = "") -> Problem:
        """A fault at one key of this file."""
        return Problem(
            file=self.file, line=self.line(path), key=dotted((*self.under, *path)), found=found,
            expected=expected, try_=try_,
        )  # fmt: skip


def dotted(path: Path) -> str:
    """A path as people write it: `meter[0].d_throat`; array indices count from 0 as in the JSON Schema."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            text += ("." if text else "") + (part if re.fullmatch(r"[\w-]+", part) else f'"{part}"')
    return text


def read_document(folder: FilePath, file: str) -> Document:
    """Read one TOML file.

    Raises:
        InputError: it cannot be opened, is not UTF-8 text, or is not TOML.
    """
    try:
        raw = plain(folder / file).read_bytes()
    except OSError as error:
        raise _fault(file, None, f"a file that cannot be opened ({error.strerror})", "a readable text file",
                     "mend its name or permissions") from error  # fmt: skip
    if len(raw) > LARGEST:
        raise _fault(file, None, f"{len(raw)} bytes", f"a text file of at most {LARGEST} bytes",
                     "logger data belongs in a file of its own, brought in with `bring`")  # fmt: skip
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise _fault(file, line, f"byte 0x{raw[error.start]:02x}, which is not UTF-8", "UTF-8 text",
                     "save the file as UTF-8 in the editor") from error  # fmt: skip
    try:
        data = tomllib.loads(text)
        lines = key_lines(text)
    except tomllib.TOMLDecodeError as error:
        message, line = _place(str(error), text)
        raise _fault(file, line, _shown(text, line), f"TOML ({message})",
                     of_line(_row(text, line))) from error  # fmt: skip
    except (
        ValueError,
        RecursionError,
    ) as error:  # absurd integers and absurd nesting, which tomllib lets through
        raise _fault(file, None, f"TOML that cannot be read ({error})", "a plain TOML file", "") from error
    return Document(file=file, data=data, lines=lines, sha256=hashlib.sha256(raw).hexdigest())


def _fault(file: str, line: int | None, found: str, expected: str, try_: str) -> InputError:
    return InputError((Problem(file=file, line=line, key="", found=found, expected=expected, try_=try_),))


def _place(message: str, text: str) -> tuple[str, int]:
    match = re.search(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$", message)
    if match is None:
        return message, 1
    line = int(match[1]) if match[1] else text.rstrip().count("\n") + 1
    return message[: match.start()], line


def _row(text: str, line: int) -> str:
    rows = text.split("\n")
    return rows[line - 1].strip()[:80] if 0 < line <= len(rows) else ""


def _shown(text: str, line: int) -> str:
    return repr(_row(text, line)) if 0 < line <= text.count("\n") + 1 else "the end of the file"
