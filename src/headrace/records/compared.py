"""What changed from one campaign, or one date of it, to another. Made by `jobs.compare`."""

from dataclasses import dataclass

from headrace.notices import Notice
from headrace.records.answers import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class FileChange:
    """An input file that is not the same: its sha256 before and after, None where it is not there."""

    file: str
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyChange:
    """A key of a TOML file that is not the same: its value as text, None where it is not there."""

    file: str
    key: str
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunChange:
    """A run that is not the same.

    what: "added", "gone", "left out", "counted again" or "changed". before, after: readings that count.
    why: the reason where it is left out.
    """

    run: str
    what: str
    before: int
    after: int
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """A quantity before and after, None where there is none.

    change: after less before; u: its standard uncertainty, shared sources cancelled; both None where one side is
    missing. shared: names of the sources that were taken as the same error on both sides, largest first.
    """

    path: str
    before: Estimate | None
    after: Estimate | None
    change: float | None = None
    u: float | None = None
    shared: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """Everything that is not the same. areas: by characteristic; points: set points and what to expect.

    assumed: what was taken for granted, in words.
    """

    files: tuple[FileChange, ...]
    keys: tuple[KeyChange, ...]
    runs: tuple[RunChange, ...]
    areas: tuple[Difference, ...]
    points: tuple[Difference, ...]
    notices_new: tuple[Notice, ...]
    notices_gone: tuple[Notice, ...]
    assumed: tuple[str, ...]
