"""What a family of logger files is: how it is known, looked at, read, and followed while it grows.

Start at `Logger`; the families themselves stand in the package's `LOGGERS`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from headrace.files.loggers.base import Answers, Parser, Unreadable
from headrace.files.loggers.delimited import Record
from headrace.files.loggers.report import Understanding
from headrace.files.plain import plain

Source = bytes | str | Path
HEAD = 262144
"""Bytes from which a family is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Logger:
    """One family of files.

    title: what it is, in a few words. suffixes: endings it is usually met with, "" for any; for the docs only.
    claims: True when the first bytes (and the name, "" where there is none) are of this family. open_parser: for a
    file that still grows; None where the family cannot be followed.
    """

    title: str
    suffixes: tuple[str, ...]
    claims: Callable[[bytes, str], bool]
    look: Callable[[Source, Answers], Understanding]
    read: Callable[[Source, Answers], Record]
    open_parser: Callable[[Answers], Parser] | None


def name_of(source: Source) -> str:
    """File name of a source, "" for bytes."""
    return "" if isinstance(source, bytes) else Path(source).name


def head_of(source: Source, size: int = HEAD) -> bytes:
    """The first bytes of a source.

    Raises:
        Unreadable: the file cannot be opened.
    """
    if isinstance(source, bytes):
        return source[:size]
    try:
        with plain(Path(source)).open("rb") as handle:
            return handle.read(size)
    except OSError as fault:
        raise Unreadable(f"the file cannot be opened ({fault.strerror})", file=name_of(source)) from fault
