"""Logger files: one entry per family of dialects. To add one: write its module, add its line here."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from headrace.files.loggers import delimited
from headrace.files.loggers.base import Answers
from headrace.files.loggers.delimited import DelimitedParser, Record
from headrace.files.loggers.report import Understanding


@dataclass(frozen=True, slots=True, kw_only=True)
class Logger:
    """One family of files. suffixes: endings it is tried for, of which "" fits any file."""

    suffixes: tuple[str, ...]
    look: Callable[[bytes | str | Path, Answers], Understanding]
    read: Callable[[bytes | str | Path, Answers], Record]
    open_parser: Callable[[Answers], DelimitedParser]


LOGGERS: Mapping[str, Logger] = MappingProxyType(
    {
        "delimited": Logger(
            suffixes=("",), look=delimited.look, read=delimited.read, open_parser=delimited.open_parser
        ),
    }
)
